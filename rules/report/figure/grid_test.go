package figure

import (
	"math"
	"strings"
	"testing"
)

// TestRankingLengths: bars are as long as their values, and what is not known has
// none.
func TestRankingLengths(t *testing.T) {
	r := contributors()
	r.Items = append(r.Items, Item{Name: "less", Value: -0.003, Text: "-0.3 %"})
	var width []float64
	for _, e := range parse(t, DrawRanking(r)) {
		if e.attr["class"] == "fg-rank" || e.attr["class"] == "fg-total" {
			width = append(width, number(t, e.attr["width"]))
		}
	}
	if len(width) != 5 {
		t.Fatalf("%d bars", len(width))
	}
	for k, v := range []float64{0.012, 0.009, 0.0021, 0.0152, 0.003} {
		if math.Abs(width[k]/width[0]-v/0.012) > 1e-4 {
			t.Errorf("bar %d is %v wide, the first %v", k, width[k], width[0])
		}
	}
}

// TestMarkersLieOnTheirLine looks at circles, whose path begins at their left.
func TestMarkersLieOnTheirLine(t *testing.T) {
	es := parse(t, DrawChart(response()))
	var line []float64
	n := 0
	for _, e := range es {
		switch e.attr["class"] {
		case "fg-line":
			if line == nil { // of the first series of a panel, which has circles
				line = numbers(t, e.attr["d"])
			}
		case "fg-point":
			if line == nil {
				continue // at the name
			}
			for _, m := range strings.Split(e.attr["d"], "M")[1:] {
				if !strings.Contains(m, "a4 4") {
					continue
				}
				p := numbers(t, m[:strings.Index(m, "a")])
				d := math.Inf(1)
				for k := 2; k+1 < len(line); k += 2 {
					d = min(d, offChord(inkPoint{p[0] + 4, p[1]}, inkPoint{line[k-2], line[k-1]},
						inkPoint{line[k], line[k+1]}))
				}
				if d > 0.02 {
					t.Errorf("a marker lies %v off its line", d)
				}
				n++
			}
			line = nil
		}
	}
	if n < 10 {
		t.Errorf("%d circles", n)
	}
}

func TestBadLevels(t *testing.T) {
	for _, levels := range [][]float64{{1}, {2, 1}, {1, 1}, {0, 1}, {1, math.NaN()}, make([]float64, 20)} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("levels %v were taken", levels)
				}
			}()
			d := thruster()
			d.Shade.Levels = levels
			Draw(d)
		}()
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		text  string
		width float64
		lines int
		want  string
	}{
		{"shield-saturation", 100, 3, "shield-|saturation"},
		{"one two three", 1000, 3, "one two three"},
		{"  a   b ", 1000, 3, "a b"},
		{"", 100, 3, ""},
		{"one two three four five", 60, 2, "one two|thr…ive"},
	} {
		if got := strings.Join(wrap(c.text, c.width, c.lines), "|"); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
	for _, s := range []string{strings.Repeat("x", 300), strings.Repeat("漢", 300), "\u202e" + strings.Repeat("\xff", 90)} {
		if got := shorten(s, 120); textWidth(got) > 120 || !strings.Contains(got, "…") {
			t.Errorf("%q is %v wide", got, textWidth(got))
		}
	}
}
