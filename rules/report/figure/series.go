package figure

import (
	"math"
	"slices"
	"strings"

	"busgauss/model/portable"
)

// dashes and the markers of sign tell series apart without colour.
var dashes = [...]string{"", "9 4", "2 3", "12 3 3 3", "5 2", "14 5 2 5 2 5"}

const markerGap = 70.0 // between markers along a line, in drawing units

// series draws one line and returns where its markers stand; places of the line are
// kept free of labels.
func (c *canvas) series(n int, s Series, x, y ruler, p *placer) []inkPoint {
	k := n % len(dashes)
	var pieces [][]inkPoint
	open := false
	for i := range s.X {
		if !drawable(s.X[i], x.log) || !drawable(s.Y[i], y.log) {
			open = false
			continue
		}
		if !open {
			pieces = append(pieces, nil)
			open = true
		}
		q := inkPoint{x.unit(s.X[i]), y.unit(s.Y[i])}
		// What lies far outside is cut off by the frame; huge numbers help nobody.
		q.v = min(max(q.v, -1e4), 1e4)
		q.u = min(max(q.u, -1e4), 1e4)
		last := len(pieces) - 1
		pieces[last] = append(pieces[last], q)
	}
	var d strings.Builder
	var signs []inkPoint
	for _, piece := range pieces {
		if s.Points || len(piece) == 1 {
			signs = append(signs, piece...)
			continue
		}
		piece = thin(piece, 0.1)
		gone := float64(markerGap / 2 * (1 + float64(n)/3)) // series on top of each other show all markers
		for i, q := range piece {
			d.WriteString([...]string{"M", "L"}[min(i, 1)] + num(q.u) + " " + num(q.v))
			if i == 0 {
				continue
			}
			a := piece[i-1]
			p.leaders = append(p.leaders, [2]inkPoint{a, q})
			length := portable.Hypot(q.u-a.u, q.v-a.v)
			at := 0.0
			for gone+length-at >= markerGap {
				at += markerGap - gone
				gone = 0
				f := at / length
				signs = append(signs, inkPoint{a.u + float64(f*(q.u-a.u)), a.v + float64(f*(q.v-a.v))})
			}
			gone += length - at
		}
	}
	if d.Len() > 0 {
		c.add(`<g class="fg-s`, k, `">`, "\n")
		c.add(`<path class="fg-line" d="`, d.String(), `"`)
		if dashes[k] != "" {
			c.add(` stroke-dasharray="`, dashes[k], `"`)
		}
		c.add("/>\n</g>\n")
	}
	if s.Points {
		for _, q := range signs {
			p.taken = append(p.taken, box{q.u - 5, q.v - 5, q.u + 5, q.v + 5})
		}
	}
	return signs
}

// signs draws the markers of series n that stand in b or on its edge.
func (c *canvas) signs(n int, list []inkPoint, b box) {
	k := n % len(dashes)
	var all strings.Builder
	for _, q := range list {
		if inBox(b.grow(0.5), q) {
			all.WriteString(sign(k, q.u, q.v))
		}
	}
	if all.Len() > 0 {
		c.add(`<g class="fg-s`, k, `">`, "\n")
		c.path("fg-point", all.String())
		c.add("</g>\n")
	}
}

// sign returns the path of marker k: circle, square, triangle, diamond, cross,
// bar.
func sign(k int, u, v float64) string {
	m := func(pairs ...float64) string {
		var b strings.Builder
		for i := 0; i < len(pairs); i += 2 {
			b.WriteString([...]string{"M", "L"}[min(i, 1)] + num(u+pairs[i]) + " " + num(v+pairs[i+1]))
		}
		return b.String()
	}
	switch k {
	case 0:
		return "M" + num(u-4) + " " + num(v) + "a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z"
	case 1:
		return m(-3.5, -3.5, 3.5, -3.5, 3.5, 3.5, -3.5, 3.5) + "z"
	case 2:
		return m(0, -4.5, 4.5, 3.5, -4.5, 3.5) + "z"
	case 3:
		return m(0, -5, 5, 0, 0, 5, -5, 0) + "z"
	case 4:
		return m(-4, -4, 4, 4) + m(-4, 4, 4, -4)
	}
	return m(0, -5, 0, 5)
}

// endNamesOf writes the names of the series at the right, each with dash and
// marker, in the order of the ends of the lines and pushed apart where they would
// meet.
func (c *canvas) endNamesOf(p Panel, x, y ruler, b box) {
	type end struct {
		n    int
		want float64
		at   float64
	}
	var ends []end
	for n, s := range p.Series {
		if s.Name == "" {
			continue
		}
		e := end{n: n, want: (b.v0 + b.v1) / 2}
		far := math.Inf(-1)
		for i := range s.X {
			if drawable(s.X[i], x.log) && drawable(s.Y[i], y.log) && s.X[i] >= far {
				far, e.want = s.X[i], min(max(y.unit(s.Y[i]), b.v0+6), b.v1-6)
			}
		}
		ends = append(ends, e)
	}
	slices.SortStableFunc(ends, func(a, b end) int {
		switch {
		case a.want < b.want-1e-6:
			return -1
		case a.want > b.want+1e-6:
			return 1
		}
		return a.n - b.n
	})
	v := b.v0 - 2
	for k := range ends {
		v = max(ends[k].want, v+lineHeight)
		if k == 0 {
			v = max(ends[k].want, b.v0+6)
		}
		ends[k].at = v
	}
	limit := b.v1 - 4
	for k := len(ends) - 1; k >= 0; k-- {
		ends[k].at = min(ends[k].at, limit)
		limit = ends[k].at - lineHeight
	}
	for _, e := range ends {
		k := e.n % len(dashes)
		u := b.u1 + 4
		c.add(`<g class="fg-s`, k, `">`, "\n")
		c.path("fg-point", sign(k, u+6, e.at))
		c.add("</g>\n")
		name := p.Series[e.n].Name
		c.text("fg-name", "start", u+15, e.at+4.5, shorten(name, endNames-22), name)
	}
}
