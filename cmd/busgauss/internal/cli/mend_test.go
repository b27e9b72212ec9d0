package cli

import (
	"testing"

	"busgauss/model/finding"
)

// TestBetterBringsNothing: two findings less do not outweigh one that a deviation permitted before, or that is new.
func TestBetterBringsNothing(t *testing.T) {
	of := func(rule, object string) finding.Finding {
		return finding.Finding{Rule: rule, Object: object, Verdict: finding.Fail}
	}
	before := []finding.Finding{of("stray-ratio", "SV"), of("ambient-field", "SV"), of("clearance", "SV")}
	for _, c := range []struct {
		name  string
		after []finding.Finding
		want  bool
	}{
		{"one gone", before[:2], true},
		{"none gone", before, false},
		{"two gone, another rule speaks", []finding.Finding{of("placement", "SV")}, false},
		{"two gone, another object fails", []finding.Finding{of("clearance", "SU")}, false},
		{"one gone, one twice", []finding.Finding{of("clearance", "SV"), of("clearance", "SV")}, false},
	} {
		if got := better(before, c.after, false); got != c.want {
			t.Errorf("%s: better is %v", c.name, got)
		}
	}
}
