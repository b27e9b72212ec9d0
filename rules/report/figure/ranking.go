package figure

import "math"

// rankStep is the height of one bar with its gap.
const rankStep = 24.0

// DrawRanking returns the bars as one svg element. A negative value goes left of
// the zero line.
func DrawRanking(r Ranking) string {
	c := newCanvas(r.Frame)
	c.add("<defs>\n")
	c.pattern("hatch", "fg-hatch", 5, 45)
	c.add("</defs>\n")
	names, texts, lo, hi := 0.0, 0.0, 0.0, 0.0
	for _, i := range r.Items {
		names = max(names, min(250, textWidth(i.Name)))
		texts = max(texts, min(150, textWidth(i.Text)))
		if finite(i.Value) {
			lo, hi = min(lo, i.Value), max(hi, i.Value)
		}
	}
	v := 4.0
	if r.Title != "" {
		for _, line := range wrap(r.Title, WidthUnits-16, 2) {
			v += lineHeight
			c.text("fg-title", "start", 8, v, line, "")
		}
		v += 6
	}
	left, right := names+18, WidthUnits-texts-14
	room := right - left
	if lo < 0 { // texts of negative bars stand left of them
		left += texts + 8
		room = right - left
	}
	per := 0.0
	if hi > lo {
		per = room / (hi - lo)
	}
	zero := left - float64(lo*per)
	top := v
	for _, i := range r.Items {
		mid := v + rankStep/2
		c.text("fg-name", "end", names+10, mid+4.5, shorten(i.Name, 250), i.Name)
		text := i.Text
		if !finite(i.Value) && text == "" {
			text = "not known"
		}
		end := zero
		if finite(i.Value) {
			end = zero + float64(i.Value*per)
			b := box{min(zero, end), mid - 8, max(zero, end), mid + 8}
			if i.Total {
				c.add(`<rect class="fg-total" fill="url(#`, c.id, `-hatch)" x="`, b.u0, `" y="`, b.v0, `" width="`, b.u1-b.u0, `" height="`, b.v1-b.v0, `"/>`, "\n")
			} else {
				c.rect("fg-rank", b)
			}
		}
		if i.Value < 0 {
			c.text("fg-value", "end", end-6, mid+4.5, shorten(text, 150), text)
		} else {
			c.text("fg-value", "start", end+6, mid+4.5, shorten(text, 150), text)
		}
		v += rankStep
	}
	c.line("fg-frame", zero, top, zero, math.Max(v, top+4))
	if len(r.Items) == 0 {
		c.text("fg-note", "start", 12, v+16, "nothing to rank", "")
		v += 20
	}
	return c.svg(r.Frame, v+8, "")
}
