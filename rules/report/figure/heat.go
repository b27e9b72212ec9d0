package figure

import (
	"math"
	"strings"
)

const (
	heatCell   = 68.0 // narrowest column
	heatHeight = 28.0
	heatNames  = 200.0
)

// DrawHeat returns the grid as one svg element. Columns that do not fit beside
// each other go on in a further block below, with the names of the rows again.
func DrawHeat(h Heat) string {
	c := newCanvas(h.Frame)
	c.add("<defs>\n")
	c.pattern("hatch", "fg-hatchthin", 7, 45)
	c.add(`<pattern id="`, c.id, `-dots" patternUnits="userSpaceOnUse" width="7" height="7"><circle class="fg-dot" cx="2" cy="2" r=".7"/></pattern>`, "\n</defs>\n")
	names := 40.0
	for _, r := range h.Rows {
		if len(r.Cells) != len(h.Columns) {
			panic("figure: cells of a row do not fit the columns")
		}
		names = max(names, min(heatNames, textWidth(r.Name)))
	}
	left := names + 14
	fit := int((WidthUnits - left - 4) / h.cellWidth())
	v := 4.0
	for from := 0; from < len(h.Columns); from += fit {
		to := min(from+fit, len(h.Columns))
		v = c.heatBlock(h, from, to, left, v) + 14
	}
	if len(h.Columns) == 0 || len(h.Rows) == 0 {
		c.text("fg-note", "start", 12, v+16, "nothing to compare", "")
		v += 20
	}
	return c.svg(h.Frame, c.heatKey(v+4), "")
}

// cellWidth is the room a column needs for the widest text with its sign.
func (h Heat) cellWidth() float64 {
	w := heatCell
	for _, r := range h.Rows {
		for _, cell := range r.Cells {
			w = max(w, min(140, textWidth(cell.Text)+38))
		}
	}
	for _, name := range h.Columns {
		for _, piece := range pieces(name) {
			w = max(w, min(110, textWidth(strings.TrimSpace(piece))+10))
		}
	}
	return w
}

// heatBlock draws the columns from, up to before to, and returns where it ends.
func (c *canvas) heatBlock(h Heat, from, to int, left, v float64) float64 {
	w := min((WidthUnits-left-4)/float64(to-from), max(h.cellWidth(), 110))
	lines := 1
	heads := make([][]string, to-from)
	for k := range heads {
		heads[k] = wrap(h.Columns[from+k], w-8, 3)
		lines = max(lines, len(heads[k]))
	}
	v += lineHeight * float64(lines)
	for k, head := range heads {
		for n, line := range head {
			whole := ""
			if n == 0 {
				whole = h.Columns[from+k]
			}
			c.text("fg-name", "middle", left+w*(float64(k)+0.5), v-lineHeight*float64(len(head)-1-n)-3, line, whole)
		}
	}
	v += 4
	for _, r := range h.Rows {
		c.text("fg-name", "end", left-8, v+heatHeight/2+4.5, shorten(r.Name, heatNames), r.Name)
		for k := from; k < to; k++ {
			u := left + w*float64(k-from)
			c.cell(r.Cells[k], box{u + 1, v + 1, u + w - 1, v + heatHeight - 1})
		}
		v += heatHeight
	}
	return v
}

// cell draws one cell: ground by margin, pattern and sign by state, text.
func (c *canvas) cell(e Cell, b box) {
	if e.State == Absent {
		c.rect("fg-cell", b)
		c.text("fg-muted", "middle", b.centre().u, b.centre().v+4.5, "–", "")
		return
	}
	if finite(e.Margin) && (e.State == Pass || e.State == Fail || e.State == Permitted) {
		c.rect("fg-q"+num(float64(heatShade(e.Margin))), b)
	}
	switch e.State {
	case Fail:
		c.filled("hatch", b)
	case Undecided:
		c.filled("dots", b)
	}
	c.rect("fg-cell", b)
	mid := b.centre()
	if e.Text == "" {
		c.verdict(e.State, mid.u, mid.v)
		return
	}
	text := shorten(e.Text, b.u1-b.u0-34)
	w := 24 + textWidth(text)
	u := mid.u - w/2 + 9
	c.verdict(e.State, u, mid.v)
	c.text("fg-value", "start", u+14, mid.v+4.5, text, e.Text)
}

// heatShade is the step of the palette for a margin: full margin is the palest,
// none and less the strongest.
func heatShade(margin float64) int {
	return int(math.Round((shades - 1) * (1 - min(max(margin, 0), 1)) * 0.8))
}

func (c *canvas) filled(pattern string, b box) {
	c.add(`<rect fill="url(#`, c.id, `-`, pattern, `)" x="`, b.u0, `" y="`, b.v0, `" width="`, b.u1-b.u0, `" height="`, b.v1-b.v0, `"/>`, "\n")
}

// verdict draws the sign of a state about u, v. Signs are drawn, not typed: not
// every type has them.
func (c *canvas) verdict(s State, u, v float64) {
	at := func(du, dv float64) string { return num(u+du) + " " + num(v+dv) }
	tick := "M" + at(-4, 0) + "L" + at(-1, 4) + "L" + at(5, -5)
	switch s {
	case Pass:
		c.sign(tick)
	case Fail:
		c.sign("M" + at(-4, -4) + "L" + at(4, 4) + "M" + at(-4, 4) + "L" + at(4, -4))
	case Undecided:
		c.text("fg-name", "middle", u, v+4.5, "?", "")
	case Permitted:
		c.sign(tick + "M" + at(-6, -7) + "Q" + at(-9, 0) + " " + at(-6, 7) + "M" + at(7, -7) + "Q" + at(10, 0) + " " + at(7, 7))
	}
}

// sign draws d over a rim of paper.
func (c *canvas) sign(d string) {
	c.path("fg-signrim", d)
	c.path("fg-sign", d)
}

// heatKey names the signs and returns where it ends.
func (c *canvas) heatKey(v float64) float64 {
	u := 14.0
	v += 10
	key := func(w float64, word string, draw func(u, v float64)) {
		if u+w+textWidth(word) > WidthUnits-4 {
			u, v = 14, v+22
		}
		draw(u, v)
		c.text("fg-note", "start", u+w, v+4.5, word, "")
		u += w + textWidth(word) + 24
	}
	for _, k := range [...]struct {
		state State
		word  string
	}{{Pass, "within"}, {Fail, "over, hatched"}, {Undecided, "undecided, dotted"}, {Permitted, "over and permitted"}} {
		key(15, k.word, func(u, v float64) { c.verdict(k.state, u, v) })
	}
	key(52, "the stronger, the less margin", func(u, v float64) {
		for k := range 4 {
			c.rect("fg-edge fg-q"+num(float64(heatShade(1-float64(k)/3))), box{u - 6 + 13*float64(k), v - 6, u + 7 + 13*float64(k), v + 6})
		}
	})
	return v + 16
}
