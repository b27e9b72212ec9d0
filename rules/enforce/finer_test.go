package enforce

import (
	"math"
	"testing"

	"busgauss/model/finding"
)

// levelled are facts of several levels; asked counts how far a rule went.
type levelled struct {
	facts
	finer *levelled
	asked *int
}

func (l *levelled) Finer() (Facts, bool) {
	*l.asked++
	if l.finer == nil {
		return nil, false
	}
	return l.finer, true
}

// A rule that bounds leave open is asked again with smaller bounds, once a level
// and as far as it takes; what is missing is not asked again.
func TestFinerFacts(t *testing.T) {
	for _, c := range []struct {
		name   string
		levels []Value
		want   finding.Verdict
		asked  int
	}{
		{"decided at once", []Value{Num(6, 5.5, 7)}, finding.Pass, 0},
		{"decided at the second", []Value{Num(6, 4, 8), Num(6, 5.5, 7), Num(4, 4, 4)}, finding.Pass, 1},
		{"fails at the third", []Value{Num(6, 4, 8), Num(6, 4, 7), Num(4, 4, 4.5)}, finding.Fail, 2},
		{"never", []Value{Num(6, 4, 8), Num(6, 4, 7)}, finding.Undecided, 2},
		{"bounds not known at first", []Value{Num(6, 4, math.NaN()), Num(6, 5.5, 7)}, finding.Pass, 1},
		{"missing", []Value{Undecided("no part"), Num(6, 5.5, 7)}, finding.Undecided, 0},
	} {
		asked := 0
		var at *levelled
		for i := len(c.levels) - 1; i >= 0; i-- {
			at = &levelled{facts{"own_field": c.levels[i]}, at, &asked}
		}
		for _, rest := range []string{"", "    when: own_field > amount(\"5 T\")\n"} {
			asked = 0
			got := effective(t, "s.yaml", withRule(`own_field > amount("5 T")`, rest)).For("a.yaml").HouseRules(at)
			want := c.want
			if rest != "" && want == finding.Fail {
				want = finding.NotApplicable
			}
			if len(got) != 1 || got[0].Verdict != want || asked != c.asked {
				t.Errorf("%s: %+v after %d levels, want %v after %d", c.name, got, asked, want, c.asked)
			}
		}
	}
}
