package mesh

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// curve is an edge of a loop, straight or an arc, with the positions along it where it is divided.
type curve struct {
	a, b    geom.Point
	arc     Arc     // RadiusM zero: straight
	fromRad float64 // angle of a seen from the centre
	spanRad float64 // signed, counter-clockwise positive
	lengthM float64
	cuts    []float64 // positions in metres from a, rising, both ends included
	edge    int
}

func newCurve(a, b geom.Point, arc Arc) curve {
	c := curve{a: a, b: b, arc: arc, lengthM: b.Sub(a).Norm()}
	if arc.RadiusM > 0 {
		u, v := a.Sub(arc.Centre), b.Sub(arc.Centre)
		c.fromRad = portable.Atan2(u.Y, u.X)
		c.spanRad = portable.Atan2(u.Cross(v), u.Dot(v))
		c.lengthM = arc.RadiusM * math.Abs(c.spanRad)
	}
	return c
}

// at returns the point sM metres along the curve and depthM metres to its left; positions beyond the ends
// continue the line or circle. Depths past the centre of an arc mean nothing.
func (c *curve) at(sM, depthM float64) geom.Point {
	if depthM == 0 {
		switch sM {
		case 0:
			return c.a
		case c.lengthM:
			return c.b
		}
	}
	if c.arc.RadiusM == 0 {
		u := c.b.Sub(c.a).Scale(1 / c.lengthM)
		return geom.Point{X: c.a.X + float64(sM*u.X) - float64(depthM*u.Y), Y: c.a.Y + float64(sM*u.Y) + float64(depthM*u.X)}
	}
	turn := math.Copysign(1, c.spanRad)
	sin, cos := portable.Sincos(c.fromRad + turn*sM/c.arc.RadiusM)
	r := c.radiusAt(depthM)
	return geom.Point{X: c.arc.Centre.X + float64(r*cos), Y: c.arc.Centre.Y + float64(r*sin)}
}

// radiusAt returns the radius, in metres, of the line depthM to the left of an arc.
func (c *curve) radiusAt(depthM float64) float64 {
	return c.arc.RadiusM - float64(math.Copysign(1, c.spanRad)*depthM)
}

// position returns how far along the curve, in metres, the foot of p lies; negative before its start.
func (c *curve) position(p geom.Point) float64 {
	if c.arc.RadiusM == 0 {
		return p.Sub(c.a).Dot(c.b.Sub(c.a)) / c.lengthM
	}
	u, v := c.a.Sub(c.arc.Centre), p.Sub(c.arc.Centre)
	return math.Copysign(1, c.spanRad) * portable.Atan2(u.Cross(v), u.Dot(v)) * c.arc.RadiusM
}

// tangent returns the unit direction of travel at position sM.
func (c *curve) tangent(sM float64) geom.Point {
	if c.arc.RadiusM == 0 {
		return c.b.Sub(c.a).Scale(1 / c.lengthM)
	}
	turn := math.Copysign(1, c.spanRad)
	sin, cos := portable.Sincos(c.fromRad + turn*sM/c.arc.RadiusM)
	return geom.Point{X: -turn * sin, Y: turn * cos}
}

// reversed returns the same curve travelled the other way.
func (c *curve) reversed() curve {
	r := newCurve(c.b, c.a, c.arc)
	r.edge = c.edge
	for i := len(c.cuts) - 1; i >= 0; i-- {
		r.cuts = append(r.cuts, c.lengthM-c.cuts[i])
	}
	if n := len(r.cuts); n > 0 {
		r.cuts[0], r.cuts[n-1] = 0, r.lengthM
	}
	return r
}

// loopCurves returns the edges of a loop, counter-clockwise, arcs divided evenly and at touching points.
func loopCurves(l *Loop, opt Options, touch [][]geom.Point) []curve {
	n := len(l.Points)
	out := make([]curve, 0, n)
	area := 0.0
	for i := range n {
		a, b := l.Points.Edge(i)
		if a == b {
			continue
		}
		c := newCurve(a, b, l.arc(i))
		c.edge = i
		c.cuts = []float64{0, c.lengthM}
		o := l.Points[0]
		area += a.Sub(o).Cross(b.Sub(o))
		if r := c.arc.RadiusM; r > 0 {
			area += float64(r * r * (c.spanRad - portable.Sin(c.spanRad))) // segment between chord and arc
			parts := math.Ceil(math.Abs(c.spanRad)/(opt.ArcStepDeg*math.Pi/180) - 1e-9)
			if l.MaxEdgeM > 0 {
				parts = math.Max(parts, math.Ceil(c.lengthM/l.MaxEdgeM-1e-9))
			}
			for _, lay := range []Layers{l.Inside, l.Outside} {
				// An arc over a flat row must bulge less than a fifth of the row, or quadratic triangles fold.
				if lay.FirstM > 0 && lay.Count > 0 {
					parts = math.Max(parts, math.Ceil(math.Abs(c.spanRad)/math.Sqrt(1.6*lay.FirstM/r)))
				}
				if lay.EdgeM > 0 {
					parts = math.Max(parts, math.Ceil(c.lengthM/lay.EdgeM-1e-9))
				}
			}
			parts = math.Min(math.Max(parts, 1), 1e5)
			for k := 1; k < int(parts); k++ {
				c.cuts = append(c.cuts, c.lengthM*float64(k)/parts)
			}
			for _, p := range touch[i] {
				c.cuts = append(c.cuts, c.position(p))
			}
			slices.Sort(c.cuts)
		}
		out = append(out, c)
	}
	if area >= 0 {
		return out
	}
	back := make([]curve, 0, len(out))
	for i := len(out) - 1; i >= 0; i-- {
		back = append(back, out[i].reversed())
	}
	return back
}

// arcTouches returns, for every edge of every loop, the points where its arc touches another edge without
// sharing a corner: they must become nodes, or the drawing would have gaps of no width.
func arcTouches(in *Input, tolM float64) [][][]geom.Point {
	type item struct {
		c    curve
		l, e int
	}
	var arcs, all []item
	out := make([][][]geom.Point, len(in.Loops))
	for i := range in.Loops {
		l := &in.Loops[i]
		out[i] = make([][]geom.Point, len(l.Points))
		for e := range l.Points {
			a, b := l.Points.Edge(e)
			if a == b {
				continue
			}
			it := item{newCurve(a, b, l.arc(e)), i, e}
			all = append(all, it)
			if it.c.arc.RadiusM > 0 {
				arcs = append(arcs, it)
			}
		}
	}
	for _, l := range in.Lines {
		if l.A != l.B {
			all = append(all, item{newCurve(l.A, l.B, Arc{}), -1, 0})
		}
	}
	inside := func(c *curve, p geom.Point) bool {
		s := c.position(p)
		return s > tolM && s < c.lengthM-tolM
	}
	for _, x := range arcs {
		for _, y := range all {
			var foot geom.Point
			if y.c.arc.RadiusM == 0 {
				u := y.c.tangent(0)
				s := x.c.arc.Centre.Sub(y.c.a).Dot(u)
				if s < 0 || s > y.c.lengthM {
					continue
				}
				foot = y.c.a.Add(u.Scale(s))
			} else {
				to := y.c.arc.Centre.Sub(x.c.arc.Centre)
				dist := to.Norm()
				rx, ry := x.c.arc.RadiusM, y.c.arc.RadiusM
				switch {
				case dist <= tolM: // concentric: corners are handled where they lie
					continue
				case math.Abs(dist-rx-ry) <= tolM || (rx > ry && math.Abs(dist+ry-rx) <= tolM):
					foot = x.c.arc.Centre.Add(to.Scale(rx / dist))
				case ry > rx && math.Abs(dist+rx-ry) <= tolM:
					foot = x.c.arc.Centre.Add(to.Scale(-rx / dist))
				default:
					continue
				}
				if s := y.c.position(foot); s < 0 || s > y.c.lengthM {
					continue
				}
			}
			if math.Abs(foot.Sub(x.c.arc.Centre).Norm()-x.c.arc.RadiusM) <= tolM && inside(&x.c, foot) {
				out[x.l][x.e] = append(out[x.l][x.e], foot)
			}
		}
	}
	return out
}

// clearArcs divides pieces of arcs until no point of the drawing lies between an arc and its chord, so that
// later pieces of the arc can take the place of the chord without running over anything.
func (d *drawing) clearArcs() error {
	order := make([]int32, len(d.pts))
	for i := range order {
		order[i] = int32(i)
	}
	byX := func(i, j int32) int {
		switch p, q := d.pts[i], d.pts[j]; {
		case p.X < q.X:
			return -1
		case p.X > q.X:
			return 1
		}
		return int(i) - int(j)
	}
	slices.SortFunc(order, byX)
	for i := 0; i < len(d.strokes); i++ {
		for range 24 { // an arc of 15° is then below a millionth of a degree
			s := &d.strokes[i]
			if s.arc < 0 {
				break
			}
			p, ok := d.pointInLens(s, order)
			if !ok {
				break
			}
			arc := d.arcs[s.arc]
			m := int32(-1)
			if math.Abs(d.pts[p].Sub(arc.Centre).Norm()-arc.RadiusM) <= d.tolM {
				m = p
			} else if m = d.point(arcMiddle(arc, d.pts[s.a], d.pts[s.b])); int(m) == len(d.pts)-1 {
				at, _ := slices.BinarySearchFunc(order, m, byX)
				order = slices.Insert(order, at, m)
			}
			if m == s.a || m == s.b {
				break
			}
			rest := *s
			rest.a, s.b = m, m
			d.strokes = append(d.strokes, rest)
			if s.owner < 0 && s.ref.Loop >= 0 {
				d.splitOutline(s.ref.Loop, s.a, rest.b, m)
			}
		}
	}
	return nil
}

// splitOutline puts m between neighbouring points a and b of a loop.
func (d *drawing) splitOutline(loop int, a, b, m int32) {
	o := d.outline[loop]
	for i := range o {
		j := (i + 1) % len(o)
		if (o[i] == a && o[j] == b) || (o[i] == b && o[j] == a) {
			d.outline[loop] = slices.Insert(o, i+1, m)
			return
		}
	}
}

// pointInLens returns the first point, from the left, strictly between the arc of a stroke and its chord
// or on the arc.
func (d *drawing) pointInLens(s *stroke, order []int32) (int32, bool) {
	a, b := d.pts[s.a], d.pts[s.b]
	arc := d.arcs[s.arc]
	m := arcMiddle(arc, a, b)
	box := geom.EmptyBox().Extend(a).Extend(b).Extend(m)
	bulge := m.Sub(a.Add(b).Scale(0.5))
	box = box.Join(geom.EmptyBox().Extend(a.Add(bulge)).Extend(b.Add(bulge))).Grow(d.tolM)
	first, _ := slices.BinarySearchFunc(order, box.Min.X, func(i int32, x float64) int {
		if d.pts[i].X < x {
			return -1
		}
		return 1
	})
	side := b.Sub(a).Cross(m.Sub(a))
	for _, i := range order[first:] {
		p := d.pts[i]
		if p.X > box.Max.X {
			break
		}
		if i == s.a || i == s.b || p.Y < box.Min.Y || p.Y > box.Max.Y {
			continue
		}
		if b.Sub(a).Cross(p.Sub(a))*side > 0 && p.Sub(arc.Centre).Norm() <= arc.RadiusM+d.tolM {
			return i, true
		}
	}
	return -1, false
}

// arcMiddle returns the point of the arc half-way between a and b.
func arcMiddle(arc Arc, a, b geom.Point) geom.Point {
	u := geom.Point{X: (a.X - arc.Centre.X) + (b.X - arc.Centre.X), Y: (a.Y - arc.Centre.Y) + (b.Y - arc.Centre.Y)}
	f := arc.RadiusM / math.Sqrt(float64(u.X*u.X)+float64(u.Y*u.Y))
	return geom.Point{X: arc.Centre.X + float64(u.X*f), Y: arc.Centre.Y + float64(u.Y*f)}
}
