package space

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// mu0Over4Pi is μ0/4π in T·m/A.
const mu0Over4Pi = si.Mu0HPerM / (4 * math.Pi)

// polyhedron is a prism of any section, its ends cut by planes, with an even
// current density along it, one ampere in all. With n the outward normals of its
// faces, R the distance from the point of the field and J = e/area along it:
//
//	B = (μ0/4π) J × Σ n ∫ dS/R
//
// since ∇'(1/R) = (r−r')/R³ and the integral of a gradient over a volume is that
// over its surface. ∫ dS/R is that of closedform.Face, written here so that the
// logarithm of an edge serves both its faces and the angles of a face are added as
// the argument of one product:
//
//	∫ dS/R = Σ t L − |h| β
//	L = ln((R⁺+l⁺)/(R⁻+l⁻)) of an edge, t its distance from the foot of the point
//	β = arg Π (t²+h²+|h|R⁺ + i t l⁺)(t²+h²+|h|R⁻ − i t l⁻), the solid angle, 0 to 2π
//
// Faces square to the current drop out. Exact everywhere: outside, inside, on
// faces and on edges.
//
// Source: D. R. Wilton et al., IEEE Trans. Antennas Propag. 32 (1984) 276-281.
type polyhedron struct {
	along   geom.Point3
	perM2   float64 // current density per ampere
	corners []geom.Point3
	edges   []polyEdge
	faces   []polyFace
}

type polyEdge struct {
	a, b    int // corners
	unit    geom.Point3
	lengthM float64
}

type polyFace struct {
	normal geom.Point3 // unit, outwards
	turn   geom.Point3 // along × normal
	loop   []int       // corners, counter-clockwise seen from outside
	edges  []faceEdge
}

type faceEdge struct {
	edge int
	out  geom.Point3 // unit, in the face, away from it across the edge
}

// newPolyhedron returns the prism of leg l over a section of the given area, its
// corners counter-clockwise.
func newPolyhedron(l *layout.Leg, section geom.Polygon, areaM2 float64) *polyhedron {
	n := len(section)
	p := &polyhedron{along: l.Along, perM2: 1 / areaM2, corners: make([]geom.Point3, 2*n)}
	for i, c := range section {
		p.corners[i], p.corners[n+i] = l.Edge(c)
	}
	from, to := make([]int, n), make([]int, n)
	for i := range n {
		from[i], to[i] = n-1-i, n+i
	}
	for i := range n {
		j := (i + 1) % n
		p.edges = append(p.edges, p.edge(i, j), p.edge(n+i, n+j), p.edge(i, n+i))
	}
	for i := range n {
		j := (i + 1) % n
		p.addFace([]int{i, j, n + j, n + i}, []int{3 * i, 3*j + 2, 3*i + 1, 3*i + 2})
	}
	ends := [2][]int{}
	for i := range n {
		ends[0] = append(ends[0], 3*i)
		ends[1] = append(ends[1], 3*i+1)
	}
	p.addFace(from, ends[0])
	p.addFace(to, ends[1])
	return p
}

func (p *polyhedron) edge(a, b int) polyEdge {
	d := p.corners[b].Sub(p.corners[a])
	length := d.Norm()
	e := polyEdge{a: a, b: b, lengthM: length}
	if length > 0 {
		e.unit = d.Scale(1 / length)
	}
	return e
}

// addFace keeps a face unless it is square to the current or has no area.
func (p *polyhedron) addFace(loop, edges []int) {
	var n geom.Point3
	a := p.corners[loop[0]]
	size := 0.0
	for i := 1; i+1 < len(loop); i++ {
		u, v := p.corners[loop[i]].Sub(a), p.corners[loop[i+1]].Sub(a)
		n = n.Add(u.Cross(v))
		size += float64(u.Norm() * v.Norm())
	}
	area := n.Norm()
	if !(area > 1e-13*size) {
		return
	}
	n = n.Scale(1 / area)
	f := polyFace{normal: n, turn: p.along.Cross(n), loop: loop}
	if f.turn.Norm() < 1e-14 {
		return
	}
	for _, k := range edges {
		e := &p.edges[k]
		if e.lengthM == 0 {
			continue
		}
		out := e.unit.Cross(n)
		// Away from the face: the loop runs along the edge or against it.
		for i, c := range loop {
			if next := loop[(i+1)%len(loop)]; c == e.b && next == e.a {
				out = out.Scale(-1)
			}
		}
		f.edges = append(f.edges, faceEdge{k, out})
	}
	p.faces = append(p.faces, f)
}

// b returns the field at r in T/A and a bound of its rounding.
func (p *polyhedron) b(r geom.Point3) (geom.Point3, float64) {
	var roomRel [16]geom.Point3
	var roomDist [16]float64
	var roomSeen [24]seenEdge
	rel, dist, seen := roomRel[:0], roomDist[:0], roomSeen[:0]
	reach := 0.0
	for _, c := range p.corners {
		v := c.Sub(r)
		d := math.Sqrt(v.Dot(v))
		rel, dist = append(rel, v), append(dist, d)
		reach = max(reach, d)
	}
	for i := range p.edges {
		e := &p.edges[i]
		seen = append(seen, e.seen(rel[e.a], dist[e.a], dist[e.b]))
	}
	var sum geom.Point3
	for i := range p.faces {
		f := &p.faces[i]
		pot := 0.0
		h := math.Abs(f.normal.Dot(rel[f.loop[0]]))
		beta := complex(1, 0)
		for _, k := range f.edges {
			e, s := &p.edges[k.edge], &seen[k.edge]
			t := k.out.Dot(rel[e.a])
			pot += float64(t * s.log)
			if h == 0 || t == 0 {
				continue
			}
			x := float64(t*t) + float64(h*h)
			xb, xa := x+float64(h*dist[e.b]), x+float64(h*dist[e.a])
			yb, ya := t*s.lb, t*s.la
			size := (math.Abs(xa) + math.Abs(ya)) * (math.Abs(xb) + math.Abs(yb))
			beta = portable.Times(beta, complex((float64(xa*xb)+float64(ya*yb))/size, (float64(xa*yb)-float64(ya*xb))/size))
		}
		if h != 0 {
			pot -= float64(h * fullAngle(beta))
		}
		sum = sum.Add(f.turn.Scale(pot))
	}
	k := mu0Over4Pi * p.perM2
	return sum.Scale(k), k * 4e-15 * reach * float64(len(p.faces))
}

// seenEdge is an edge as seen from the point: where its ends lie along it, and L.
type seenEdge struct{ la, lb, log float64 }

// seen looks at an edge that begins at a. On the edge itself t L goes to 0, so L is
// given as 0.
func (e *polyEdge) seen(a geom.Point3, ra, rb float64) seenEdge {
	la := a.Dot(e.unit)
	lb := la + e.lengthM
	s := seenEdge{la: la, lb: lb}
	switch {
	case la >= 0:
		if ra+la > 0 {
			s.log = portable.Log((rb + lb) / (ra + la))
		}
	case lb <= 0:
		if rb-lb > 0 {
			s.log = portable.Log((ra - la) / (rb - lb))
		}
	default:
		// Beside the edge (R⁻+l⁻)(R⁻−l⁻) is the square of the distance from it.
		c := a.Cross(e.unit)
		if d2 := c.Dot(c); d2 > 1e-30*e.lengthM*e.lengthM {
			s.log = portable.Log((rb + lb) * (ra - la) / d2)
		}
	}
	return s
}
