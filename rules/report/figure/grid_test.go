package figure

import (
	"math"
	"strings"
	"testing"
)

// TestHeatShowsAll: every column, every row in each block, every text, and a
// pattern in every cell that fails or is undecided.
func TestHeatShowsAll(t *testing.T) {
	h := margins()
	count := map[string]int{}
	fills := map[string]int{}
	signs := 0
	for _, e := range parse(t, DrawHeat(h)) {
		if e.name == "text" {
			count[e.text]++
		}
		if e.attr["class"] == "fg-sign" {
			signs++
		}
		fills[e.attr["fill"]]++
	}
	all := strings.Join(h.Columns, "")
	for text := range count { // heads are broken at hyphens
		all = strings.ReplaceAll(all, text, "")
	}
	if all != "" {
		t.Errorf("of the heads is missing: %q", all)
	}
	want := map[State]int{}
	texts := map[string]int{}
	for _, r := range h.Rows {
		if count[r.Name] != 2 {
			t.Errorf("row %s stands %d times in two blocks", r.Name, count[r.Name])
		}
		for _, c := range r.Cells {
			want[c.State]++
			if c.State != Absent && c.Text != "" {
				texts[c.Text]++
			}
		}
	}
	for text, n := range texts {
		if count[text] != n {
			t.Errorf("%q stands %d times, want %d", text, count[text], n)
		}
	}
	if fills["url(#heat-hatch)"] != want[Fail] || fills["url(#heat-dots)"] != want[Undecided] {
		t.Errorf("hatched %d, dotted %d, want %d and %d", fills["url(#heat-hatch)"], fills["url(#heat-dots)"], want[Fail], want[Undecided])
	}
	if n := want[Pass] + want[Fail] + want[Permitted] + 3; signs != n { // three in the key
		t.Errorf("%d signs, want %d", signs, n)
	}
	if count["?"] != want[Undecided]+1 {
		t.Errorf("%d question marks, want %d", count["?"], want[Undecided]+1)
	}
	defer func() {
		if recover() == nil {
			t.Error("a row with too few cells was taken")
		}
	}()
	h.Rows[0].Cells = h.Rows[0].Cells[1:]
	DrawHeat(h)
}

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
