package eddy

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// shape is a cell as a polyhedron, its faces planar: those of a hexahedron whose sides
// are planar, else two triangles a side.
type shape struct {
	corners [8]geom.Point3
	edges   []shapeEdge
	faces   []shapeFace
}

type shapeEdge struct {
	a, b    int8
	unit    geom.Point3
	lengthM float64
}

type shapeFace struct {
	normal geom.Point3 // unit, outwards
	first  int8        // a corner of it
	edges  []faceEdge
}

type faceEdge struct {
	edge int8
	out  geom.Point3 // unit, in the face, away from it across the edge
}

// sideLoops are the corners of the sides of a hexahedron, counter-clockwise seen from
// outside. Corner i + 2j + 4k lies at (i, j, k) of the reference cube.
var sideLoops = [6][4]int8{
	{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6},
}

const flatWithin = 1e-9 // of the size of a side: how far its corners may lie off a plane

func newShape(c *[8]geom.Point3) *shape {
	s := &shape{corners: *c}
	for _, q := range sideLoops {
		d, e := c[q[2]].Sub(c[q[0]]), c[q[3]].Sub(c[q[1]])
		n := d.Cross(e)
		off := n.Dot(c[q[1]].Sub(c[q[0]]))
		if math.Abs(off) <= flatWithin*n.Norm()*d.Norm() {
			s.addFace(q[:])
			continue
		}
		s.addFace([]int8{q[0], q[1], q[2]})
		s.addFace([]int8{q[0], q[2], q[3]})
	}
	return s
}

func (s *shape) addFace(loop []int8) {
	var n geom.Point3
	a := s.corners[loop[0]]
	for i := 1; i+1 < len(loop); i++ {
		n = n.Add(s.corners[loop[i]].Sub(a).Cross(s.corners[loop[i+1]].Sub(a)))
	}
	n = n.Scale(1 / n.Norm())
	f := shapeFace{normal: n, first: loop[0]}
	for i, from := range loop {
		to := loop[(i+1)%len(loop)]
		k := s.edge(min(from, to), max(from, to))
		d := s.corners[to].Sub(s.corners[from])
		f.edges = append(f.edges, faceEdge{k, d.Scale(1 / d.Norm()).Cross(n)})
	}
	s.faces = append(s.faces, f)
}

func (s *shape) edge(a, b int8) int8 {
	for k := range s.edges {
		if s.edges[k].a == a && s.edges[k].b == b {
			return int8(k)
		}
	}
	d := s.corners[b].Sub(s.corners[a])
	l := d.Norm()
	s.edges = append(s.edges, shapeEdge{a, b, d.Scale(1 / l), l})
	return int8(len(s.edges) - 1)
}

// integrals returns, for a point r anywhere,
//
//	potential = ∫ dV'/|r−r'|        m²
//	surface   = ∮ n dS'/|r−r'|      m, which is −∇ potential
//
// A uniform current density J in the cell has A = (μ0/4π) J potential and
// B = (μ0/4π) J × surface. The first is half the sum of the face integrals times
// the distances of the faces, since div((r'−r)/|r'−r|) = 2/|r'−r|.
//
// Source of the face integral: D. R. Wilton et al., IEEE Trans. Antennas Propag. 32
// (1984) 276-281, as in closedform.Face; here an edge's logarithm serves both its faces.
func (s *shape) integrals(r geom.Point3) (potentialM2 float64, surfaceM geom.Point3) {
	var rel [8]geom.Point3
	var dist [8]float64
	var la, lb, logs [18]float64
	for i, c := range s.corners {
		v := c.Sub(r)
		rel[i], dist[i] = v, math.Sqrt(v.Dot(v))
	}
	for k := range s.edges {
		e := &s.edges[k]
		la[k] = rel[e.a].Dot(e.unit)
		lb[k] = la[k] + e.lengthM
		logs[k] = e.log(rel[e.a], la[k], lb[k], dist[e.a], dist[e.b])
	}
	for i := range s.faces {
		f := &s.faces[i]
		height := f.normal.Dot(rel[f.first])
		h := math.Abs(height)
		pot := 0.0
		x, y := 1.0, 0.0
		for _, g := range f.edges {
			e := &s.edges[g.edge]
			t := g.out.Dot(rel[e.a])
			pot += float64(t * logs[g.edge])
			if h == 0 || t == 0 {
				continue
			}
			x, y = turned(x, y, h, t, dist[e.a], dist[e.b], la[g.edge], lb[g.edge])
		}
		if h != 0 {
			pot -= float64(h * wholeAngle(x, y))
		}
		potentialM2 += height * pot / 2
		surfaceM = surfaceM.Add(f.normal.Scale(pot))
	}
	return potentialM2, surfaceM
}

// log returns ln((R⁺+l⁺)/(R⁻+l⁻)) of an edge; 0 on the edge, where it is wanted times 0.
func (e *shapeEdge) log(a geom.Point3, la, lb, ra, rb float64) float64 {
	switch {
	case la >= 0:
		if ra+la > 0 {
			return portable.Log((rb + lb) / (ra + la))
		}
	case lb <= 0:
		if rb-lb > 0 {
			return portable.Log((ra - la) / (rb - lb))
		}
	default:
		c := a.Cross(e.unit)
		if d2 := c.Dot(c); d2 > 1e-30*e.lengthM*e.lengthM {
			return portable.Log((rb + lb) * (ra - la) / d2)
		}
	}
	return 0
}

// turned turns (x, y) by the angle at which a point h beside the plane of a face and t within the line of an edge sees that
// edge, whose ends are da and db away and la and lb along it. Products of directions stand for sums of angles, so that one
// arc tangent serves a face.
func turned(x, y, h, t, da, db, la, lb float64) (float64, float64) {
	w := float64(t*t) + float64(h*h)
	xb, xa := w+float64(h*db), w+float64(h*da)
	yb, ya := t*lb, t*la
	size := (math.Abs(xa) + math.Abs(ya)) * (math.Abs(xb) + math.Abs(yb))
	u, v := (float64(xa*xb)+float64(ya*yb))/size, (float64(xa*yb)-float64(ya*xb))/size
	return float64(x*u) - float64(y*v), float64(x*v) + float64(y*u)
}

// wholeAngle returns the angle of (x, y) from 0 to a whole turn; round-off below 0 stays.
func wholeAngle(x, y float64) float64 {
	beta := portable.Atan2(y, x)
	if beta < -1e-9 {
		beta += 2 * math.Pi
	}
	return beta
}
