package space

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// plateau is a block over a polygon of the x-y plane, evenly magnetised along z:
// the same as a current round its rim. Its corners are counter-clockwise.
type plateau struct {
	corners []geom.Point
	edges   []plateauEdge // edge i from corner i
	height  float64       // share of the magnetisation
}

type plateauEdge struct {
	unit, out geom.Point
	lengthM   float64
}

func newPlateau(corners geom.Polygon, height float64) plateau {
	p := plateau{corners: corners, height: height}
	for i := range corners {
		a, b := corners.Edge(i)
		d := b.Sub(a)
		l := d.Norm()
		u := d.Scale(1 / l)
		p.edges = append(p.edges, plateauEdge{u, geom.Point{X: u.Y, Y: -u.X}, l})
	}
	return p
}

// b returns the flux density at r of the block from z = −half to half, in units of
// μ0/4π times the magnetisation: the field of its two charged faces
// (closedform.Face), and 4π inside. r lies in the plane of neither face. On a vertical edge
// the infinite term is left out.
func (p *plateau) b(r geom.Point3, halfM float64) geom.Point3 {
	top, bottom := p.face(r, halfM), p.face(r, -halfM)
	v := top.Sub(bottom)
	if math.Abs(r.Z) < halfM && geom.Polygon(p.corners).Contains(r.XY()) {
		v.Z += 4 * math.Pi
	}
	return v
}

// face returns ∫ (r−r')/|r−r'|³ dS over the polygon at height z, as closedform.Face.
func (p *plateau) face(r geom.Point3, z float64) geom.Point3 {
	n := len(p.corners)
	h := math.Abs(r.Z - z)
	a := p.corners[0].Sub(r.XY())
	ra := math.Sqrt(a.Dot(a) + float64(h*h))
	var out geom.Point3
	beta := complex(1, 0)
	for i := range p.edges {
		e := &p.edges[i]
		b := p.corners[(i+1)%n].Sub(r.XY())
		rb := math.Sqrt(b.Dot(b) + float64(h*h))
		la := a.Dot(e.unit)
		lb := la + e.lengthM
		t := a.Dot(e.out)
		far := float64(t*t) + float64(h*h)
		var l float64
		switch {
		case la >= 0:
			l = (rb + lb) / (ra + la)
		case lb <= 0:
			l = (ra - la) / (rb - lb)
		default:
			l = (rb + lb) * (ra - la) / far
		}
		if l > 0 && !math.IsInf(l, 0) { // else on the edge
			l = portable.Log(l)
			out.X += float64(e.out.X * l)
			out.Y += float64(e.out.Y * l)
		}
		if t != 0 {
			xb, yb, xa, ya := far+float64(h*rb), t*lb, far+float64(h*ra), t*la
			size := (math.Abs(xa) + math.Abs(ya)) * (math.Abs(xb) + math.Abs(yb))
			beta = portable.Times(beta, complex((float64(xa*xb)+float64(ya*yb))/size, (float64(xa*yb)-float64(ya*xb))/size))
		}
		a, ra = b, rb
	}
	out.Z = math.Copysign(fullAngle(beta), r.Z-z)
	return out
}

// fullAngle returns the argument of a product of half planes' numbers whose true sum lies
// between 0 and 2π.
func fullAngle(product complex128) float64 {
	angle := portable.Atan2(imag(product), real(product))
	if angle < -1e-9 { // below 0 by rounding only, or above π
		angle += 2 * math.Pi
	}
	return angle
}
