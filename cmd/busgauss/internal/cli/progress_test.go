package cli

import (
	"bytes"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"busgauss/rules/report"
)

// The line appears after a second, says what is left and what is being checked, and from a tenth of the cost on for how
// long; it is wiped, and short work shows nothing.
func TestProgress(t *testing.T) {
	var inputs []input
	for _, path := range []string{"a.yaml", "b\n.yaml", "c.yaml"} {
		inputs = append(inputs, input{File: report.File{Path: path}})
	}
	for _, c := range []struct {
		name  string
		work  time.Duration
		costs []int
		want  string
	}{
		{"short", 500 * time.Millisecond, []int{2, 1, 1}, ""},
		// Half of the cost took 3 s: the other half takes as long.
		{"half", 3500 * time.Millisecond, []int{2, 1, 1}, `2 layouts left, about 3s: b\n.yaml and 1 more`},
		{"under a tenth", 3500 * time.Millisecond, []int{1, 9, 1}, `2 layouts left: b\n.yaml and 1 more`},
		{"a tenth", 3500 * time.Millisecond, []int{1, 8, 1}, `2 layouts left, about 27s: b\n.yaml and 1 more`},
	} {
		synctest.Test(t, func(t *testing.T) {
			var out bytes.Buffer
			p := startProgress(&out, inputs, c.costs, []int{0, 1, 2})
			for i := range inputs {
				p.begin(i)
			}
			p.done(0)
			time.Sleep(c.work)
			p.end()
			if c.want == "" {
				if out.Len() > 0 {
					t.Errorf("%s: wrote %q", c.name, out.String())
				}
				return
			}
			lines := strings.Split(out.String(), "\r")
			if n := len(lines); n != 6 || strings.TrimRight(lines[3], " ") != "busgauss: "+c.want ||
				strings.TrimSpace(lines[4]) != "" || len(lines[4]) < len(lines[3]) {
				t.Errorf("%s: wrote %q, want %q", c.name, out.String(), c.want)
			}
		})
	}
	p := startProgress(nil, inputs, []int{1, 1, 1}, []int{0})
	p.begin(0)
	p.done(0)
	p.end()
}
