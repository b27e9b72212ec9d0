package layout

import "busgauss/model/geom"

// DistanceM returns the distance from p to the surface of bar b, 0 inside, in metres.
func (b *Bar) DistanceM(p geom.Point) float64 {
	if b.Section.Kind == Round {
		return max(0, p.Sub(b.At.Point()).Norm()-b.Section.DiameterM.V/2)
	}
	return b.Polygon().DistanceM(p)
}

// Outward returns the unit vector along which s moves straight away from its
// bar: from the nearest point of the bar's surface to the sensor's place; from
// the bar's centre when the sensor stands on or inside the surface.
func (l *Layout) Outward(s *Sensor) geom.Point { return l.Bars[s.Reads].awayFrom(s.At.Point()) }

// awayFrom is Outward for any place p.
func (b *Bar) awayFrom(p geom.Point) geom.Point {
	const small = 1e-9
	if d := b.DistanceM(p); d > small {
		// The gradient of the distance, by differences: exact for the straight
		// faces and arcs that a section is made of.
		h := d * 1e-4
		g := geom.Point{
			X: b.DistanceM(p.Add(geom.Point{X: h})) - b.DistanceM(p.Sub(geom.Point{X: h})),
			Y: b.DistanceM(p.Add(geom.Point{Y: h})) - b.DistanceM(p.Sub(geom.Point{Y: h})),
		}
		if n := g.Norm(); n > 0 {
			return g.Scale(1 / n)
		}
	}
	r := p.Sub(b.Centre())
	if n := r.Norm(); n > 0 {
		return r.Scale(1 / n)
	}
	return geom.Point{Y: 1}
}
