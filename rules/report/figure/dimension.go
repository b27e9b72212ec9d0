package figure

import (
	"math"
	"slices"

	"busgauss/model/geom"
)

const (
	laneUnits  = 22.0 // one dimension line with its text
	arrowUnits = 26.0 // a shorter dimension has its arrows outside
)

// A gauge is a dimension with a side and a lane.
type gauge struct {
	Dimension
	lane   int
	lo, hi float64 // ends along the dimension line, drawing units
	text   string
	before bool // text that does not fit between the arrows stands at lo, not at hi
}

// textOf returns what stands at d.
func (d Dimension) textOf() string {
	if d.Text != "" {
		return shorten(d.Text, 150)
	}
	v := d.ToM.Sub(d.FromM)
	length := v.Norm()
	switch d.Side {
	case Above, Below:
		length = math.Abs(v.X)
	case Left, Right:
		length = math.Abs(v.Y)
	}
	return significant(1000*length, 3) + " mm"
}

// sideOf resolves Auto.
func (d Dimension) sideOf() Side {
	if d.Side != Auto {
		return d.Side
	}
	v := d.ToM.Sub(d.FromM)
	switch tol := 1e-6 * v.Norm(); {
	case math.Abs(v.Y) <= tol:
		return Below
	case math.Abs(v.X) <= tol:
		return Right
	}
	return Between
}

// inside reports whether both ends of d lie in the view; its edge belongs to it.
func (d Dimension) inside(m Map, view box) bool {
	if !placed(d.FromM, d.ToM) {
		return false
	}
	u0, v0 := m.Unit(d.FromM)
	u1, v1 := m.Unit(d.ToM)
	b := view.grow(0.5)
	return inBox(b, inkPoint{u0, v0}) && inBox(b, inkPoint{u1, v1})
}

// lanes gives each dimension of a side the lane nearest to the view in which it
// meets no other, the shortest first. It returns them in drawing order and how
// many lanes there are. A dimension with an end outside the view is left out.
func lanes(list []Dimension, side Side, m Map, view box) ([]gauge, int) {
	limit := WidthUnits - 4.0
	if side == Left || side == Right {
		limit = view.v1 + 8
	}
	var out []gauge
	for _, d := range list {
		d.Side = d.sideOf()
		if d.Side != side || !d.inside(m, view) {
			continue
		}
		u0, v0 := m.Unit(d.FromM)
		u1, v1 := m.Unit(d.ToM)
		g := gauge{Dimension: d, lo: min(u0, u1), hi: max(u0, u1), text: d.textOf()}
		if side == Left || side == Right {
			g.lo, g.hi = min(v0, v1), max(v0, v1)
		}
		_, far := g.extent()
		g.before = far > limit
		out = append(out, g)
	}
	slices.SortStableFunc(out, func(a, b gauge) int {
		switch la, lb := a.hi-a.lo, b.hi-b.lo; {
		case la < lb-1e-6:
			return -1
		case la > lb+1e-6:
			return 1
		}
		return 0
	})
	count := 0
	for k := range out {
		a0, a1 := out[k].extent()
	lane:
		for ; ; out[k].lane++ {
			for _, o := range out[:k] {
				b0, b1 := o.extent()
				if o.lane == out[k].lane && a0 < b1-0.5 && b0 < a1-0.5 {
					continue lane
				}
			}
			break
		}
		count = max(count, out[k].lane+1)
	}
	return out, count
}

// outside reports whether arrows and text stand outside the ends.
func (g gauge) outside() bool { return g.hi-g.lo < max(arrowUnits, textWidth(g.text)+4) }

// extent is what the dimension covers along its line.
func (g gauge) extent() (lo, hi float64) {
	if g.hi-g.lo < arrowUnits {
		lo, hi = g.lo-16, g.hi+16
	} else {
		lo, hi = g.lo, g.hi
	}
	if w := 20 + textWidth(g.text); g.outside() && g.before {
		lo = min(lo, g.lo-w)
	} else if g.outside() {
		hi = max(hi, g.hi+w)
	}
	return lo, hi
}

// gauges draws the dimensions of one side, whose first lane begins at edge.
func (c *canvas) gauges(list []gauge, edge float64, m Map) {
	for _, g := range list {
		out := 1.0
		if g.Side == Above || g.Side == Left {
			out = -1
		}
		at := edge + float64(out*(float64(laneUnits*float64(g.lane))+16))
		if g.Side == Above || g.Side == Left {
			at = edge + float64(out*(float64(laneUnits*float64(g.lane))+6))
		}
		fu, fv := m.Unit(g.FromM)
		tu, tv := m.Unit(g.ToM)
		level := g.Side == Above || g.Side == Below
		for _, p := range [2]inkPoint{{fu, fv}, {tu, tv}} {
			if level {
				c.line("fg-extension", p.u, p.v+float64(3*out), p.u, at+4*out)
			} else {
				c.line("fg-extension", p.u+float64(3*out), p.v, at+4*out, p.v)
			}
		}
		arrow := func(a, b float64, ends string) {
			if level {
				c.arrow(a, at, b, at, ends)
			} else {
				c.arrow(at, a, at, b, ends)
			}
		}
		if g.hi-g.lo < arrowUnits {
			arrow(g.lo-16, g.lo, "end")
			arrow(g.lo, g.hi, "")
			arrow(g.hi+16, g.hi, "end")
		} else {
			arrow(g.lo, g.hi, "both")
		}
		mid := (g.lo + g.hi) / 2
		if g.outside() {
			mid = g.hi + 18 + textWidth(g.text)/2
			if g.before {
				mid = g.lo - 18 - textWidth(g.text)/2
			}
		}
		switch {
		case !level:
			c.upright("fg-value", at-4, mid, g.text)
		case g.outside():
			c.text("fg-value", "middle", mid, at+4, g.text, g.text)
		default:
			c.text("fg-value", "middle", mid, at-4, g.text, g.text)
		}
	}
}

// extension is the line from an end of g to the edge of the view where g stands.
func (g gauge) extension(end geom.Point, s sheet) [2]inkPoint {
	u, v := s.m.Unit(end)
	to := inkPoint{u, v}
	switch g.Side {
	case Above:
		to.v = s.view.v0
	case Below:
		to.v = s.view.v1
	case Left:
		to.u = s.view.u0
	case Right:
		to.u = s.view.u1
	}
	return [2]inkPoint{{u, v}, to}
}

// arrow draws a dimension line with arrow heads at end, both or none.
func (c *canvas) arrow(u0, v0, u1, v1 float64, ends string) {
	c.add(`<line class="fg-dimension" x1="`, u0, `" y1="`, v0, `" x2="`, u1, `" y2="`, v1, `"`)
	if ends != "" {
		c.add(` marker-end="url(#`, c.id, `-arrow)"`)
	}
	if ends == "both" {
		c.add(` marker-start="url(#`, c.id, `-arrow)"`)
	}
	c.add("/>\n")
}
