package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// PolygonB returns the flux density in tesla at p of an infinitely long bar
// whose section is the simple polygon poly, with currentA spread evenly over it.
// With z = x + iy, a and b the corners of an edge as seen from p, d = b − a,
// J = I/area:
//
//	By + i Bx = −(μ0 J/2π) Σ (a × b)/d · ln(b/a)
//
// The area integral of 1/(z − z') becomes this sum of edges by Green's theorem:
// it is −(1/2i)∮ (ζ̄/ζ) dζ with ζ = z' − z, and ζ̄ is linear in ζ along an edge.
//
// Exact outside, inside, on edges and on corners; the order of the corners (clockwise
// or not) does not matter. Beyond farRatio radii from the centroid the
// series of complex moments is summed to the last digit instead, because the sum
// of edges loses as many digits as the distance is longer than the section is
// thin. Relative error anywhere below 1e-15·(largest extent)²/area, or 1e-13 where
// that is larger.
// Fewer than three corners or no area gives NaN; a polygon that crosses itself
// gives a number without meaning.
//
// Source: derived above; checked against RectangleB, CircleB and quadrature.
func PolygonB(p geom.Point, poly geom.Polygon, currentA float64) geom.Point {
	area := poly.SignedAreaM2()
	if len(poly) < 3 || area == 0 || math.IsNaN(area) {
		return nanPoint()
	}
	c, radius := centroidAndRadius(poly)
	if r := p.Sub(c); r.Norm() > farRatio*radius {
		m, n := moments(poly, c, area, complexOf(r), radius)
		sum := complex(0, 0)
		for k := n - 1; k >= 0; k-- {
			sum += m[k]
		}
		return fieldOf(portable.Quotient(portable.Times(complex(float64(mu0Over2Pi*currentA), 0), sum), complexOf(r)))
	}
	sum := complex(0, 0)
	for i := range poly {
		p0, p1 := poly.Edge(i)
		e := edgeFrom(p, p0, p1)
		if e.cross != 0 { // p on the line of the edge: the term tends to 0
			sum += portable.Times(portable.Quotient(complex(e.cross, 0), complexOf(e.d)), complex(e.logRatio(), e.angle()))
		}
	}
	return fieldOf(portable.Times(complex(-mu0Over2Pi*currentA/area, 0), sum))
}

// edge is one edge of a polygon as seen from the field point.
type edge struct {
	a, b, d geom.Point // corners relative to the field point, b − a
	cross   float64    // a × b
	a2, b2  float64    // |a|², |b|²
}

func edgeFrom(p, p0, p1 geom.Point) edge {
	e := edge{a: p0.Sub(p), b: p1.Sub(p), d: p1.Sub(p0)}
	e.cross = e.a.Cross(e.d)
	e.a2, e.b2 = e.a.Dot(e.a), e.b.Dot(e.b)
	if e.a2 == 0 || e.b2 == 0 {
		e.cross = 0
	}
	return e
}

// logRatio returns ln(|b|/|a|).
func (e edge) logRatio() float64 {
	q := e.b2 / e.a2
	if q > 0.5 && q < 2 {
		return 0.5 * portable.Log1p(e.d.Dot(e.a.Add(e.b))/e.a2)
	}
	return 0.5 * portable.Log(q)
}

// angle returns the angle from a to b, in (−π, π].
func (e edge) angle() float64 { return portable.Atan2(e.cross, e.a.Dot(e.b)) }

// centroidAndRadius returns the centre of area and the distance of the furthest
// corner from it.
func centroidAndRadius(poly geom.Polygon) (geom.Point, float64) {
	c := poly.Centroid()
	r := 0.0
	for _, q := range poly {
		r = max(r, q.Sub(c).Norm())
	}
	return c, r
}
