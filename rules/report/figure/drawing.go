package figure

import (
	"math"
	"strconv"
	"strings"

	"busgauss/model/geom"
)

// A plan of the page: what goes where.
type sheet struct {
	m                         Map
	view                      box
	above, below, left, right []gauge
	foot                      float64 // where the view and its dimensions end
}

// Map returns the mapping between metres and the units of the drawing that Draw
// makes of d. The svg element carries the same three numbers as data-x0, data-y0
// and data-per-m.
func (d Drawing) Map() Map { return d.sheet().m }

// sheet finds scale and margins. Lanes depend on the scale and the scale on the
// room the lanes leave, so it is done in rounds; lanes only ever grow.
func (d Drawing) sheet() sheet {
	b := d.visible()
	size := b.Size()
	most := d.MaxHeight
	if !(most > 0) {
		most = 560
	}
	var s sheet
	var na, nb, nl, nr int
	for range 4 {
		left, right := 8+float64(laneUnits*float64(nl)), 8+float64(laneUnits*float64(nr))
		top := 8 + float64(laneUnits*float64(na))
		s.m.PerM = min((WidthUnits-left-right)/size.X, most/size.Y)
		w, h := float64(s.m.PerM*size.X), float64(s.m.PerM*size.Y)
		u := left + (WidthUnits-left-right-w)/2
		s.view = box{u, top, u + w, top + h}
		s.m.X0, s.m.Y0 = u-float64(s.m.PerM*b.Min.X), top+float64(s.m.PerM*b.Max.Y)
		s.foot = top + h + float64(laneUnits*float64(nb))
		var a, e, l, r int
		s.above, a = lanes(d.Dimensions, Above, s.m, s.view)
		s.below, e = lanes(d.Dimensions, Below, s.m, s.view)
		s.left, l = lanes(d.Dimensions, Left, s.m, s.view)
		s.right, r = lanes(d.Dimensions, Right, s.m, s.view)
		if a <= na && e <= nb && l <= nl && r <= nr {
			break
		}
		na, nb, nl, nr = max(a, na), max(e, nb), max(l, nl), max(r, nr)
	}
	return s
}

// visible returns what is shown, never without area.
func (d Drawing) visible() geom.Box {
	b := d.ViewM
	if size := b.Size(); b.Empty() || !placed(b.Min, b.Max) || size.X <= 0 || size.Y <= 0 {
		b = geom.EmptyBox()
		for _, list := range [2][]Part{d.Bars, d.Shields} {
			for _, p := range list {
				b = b.Join(p.box())
			}
		}
		for _, s := range d.Sensors {
			if placed(s.AtM) {
				b = b.Extend(s.AtM)
			}
			for _, q := range s.ToleranceM {
				if placed(q) {
					b = b.Extend(q)
				}
			}
		}
		if b.Empty() {
			b = geom.Box{Min: geom.Point{X: -0.05}, Max: geom.Point{X: 0.05}}
		}
		size = b.Size()
		b = b.Grow(max(0.12*max(size.X, size.Y), 1e-3))
	}
	// A strip of a drawing would have no room for a name.
	size := b.Size()
	if d := float64(0.12*size.X) - size.Y; d > 0 {
		b.Min.Y, b.Max.Y = b.Min.Y-d/2, b.Max.Y+d/2
	}
	return b
}

// box is what p covers, in metres; places that are no numbers do not count.
func (p Part) box() geom.Box {
	b := geom.EmptyBox()
	for _, r := range p.Regions {
		for _, q := range r.Outer {
			if placed(q) {
				b = b.Extend(q)
			}
		}
	}
	if p.RadiusM > 0 && placed(p.CentreM) && p.RadiusM < 1e6 {
		b = b.Join(geom.Box{Min: p.CentreM, Max: p.CentreM}.Grow(p.RadiusM))
	}
	return b
}

// units returns b in drawing units.
func (m Map) units(b geom.Box) box {
	u0, v1 := m.Unit(b.Min)
	u1, v0 := m.Unit(b.Max)
	return box{u0, v0, u1, v1}
}

// Draw returns the drawing as one svg element. Its view is the rect with the id
// ID-view; the sensors are groups with the ids ID-sensor-0, ID-sensor-1, ... in
// the order given.
func Draw(d Drawing) string {
	c := newCanvas(d.Frame)
	s := d.sheet()
	c.add("<defs>\n")
	c.marker("arrow", "fg-head", "M0 2.5L10 5L0 7.5z", 10)
	c.marker("tip", "fg-head", "M0 1L10 5L0 9z", 9)
	c.pattern("hatch", "fg-hatch", 6, 45)
	c.add(`<clipPath id="`, c.id, `-clip"><rect x="`, s.view.u0, `" y="`, s.view.v0, `" width="`, s.view.u1-s.view.u0, `" height="`, s.view.v1-s.view.v0, `"/></clipPath>`, "\n</defs>\n")
	c.add(`<g clip-path="url(#`, c.id, `-clip)">`, "\n")
	shading := c.shading(d.Shade, s.m)
	lines := c.fluxLines(d.Flux, s.m)
	for _, p := range d.Bars {
		c.part(p, s.m, false, d.Shade != nil)
	}
	for _, p := range d.Shields {
		c.part(p, s.m, true, d.Shade != nil)
	}
	for _, k := range d.Cuts {
		if placed(k.FromM, k.ToM) {
			u0, v0 := s.m.Unit(k.FromM)
			u1, v1 := s.m.Unit(k.ToM)
			c.line("fg-cut", u0, v0, u1, v1)
		}
	}
	c.add("</g>\n")
	c.add(`<rect class="fg-frame" id="`, c.id, `-view" x="`, s.view.u0, `" y="`, s.view.v0, `" width="`, s.view.u1-s.view.u0, `" height="`, s.view.v1-s.view.v0, `"/>`, "\n")
	c.gauges(s.above, s.view.v0, s.m)
	c.gauges(s.below, s.view.v1, s.m)
	c.gauges(s.left, s.view.u0, s.m)
	c.gauges(s.right, s.view.u1, s.m)
	for k, e := range d.Sensors {
		c.sensor(k, e, s)
	}
	foot := c.labels(d, s)
	foot = c.strip(d, s.m, foot)
	foot = c.legend(shading, lines, foot)
	return c.svg(d.Frame, foot, ` data-x0="`+exact(s.m.X0)+`" data-y0="`+exact(s.m.Y0)+`" data-per-m="`+exact(s.m.PerM)+`"`)
}

// exact writes v so that reading gives v again.
func exact(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// part draws a bar or a shield. A bar is an outline, on a plain drawing over a
// ground of its own; a shield is hatched.
func (c *canvas) part(p Part, m Map, shield, shaded bool) {
	var d strings.Builder
	for _, r := range p.Regions {
		ring(&d, r.Outer, m)
		for _, h := range r.Holes {
			ring(&d, h, m)
		}
	}
	if p.RadiusM > 0 && placed(p.CentreM) && p.RadiusM < 1e6 {
		u, v := m.Unit(p.CentreM)
		r := num(m.PerM * p.RadiusM)
		d.WriteString("M" + num(u-float64(m.PerM*p.RadiusM)) + " " + num(v) + "a" + r + " " + r + " 0 1 0 " + num(2*m.PerM*p.RadiusM) + " 0a" + r + " " + r + " 0 1 0 " + num(-2*m.PerM*p.RadiusM) + " 0z")
	}
	if d.Len() == 0 {
		return
	}
	switch {
	case p.Hidden:
		c.path("fg-hidden", d.String())
	case shield:
		c.add(`<path class="fg-shield" fill="url(#`, c.id, `-hatch)" d="`, d.String(), `"/>`, "\n")
	case shaded:
		c.path("fg-bar", d.String())
	default:
		c.path("fg-bar fg-metal", d.String())
	}
}

// ring adds the closed outline of p; one with a place that is no number is left
// out.
func ring(d *strings.Builder, p geom.Polygon, m Map) {
	for _, q := range p {
		if !placed(q) {
			return
		}
	}
	for k, q := range p {
		u, v := m.Unit(q)
		d.WriteString([...]string{"M", "L"}[min(k, 1)] + num(u) + " " + num(v))
	}
	if len(p) > 0 {
		d.WriteString("z")
	}
}

// axisUnits is the length of the arrow of a sensor's axis.
const axisUnits = 26.0

// inside reports whether the element lies in the view; its edge belongs to it.
func (e Sensor) inside(s sheet) bool {
	u, v := s.m.Unit(e.AtM)
	return placed(e.AtM) && inBox(s.view.grow(0.5), inkPoint{u, v})
}

// sensor draws the element, its axis and its tolerance box; of one outside the
// view the empty group stays, so that the numbers of the others do not change.
func (c *canvas) sensor(k int, e Sensor, s sheet) {
	c.add(`<g id="`, c.id, `-sensor-`, k, `" class="fg-sensor">`, "\n")
	if e.Name != "" {
		c.add("<title>", escape(e.Name), "</title>\n")
	}
	if e.inside(s) {
		u, v := s.m.Unit(e.AtM)
		if a, ok := e.arrow(axisUnits); ok {
			c.line("fg-rim", u, v, u+a.X, v-a.Y)
			c.add(`<line class="fg-axis" x1="`, u, `" y1="`, v, `" x2="`, u+a.X, `" y2="`, v-a.Y, `" marker-end="url(#`, c.id, `-tip)"/>`, "\n")
			c.circle("fg-seat", u, v, 3.5)
		} else {
			c.circle("fg-seat", u, v, 6)
			c.circle("fg-dot", u, v, 1.8)
		}
		var d strings.Builder // last: it may be smaller than the sign
		ring(&d, e.ToleranceM, s.m)
		c.path("fg-tolerance", d.String())
	}
	c.add("</g>\n")
}

// arrow returns the sensitive direction in the view with the length asked; ok is
// false where it points out of the view. A rest below 1e-6 is rounding.
func (e Sensor) arrow(length float64) (a geom.Point, ok bool) {
	n := e.Axis.Norm()
	if !(n > 1e-6 && n < 1e30) {
		return geom.Point{}, false
	}
	return e.Axis.Scale(length / n), true
}

// reachOf is what the signs of a sensor cover.
func (e Sensor) reachOf(m Map) box {
	u, v := m.Unit(e.AtM)
	b := box{u - 6, v - 6, u + 6, v + 6}
	if a, ok := e.arrow(axisUnits + 4); ok {
		b = box{min(b.u0, u+a.X), min(b.v0, v-a.Y), max(b.u1, u+a.X), max(b.v1, v-a.Y)}
	}
	for _, q := range e.ToleranceM {
		if u, v := m.Unit(q); placed(q) {
			b = box{math.Min(b.u0, u), math.Min(b.v0, v), math.Max(b.u1, u), math.Max(b.v1, v)}
		}
	}
	return b
}
