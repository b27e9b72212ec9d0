package cli

import (
	"slices"
	"strings"
	"testing"

	"busgauss/rules"
	"busgauss/rules/engine"
)

// backwards returns a layout with the entries of a block, a line each, in reverse.
func backwards(text, block string) string {
	head, rest, _ := strings.Cut(text, block+":\n")
	lines := strings.SplitAfter(rest, "\n")
	n := slices.IndexFunc(lines, func(s string) bool { return !strings.HasPrefix(s, "  ") })
	slices.Reverse(lines[:n])
	return head + block + ":\n" + strings.Join(lines, "")
}

// TestNamedInAnyOrder holds that in layouts with a mirror, where much is alike, the same objects are named with the same
// numbers whichever way round bars, sensors and duties are listed.
func TestNamedInAnyOrder(t *testing.T) {
	ties := 0
	for seed := uint64(0); seed < 40; seed++ {
		text := symmetric(seed)
		if strings.Contains(text, "shields:") || !*long && seed%8 > 1 {
			continue // the mesh follows the order of bars
		}
		said := func(text string) (out []string) {
			j := judgeText(t, text, rules.All(), engine.Options{NoRemedies: true})
			for i := range j.said {
				f := &j.said[i]
				out = append(out, strings.Join([]string{f.Rule, f.Object, f.Verdict.String(), f.Cause, strings.Join(f.Others, " "), f.Message}, " | "))
			}
			slices.Sort(out)
			return out
		}
		want := said(text)
		for _, line := range want {
			if strings.Contains(line, "stray-ratio") {
				ties++
			}
		}
		for _, blocks := range [][]string{{"bars"}, {"sensors"}, {"duties"}, {"bars", "sensors", "duties"}} {
			other := text
			for _, b := range blocks {
				other = backwards(other, b)
			}
			if other == text {
				t.Fatalf("seed %d: nothing turned round", seed)
			}
			got := said(other)
			for i := range min(len(want), len(got)) {
				if want[i] != got[i] {
					t.Errorf("seed %d, %v backwards:\n\t%s\n\t%s", seed, blocks, want[i], got[i])
				}
			}
			if len(want) != len(got) {
				t.Errorf("seed %d, %v backwards: %d and %d findings", seed, blocks, len(want), len(got))
			}
		}
	}
	if ties == 0 {
		t.Error("no stray was judged")
	}
}
