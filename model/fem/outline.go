package fem

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// outline is the boundary of a piece as edges with the material on their left.
// Circles are 72 chords here: this serves sizes and wall stations, not the mesh.
type outline struct {
	a, b   []geom.Point
	corner []bool // edge i starts at a corner of the drawing
	box    geom.Box
	wallM  float64 // smallest chord, the local thickness
	walls  []station
}

// station is a chord across a wall, from face to face along the inward normal.
type station struct {
	a, b    geom.Point
	lengthM float64
}

const (
	cornerTurnRad  = 20 * math.Pi / 180
	circleChords   = 72
	maxStations    = 240
	wallShare      = 0.5 // distance of stations in wall thicknesses
	smallestPieces = 2   // stations an edge, at least
)

func newOutline(c *Piece) *outline {
	o := &outline{box: geom.EmptyBox()}
	add := func(p geom.Polygon, ccw bool) {
		if (p.SignedAreaM2() > 0) != ccw {
			r := make(geom.Polygon, len(p))
			for i := range p {
				r[len(p)-1-i] = p[i]
			}
			p = r
		}
		n := len(p)
		for i := range p {
			if p[i] == p[(i+1)%n] {
				continue
			}
			u, v := p[i].Sub(p[(i+n-1)%n]), p[(i+1)%n].Sub(p[i])
			o.a, o.b = append(o.a, p[i]), append(o.b, p[(i+1)%n])
			o.corner = append(o.corner, math.Abs(portable.Atan2(u.Cross(v), u.Dot(v))) > cornerTurnRad)
			o.box = o.box.Extend(p[i])
		}
	}
	switch r := c.Round; {
	case r != nil && r.SlitM > 0:
		add(geom.Ring(2*r.InnerM, r.OuterM-r.InnerM, r.SlitM, circleChords).Place(r.Centre, r.TurnRad).Outer, true)
	case r != nil:
		add(geom.Circle(r.OuterM, circleChords).Place(r.Centre, 0), true)
		if r.InnerM > 0 {
			add(geom.Circle(r.InnerM, circleChords).Place(r.Centre, 0), false)
		}
	default:
		add(c.Region.Outer, true)
		for _, h := range c.Region.Holes {
			add(h, false)
		}
	}
	if c.Round != nil {
		o.roundWalls(c.Round)
	} else {
		o.findWalls()
	}
	return o
}

// roundWalls sets the radial stations of a ring, or the diameters of a solid round.
func (o *outline) roundWalls(r *Round) {
	o.wallM = r.OuterM - r.InnerM
	inner, sweep := r.InnerM, 2*math.Pi
	if inner == 0 {
		inner, sweep, o.wallM = -r.OuterM, math.Pi, 2*r.OuterM
	}
	const n = 48
	for i := range n {
		u := geom.Point{X: 1}.Rotate(sweep * float64(i) / n)
		if r.SlitM > 0 && slitNear(r, u) {
			continue
		}
		o.walls = append(o.walls, station{r.Centre.Add(u.Scale(r.OuterM)), r.Centre.Add(u.Scale(inner)), o.wallM})
	}
}

// slitNear reports whether the slit of r cuts the radial station in direction u.
func slitNear(r *Round, u geom.Point) bool {
	return r.inSlit(r.Centre.Add(u.Scale(r.InnerM))) || r.inSlit(r.Centre.Add(u.Scale(r.OuterM)))
}

// findWalls sets the thickness and the stations.
func (o *outline) findWalls() {
	perimeter := 0.0
	o.wallM = math.Inf(1)
	for i := range o.a {
		perimeter += o.b[i].Sub(o.a[i]).Norm()
		for _, f := range []float64{0.25, 0.5, 0.75} {
			if s, ok := o.chord(i, f); ok {
				o.wallM = math.Min(o.wallM, s.lengthM)
			}
		}
	}
	step := math.Max(wallShare*o.wallM, perimeter/maxStations)
	for i := range o.a {
		n := max(smallestPieces, int(o.b[i].Sub(o.a[i]).Norm()/step))
		if len(o.a) > circleChords/2 {
			n = 1
		}
		for k := range n {
			if s, ok := o.chord(i, (float64(k)+0.5)/float64(n)); ok {
				o.walls = append(o.walls, s)
			}
		}
	}
}

// chord returns the chord that starts at the share f of edge i.
func (o *outline) chord(i int, f float64) (station, bool) {
	d := o.b[i].Sub(o.a[i])
	p := o.a[i].Add(d.Scale(f))
	u := d.Scale(1 / d.Norm())
	normal := geom.Point{X: -u.Y, Y: u.X}
	best := math.Inf(1)
	for j := range o.a {
		if j == i {
			continue
		}
		a, b := o.a[j].Sub(p), o.b[j].Sub(p)
		sa, sb := normal.Cross(a), normal.Cross(b)
		if (sa > 0) == (sb > 0) {
			continue
		}
		g := sa / (sa - sb)
		if depth := normal.Dot(a.Add(b.Sub(a).Scale(g))); depth > 1e-9*d.Norm() && depth < best {
			best = depth
		}
	}
	return station{p, p.Add(normal.Scale(best)), best}, !math.IsInf(best, 1)
}

// distanceM returns the distance from q to the nearest edge and to the nearest
// corner.
func (o *outline) distanceM(q geom.Point) (edgeM, cornerM float64) {
	e2, c2 := math.Inf(1), math.Inf(1)
	for i := range o.a {
		d, v := o.b[i].Sub(o.a[i]), q.Sub(o.a[i])
		f := math.Min(math.Max(v.Dot(d)/d.Dot(d), 0), 1)
		w := v.Sub(d.Scale(f))
		e2 = math.Min(e2, w.Dot(w))
		if o.corner[i] {
			c2 = math.Min(c2, v.Dot(v))
		}
	}
	return math.Sqrt(e2), math.Sqrt(c2)
}

// boxDistanceM returns the distance from q to a box, 0 inside.
func boxDistanceM(b geom.Box, q geom.Point) float64 {
	dx := math.Max(0, math.Max(b.Min.X-q.X, q.X-b.Max.X))
	dy := math.Max(0, math.Max(b.Min.Y-q.Y, q.Y-b.Max.Y))
	return portable.Hypot(dx, dy)
}
