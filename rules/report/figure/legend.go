package figure

import "strings"

// strip draws the axes, the scale bar and the key of the signs below the view.
// It returns where it ends.
func (c *canvas) strip(d Drawing, m Map, foot float64) float64 {
	v := foot + 34
	u := 12.0
	c.add(`<g class="fg-axes">`, "\n")
	c.add(`<line class="fg-dimension" x1="`, u, `" y1="`, v, `" x2="`, u+24, `" y2="`, v, `" marker-end="url(#`, c.id, `-arrow)"/>`, "\n")
	c.add(`<line class="fg-dimension" x1="`, u, `" y1="`, v, `" x2="`, u, `" y2="`, v-24, `" marker-end="url(#`, c.id, `-arrow)"/>`, "\n")
	c.text("fg-note", "start", u+28, v+4, shorten(d.Across, 40), d.Across)
	c.text("fg-note", "start", u+6, v-16, shorten(d.Up, 40), d.Up)
	c.add("</g>\n")
	lengthM, text := scaleBar(m)
	u = 90
	w := float64(lengthM * m.PerM)
	c.add(`<path class="fg-scale" id="`, c.id, `-scale" data-metres="`, exact(lengthM), `" d="M`, u, ` `, v-6, `V`, v, `H`, u+w, `V`, v-6, `"/>`, "\n")
	c.text("fg-value", "start", u+w+8, v+2, text, text)
	u += w + 8 + textWidth(text) + 30
	key := func(word string, w float64, draw func(u, v float64)) {
		if u+w+6+textWidth(word) > WidthUnits-4 {
			u, v = 12, v+22
		}
		draw(u, v-4)
		c.text("fg-note", "start", u+w+6, v, word, word)
		u += w + 6 + textWidth(word) + 20
	}
	if len(d.Bars) > 0 {
		key("bar", 22, func(u, v float64) { c.rect("fg-bar fg-metal", box{u, v - 6, u + 22, v + 6}) })
	}
	if len(d.Shields) > 0 {
		key("shield", 22, func(u, v float64) {
			c.add(`<rect class="fg-shield" fill="url(#`, c.id, `-hatch)" x="`, u, `" y="`, v-6, `" width="22" height="12"/>`, "\n")
		})
	}
	level, upright, box3 := false, false, false
	for _, s := range d.Sensors {
		_, lies := s.arrow(1)
		level, upright = level || lies, upright || !lies
		box3 = box3 || len(s.ToleranceM) > 0
	}
	if level {
		key("sensor and its axis", 30, func(u, v float64) {
			c.add(`<line class="fg-axis" x1="`, u+4, `" y1="`, v, `" x2="`, u+28, `" y2="`, v, `" marker-end="url(#`, c.id, `-tip)"/>`, "\n")
			c.circle("fg-seat", u+4, v, 3.5)
		})
	}
	if upright {
		key("axis out of the drawing", 14, func(u, v float64) {
			c.circle("fg-seat", u+7, v, 6)
			c.circle("fg-dot", u+7, v, 1.8)
		})
	}
	if box3 {
		key("tolerance of its place", 18, func(u, v float64) { c.rect("fg-tolerance", box{u, v - 6, u + 18, v + 6}) })
	}
	if len(d.Cuts) > 0 {
		key("cut", 40, func(u, v float64) { c.line("fg-cut", u, v, u+40, v) })
	}
	return v + 10
}

// scaleBar returns a round length of at most 160 drawing units, and its text.
func scaleBar(m Map) (lengthM float64, text string) {
	mm := roundStep(160 / m.PerM * 1000)
	if mm*m.PerM/1000 > 160*(1+1e-9) {
		mm = roundStep(mm / 2.6)
	}
	return mm / 1000, significant(mm, 3) + " mm"
}

// legend draws the bands with their bounds and the flux lines. It returns where
// it ends.
func (c *canvas) legend(s bands, f lines, foot float64) float64 {
	if n := len(s.levels) - 1; n > 0 {
		v := foot + 16
		title := s.scale.titled(s.title)
		c.text("fg-note", "start", 12, v, shorten(title, WidthUnits-24), title)
		v += 6
		texts := make([]string, n+1)
		for k, l := range s.levels {
			texts[k] = significant(l*s.scale.perSI, 3)
		}
		if s.below {
			texts[0] = "≤ " + texts[0]
		}
		if s.over {
			texts[n] = "≥ " + texts[n]
		}
		w := min(52, (WidthUnits-70)/float64(n))
		for k := range n {
			c.rect("fg-q"+num(float64(shadeOf(k, n)))+" fg-edge", box{34 + float64(w*float64(k)), v, 34 + float64(w*float64(k+1)), v + 14})
		}
		last := -100.0
		for k, t := range texts {
			u := 34 + float64(w*float64(k))
			if half := textWidth(t) / 2; u-half > last+4 || k == 0 {
				c.text("fg-value", "middle", u, v+28, t, t)
				last = u + half
			}
		}
		foot = v + 34
	}
	if f.count > 0 {
		v := foot + 16
		c.line("fg-flux", 12, v-4, 46, v-4)
		t := strings.TrimSpace(f.title)
		if t == "" {
			t = "flux lines"
		}
		if f.stepWbPerM > 0 {
			sc := scaleFor("Wb/m", f.stepWbPerM)
			t += ", " + significant(f.stepWbPerM*sc.perSI, 3) + " " + sc.unit + " from line to line"
		}
		c.text("fg-note", "start", 54, v, shorten(t, WidthUnits-66), t)
		foot = v + 4
	}
	return foot + 6
}
