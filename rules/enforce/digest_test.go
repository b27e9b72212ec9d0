package enforce

import "testing"

// Everything that a verdict hangs on changes one of the two digests, and nothing
// else does.
func TestDigests(t *testing.T) {
	const s = "standard: 1\nrules: {stray-ratio: {limits: {budget: 3 %}}}\n"
	const paths = "paths: [{files: [b/*.yaml], rules: {stray-ratio: {limits: {budget: 1 %}}}}]\n"
	permits := func(file, until string) string {
		return "deviations: 1\npermits: [{file: " + file + ", rule: stray-ratio, object: U, reason: r, approver: a, until: " + until + "}]\n"
	}
	entry := func(value string) string {
		return "baseline: 1\nfindings: [{file: a.yaml, rule: stray-ratio, object: U, verdict: fail, level: error, value: " + value + ", limit: 0.05, unit: \"1\"}]\n"
	}
	type digests struct{ judging, permitting string }
	of := func(layout string, files ...string) digests {
		v := effective(t, files...).For(layout)
		return digests{v.Judging(), v.Permitting()}
	}
	none, plain := of("a.yaml"), of("a.yaml", "s.yaml", s)
	if none != (digests{}) {
		t.Errorf("no standard: %v", none)
	}
	if plain.judging == "" || plain.permitting != "" {
		t.Errorf("a standard alone: %v", plain)
	}
	for _, c := range []struct {
		name                string
		got, from           digests
		judging, permitting bool // differ
	}{
		{"another layout", of("c.yaml", "s.yaml", s), plain, false, false},
		{"a byte of the standard", of("a.yaml", "s.yaml", s+"# x\n"), plain, true, false},
		{"another path", of("b/a.yaml", "s.yaml", s+paths), of("a.yaml", "s.yaml", s+paths), true, false},
		{"a deviation", of("a.yaml", "s.yaml", s, "d.yaml", permits("a.yaml", "2026-12-31")), plain, false, true},
		{"another day", of("a.yaml", "s.yaml", s, "d.yaml", permits("a.yaml", "2026-12-31")), of("a.yaml", "s.yaml", s, "d.yaml", permits("a.yaml", "2026-12-30")), false, true},
		{"a deviation for another layout", of("a.yaml", "s.yaml", s, "d.yaml", permits("b.yaml", "2026-12-31")), plain, false, false},
		{"a baseline", of("a.yaml", "s.yaml", s, "b.yaml", entry("0.06")), plain, false, true},
		{"another number", of("a.yaml", "s.yaml", s, "b.yaml", entry("0.06")), of("a.yaml", "s.yaml", s, "b.yaml", entry("0.07")), false, true},
	} {
		if j, p := c.got.judging != c.from.judging, c.got.permitting != c.from.permitting; j != c.judging || p != c.permitting {
			t.Errorf("%s: judging differs %v, permitting differs %v", c.name, j, p)
		}
	}
}
