package cli

import (
	"strings"
	"testing"

	"busgauss/schema/load"
)

// TestNoOutputHoldsANumberThatIsNone puts hostile numbers, one at a time, in the place of each number of some layouts and asks
// every command that prints numbers, in every format of its own.
func TestNoOutputHoldsANumberThatIsNone(t *testing.T) {
	commands := [][]string{
		{"check", "--format", "text", "-"}, {"check", "--format", "json", "-"}, {"check", "--format", "markdown", "-"},
		{"check", "--format", "junit", "-"}, {"field", "-"}, {"field", "--format", "json", "-"}, {"coupling", "-"},
		{"coupling", "--format", "json", "-"}, {"report", "--format", "markdown", "-"}, {"report", "--format", "json", "-"},
	}
	texts := []string{aBar(flat), pairOfBars, manyCurrents}
	step := 97 // of all pairs of a number and another in its place
	if *long {
		step = 1
	}
	asked := 0
	for _, text := range texts {
		numbers := numbersOf(text)
		for i := 0; i < len(numbers)*len(hostileNumbers); i += step {
			n := &numbers[i/len(hostileNumbers)]
			changed := n.put(t, text, n.hostile(i))
			if l, _ := load.Load("layout.yaml", []byte(changed)); l == nil || tooHeavy(l) {
				continue
			}
			for _, command := range commands {
				got := callStdin(changed, command...)
				if got.status > statusTrouble || got.out+got.err == "" {
					t.Errorf("%q of %v: %+v", command, n.path, got)
				}
				for _, word := range notNumbers {
					if at := strings.Index(got.out+got.err, word); at >= 0 {
						all := got.out + got.err
						t.Errorf("%q with %s for %v says %q: ...%s", command, n.hostile(i), n.path, word, all[max(0, at-150):min(len(all), at+50)])
					}
				}
			}
			asked++
		}
	}
	if asked < 5 {
		t.Errorf("only %d layouts were understood", asked)
	}
}
