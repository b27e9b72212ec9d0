package layout

import (
	"math"

	"busgauss/model/geom"
)

// Holds reports whether q lies in the metal of p; surfaces belong to it, what its
// cuts take does not.
func (p *Piece) Holds(q geom.Point3) bool {
	for i := range p.parts {
		t := &p.parts[i]
		if t.upright {
			if q.Z >= t.lowM && q.Z <= t.highM && t.region.Contains(q.XY()) {
				return true
			}
			continue
		}
		c, within := t.local(q)
		if within && p.Bar.SectionCorners().Contains(c) && !(t.cut && taken(p.Bar, c.X, q.Z)) {
			return true
		}
	}
	return false
}

// local returns q in the frame of the section of a part that is not upright, and
// whether it lies between the planes that cut the part.
func (t *part) local(q geom.Point3) (c geom.Point, within bool) {
	d := q.Sub(t.leg.From)
	within = d.Dot(t.leg.FromNormal) >= -flush && q.Sub(t.leg.To).Dot(t.leg.ToNormal) <= flush
	return geom.Point{X: d.Dot(t.leg.U), Y: d.Dot(t.leg.V)}, within
}

func taken(b *Bar, acrossM, zM float64) bool {
	for i := range b.Cuts {
		if b.Cuts[i].Taken(acrossM, zM, b.Section.WidthM.V) {
			return true
		}
	}
	return false
}

// Between reports whether the straight line from q to the point near, at the same z,
// runs through p; both ends are left out, so that a piece which touches the bar does
// not count.
func (p *Piece) Between(q geom.Point3, near geom.Point) bool {
	for i := range p.parts {
		t := &p.parts[i]
		switch {
		case t.upright:
			if q.Z >= t.lowM && q.Z <= t.highM && between(t.region, q.XY(), near) {
				return true
			}
		case t.cut:
			if _, within := t.local(geom.Point3{X: t.leg.From.X, Y: t.leg.From.Y, Z: q.Z}); !within {
				continue
			}
			for _, m := range p.metalAt(q.Z) {
				if between(m, q.XY(), near) {
					return true
				}
			}
		case t.crossed(p.Bar.SectionCorners(), q, geom.Point3{X: near.X, Y: near.Y, Z: q.Z}):
			return true
		}
	}
	return false
}

// metalAt returns the section of a bar with cuts at zM.
func (p *Piece) metalAt(zM float64) []geom.Region {
	b := p.Bar
	w, t := b.Section.WidthM.V, b.Section.ThicknessM.V
	var gone []Spread
	for i := range b.Cuts {
		gone = append(gone, b.Cuts[i].Spreads(zM, w)...)
	}
	var out []geom.Region
	for _, m := range Metal(gone, w) {
		local := geom.Polygon{{X: m.LowM, Y: -t / 2}, {X: m.HighM, Y: -t / 2}, {X: m.HighM, Y: t / 2}, {X: m.LowM, Y: t / 2}}
		out = append(out, geom.Solid(local.Place(b.At.Point(), b.TurnRad.V)))
	}
	return out
}

// crossed reports whether the straight line from a to b, without its ends, runs
// through a part that is not upright: what of it lies between the planes that cut the
// part, seen along the part, meets the section.
func (t *part) crossed(section geom.Polygon, a, b geom.Point3) bool {
	const short = 1e-6
	d := b.Sub(a)
	from, to := short, 1-short
	clip := func(level, slope float64) { // level + slope·s >= 0
		switch {
		case slope > 0:
			from = math.Max(from, -level/slope)
		case slope < 0:
			to = math.Min(to, -level/slope)
		case level < 0:
			to = math.Inf(-1)
		}
	}
	clip(a.Sub(t.leg.From).Dot(t.leg.FromNormal), d.Dot(t.leg.FromNormal))
	clip(-a.Sub(t.leg.To).Dot(t.leg.ToNormal), -d.Dot(t.leg.ToNormal))
	if !(from <= to) {
		return false
	}
	p, _ := t.local(a.Add(d.Scale(from)))
	q, _ := t.local(a.Add(d.Scale(to)))
	if section.Contains(p) || section.Contains(q) {
		return true
	}
	for i := range section {
		c, e := section.Edge(i)
		if gap, _, _ := geom.SegmentGapM(p, q, c, e); gap == 0 {
			return true
		}
	}
	return false
}

// between reports whether the straight line from a to b runs through region r;
// both ends are left out, so that a piece which touches the bar does not count.
func between(r geom.Region, a, b geom.Point) bool {
	const short = 1e-6
	d := b.Sub(a)
	a, b = a.Add(d.Scale(short)), b.Sub(d.Scale(short))
	for _, edges := range append([]geom.Polygon{r.Outer}, r.Holes...) {
		for i := range edges {
			c, e := edges.Edge(i)
			if gap, _, _ := geom.SegmentGapM(a, b, c, e); gap == 0 {
				return true
			}
		}
	}
	return false
}
