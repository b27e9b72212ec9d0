package layout

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// HasBody reports whether the part of s declares its whole body.
func (l *Layout) HasBody(s *Sensor) bool {
	p := l.PartOf(s)
	return p != nil && p.BodyWidthM.Set && p.BodyHeightM.Set && p.BodyElementHeightM.Set
}

// BodyLacks returns the keys of the body that the part of s leaves out where it gives
// some of them; nothing for a whole body and for none at all.
func (l *Layout) BodyLacks(s *Sensor) []string {
	p := l.PartOf(s)
	if p == nil {
		return nil
	}
	var out []string
	for _, n := range []struct {
		key string
		num Num
	}{{"width", p.BodyWidthM}, {"height", p.BodyHeightM}, {"element-height", p.BodyElementHeightM}} {
		if !n.num.Set {
			out = append(out, n.key)
		}
	}
	if len(out) == 3 {
		return nil
	}
	return out
}

// Feet returns the points of the body of s that lie straight between its elements and
// the side that faces the bar; nothing where the part does not say how far that is.
func (l *Layout) Feet(s *Sensor) []geom.Point3 {
	p := l.PartOf(s)
	if p == nil || !p.BodyElementHeightM.Set {
		return nil
	}
	var out []geom.Point3
	for _, e := range s.Elements() {
		at := e.At.XY()
		out = append(out, at.Sub(l.bodyUp(s, e).Scale(p.BodyElementHeightM.V)).Space(e.At.Z))
	}
	return out
}

// Bodies returns the body round each element of s where its part declares one whole:
// a box, height along the direction away from the bar, width across it and along z. Its
// sides lie along and across the sensitive direction in the plane, as a body is mounted;
// of the four ways the height is the one nearest to straight away from the bar. The element
// stands at its height above the side that faces the bar. Width is taken both ways, so it
// is to be the longer side of the footprint.
//
// With placement the boxes are those of all places and turns that s may have: the hull
// of the body shifted by ±x, ±y, ±z and turned by ±tilt about the place of s, and a box round what
// yaw makes of it. The hull is at most
// r(1/cos(tilt) - 1) larger than what a corner at r sweeps.
func (l *Layout) Bodies(s *Sensor, placement bool) []Piece {
	if !l.HasBody(s) {
		return nil
	}
	size := l.PartOf(s)
	reach := l.reachM()
	var out []Piece
	for _, e := range s.Elements() {
		up := l.bodyUp(s, e)
		side := geom.Point{X: -up.Y, Y: up.X}.Scale(size.BodyWidthM.V / 2)
		low := e.At.XY().Sub(up.Scale(size.BodyElementHeightM.V))
		high := low.Add(up.Scale(size.BodyHeightM.V))
		corners := []geom.Point{low.Sub(side), low.Add(side), high.Add(side), high.Sub(side)}
		z, half := e.At.Z, size.BodyWidthM.V/2
		if placement && s.Placement != nil {
			corners, half = s.Placement.yawed(s.At.Point(), corners, half)
			corners = s.Placement.swept(s.At.Point(), corners)
		}
		p := Piece{Word: "the body of sensor", ID: s.ID, Span: s.At.Span, Section: geom.Solid(geom.Hull(corners)),
			LowM: z - half, HighM: z + half}
		p.parts = []part{uprightPart(&p, reach)}
		out = append(out, p)
	}
	return out
}

// bodyUp returns the unit vector of the height of the body round e.
func (l *Layout) bodyUp(s *Sensor, e Element) geom.Point {
	away := l.Bars[s.Reads].awayFrom(e.At.XY())
	u := geom.Point{X: e.U.X, Y: e.U.Y}
	const alongZ = 1e-9
	size := u.Norm()
	if size < alongZ { // read along z: nothing says how the body is turned
		return away
	}
	u = u.Scale(1 / size)
	best := u
	for _, v := range []geom.Point{{X: -u.Y, Y: u.X}, u.Scale(-1), {X: u.Y, Y: -u.X}} {
		const equal = 1e-9
		if v.Dot(away) > best.Dot(away)+equal {
			best = v
		}
	}
	return best
}

// yawed returns corners and half the height along z of a box that holds the body, z
// tolerance counted, when it turns out of the plane about any direction in it by up to the yaw.
func (p *Placement) yawed(centre geom.Point, corners []geom.Point, halfM float64) ([]geom.Point, float64) {
	yaw, far := math.Min(math.Pi/2, math.Abs(given0(p.YawRad))), 0.0
	if yaw == 0 {
		return corners, halfM + given0(p.ZM)
	}
	var out []geom.Point
	for _, c := range corners {
		far = math.Max(far, c.Sub(centre).Norm())
		for _, d := range []geom.Point{{X: 1, Y: 1}, {X: -1, Y: 1}, {X: 1, Y: -1}, {X: -1, Y: -1}} {
			out = append(out, c.Add(d.Scale(halfM*portable.Sin(yaw))))
		}
	}
	return out, halfM + float64(far*portable.Sin(yaw)) + given0(p.ZM)
}

// swept returns points whose hull holds all places that the corners take when they
// are turned about centre by up to ±tilt and then shifted by up to ±x, ±y.
func (p *Placement) swept(centre geom.Point, corners []geom.Point) []geom.Point {
	x, y, tilt := given0(p.XM), given0(p.YM), math.Abs(given0(p.TiltRad))
	var turned []geom.Point
	for _, c := range corners {
		d := c.Sub(centre)
		const most = 1.0 // rad; beyond it the whole circle
		switch {
		case tilt == 0:
			turned = append(turned, c)
		case tilt > most:
			r := d.Norm()
			turned = append(turned, centre.Add(geom.Point{X: r, Y: r}), centre.Add(geom.Point{X: -r, Y: r}),
				centre.Add(geom.Point{X: r, Y: -r}), centre.Add(geom.Point{X: -r, Y: -r}))
		default: // the arc and the two tangents at its ends
			turned = append(turned, centre.Add(d.Rotate(tilt)), centre.Add(d.Rotate(-tilt)),
				centre.Add(d.Scale(1/portable.Cos(tilt))))
		}
	}
	if x == 0 && y == 0 {
		return turned
	}
	var out []geom.Point
	for _, c := range turned {
		for _, d := range []geom.Point{{X: x, Y: y}, {X: -x, Y: y}, {X: x, Y: -y}, {X: -x, Y: -y}} {
			out = append(out, c.Add(d))
		}
	}
	return out
}

// places returns where the corners stand in the outermost places that the tolerances
// allow.
func (p *Placement) places(centre geom.Point, corners []geom.Point) []geom.Point {
	x, y, tilt := given0(p.XM), given0(p.YM), given0(p.TiltRad)
	var out []geom.Point
	for _, c := range corners {
		for _, turn := range []float64{-tilt, 0, tilt} {
			at := centre.Add(c.Sub(centre).Rotate(turn))
			for _, d := range []geom.Point{{X: x, Y: y}, {X: -x, Y: y}, {X: x, Y: -y}, {X: -x, Y: -y}} {
				out = append(out, at.Add(d))
			}
		}
	}
	return out
}

// given0 returns a number that is 0 where the file does not say it.
func given0(n Num) float64 {
	if n.Set {
		return n.V
	}
	return 0
}
