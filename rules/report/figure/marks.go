package figure

// strips draws the bands and the lines of the marks.
func (c *canvas) strips(p Panel, x, y ruler, b box) {
	for _, s := range p.Bands {
		if !finite(s.From, s.To) {
			continue
		}
		lo, hi := min(s.From, s.To), max(s.From, s.To)
		if s.Upright {
			if u0, u1 := x.clamp(lo), x.clamp(hi); u1 > u0 {
				c.rect("fg-strip", box{u0, b.v0, u1, b.v1})
				c.line("fg-grid", u0, b.v0, u0, b.v1)
				c.line("fg-grid", u1, b.v0, u1, b.v1)
			}
		} else if v1, v0 := y.clamp(lo), y.clamp(hi); v1 > v0 {
			c.rect("fg-strip", box{b.u0, v0, b.u1, v1})
			c.line("fg-grid", b.u0, v0, b.u1, v0)
			c.line("fg-grid", b.u0, v1, b.u1, v1)
		}
	}
	for _, m := range p.Marks {
		switch {
		case m.Upright && x.has(m.At):
			u := x.unit(m.At)
			c.line("fg-mark", u, b.v0, u, b.v1)
		case !m.Upright && y.has(m.At):
			v := y.unit(m.At)
			c.line("fg-mark", b.u0, v, b.u1, v)
		}
	}
}

// clamp returns the place of v, or of the end it lies beyond.
func (r ruler) clamp(v float64) float64 {
	return r.unit(min(max(v, r.lo), r.hi))
}

// markLabels writes the labels of bands and marks: of upright ones above the
// panel, of level ones on the line inside it, where nothing else is drawn.
func (c *canvas) markLabels(p Panel, x, y ruler, b box, inside, above *placer) {
	for _, m := range p.Marks {
		if m.Upright && x.has(m.At) {
			u := x.unit(m.At)
			inside.leaders = append(inside.leaders, [2]inkPoint{{u, b.v0}, {u, b.v1}})
		} else if !m.Upright && y.has(m.At) {
			v := y.unit(m.At)
			inside.leaders = append(inside.leaders, [2]inkPoint{{b.u0, v}, {b.u1, v}})
		}
	}
	put := func(upright bool, at float64, text string) {
		if text == "" {
			return
		}
		if upright {
			if !x.has(at) {
				return
			}
			u := x.unit(at)
			c.head(text, u, b, above)
			return
		}
		if !y.has(at) {
			return
		}
		v := y.unit(at)
		for _, width := range [...]float64{(b.u1 - b.u0) / 2, 130, 80} {
			for _, strict := range [...]bool{true, false} {
				if t, ok := alongLine(textWidth(shorten(text, width))+4, v, b, inside, strict); ok {
					inside.taken = append(inside.taken, t)
					c.text("fg-note", "start", t.u0+2, t.v0+13, shorten(text, width), text)
					return
				}
				if width > 130 {
					break // rather shorter than across a line
				}
			}
		}
	}
	for _, s := range p.Bands {
		at := (x.clampSI(s.From) + x.clampSI(s.To)) / 2
		if !s.Upright {
			at = max(y.clampSI(s.From), y.clampSI(s.To))
		}
		put(s.Upright, at, s.Label)
	}
	for _, m := range p.Marks {
		put(m.Upright, m.At, m.Label)
	}
}

// alongLine finds room for a label of the width on a level line at v, from the
// left, above the line, then below it; if not strict, across other lines.
func alongLine(w, v float64, b box, p *placer, strict bool) (box, bool) {
	q := *p
	if !strict {
		q.leaders = nil
	}
	for _, off := range [...]float64{-lineHeight, 2, -2 * lineHeight, lineHeight + 2} {
		for u := b.u0 + 4; u+w < b.u1; u += 12 {
			if t := (box{u, v + off - 1, u + w, v + off + lineHeight - 1}); q.free(t) {
				return t, true
			}
		}
	}
	return box{}, false
}

func (r ruler) clampSI(v float64) float64 { return min(max(v, r.lo), r.hi) }

// head writes the label of an upright mark above the panel, in the lowest line
// that has room, with a leader down to the mark.
func (c *canvas) head(text string, u float64, b box, above *placer) {
	s := shorten(text, 200)
	w := textWidth(s) + 4
	lo := min(max(u-w/2, above.room.u0), above.room.u1-w)
	for v := b.v0 - lineHeight; v >= above.room.v0-0.5; v -= lineHeight {
		t := box{lo, v, lo + w, v + lineHeight}
		if !above.free(t) {
			continue
		}
		above.taken = append(above.taken, t)
		if v < b.v0-lineHeight-1 {
			c.line("fg-leader", u, v+lineHeight-2, u, b.v0)
			above.leaders = append(above.leaders, [2]inkPoint{{u, v + lineHeight - 2}, {u, b.v0}})
		}
		c.text("fg-note", "middle", lo+w/2, v+12, s, text)
		return
	}
	// More labels at one place than lines: the last stands by its line.
	c.upright("fg-note", u-4, (b.v0+b.v1)/2, s)
}

// free reports whether b meets nothing that may not be covered.
func (p *placer) free(b box) bool {
	if !b.within(p.room) {
		return false
	}
	for _, t := range p.taken {
		if b.meets(t) {
			return false
		}
	}
	for _, s := range p.leaders {
		if crosses(b, s) {
			return false
		}
	}
	return true
}
