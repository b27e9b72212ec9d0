package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// PolygonAWbPerM returns the vector potential A_z in Wb/m at p of the bar of
// PolygonB: minus μ0 I/2π times the mean of ln(|z − z'| / 1 m) over the section.
// With h the distance of p from the line of an edge, signed, s along the
// edge from the foot of the perpendicular, α the angle of the edge seen from p:
//
//	∫∫ ln r dA = Σ (h/2) [s_b ln r_b − s_a ln r_a − (3/2)(s_b − s_a) + h α]
//
// by the divergence theorem on r (2 ln r − 1)/4. Then Bx = ∂A/∂y, By = −∂A/∂x.
// The gauge is that of FilamentAWbPerM: far away A tends to the filament's.
// Exact everywhere, limits on edges and corners; the absolute error is below
// 1e-12·μ0 I/2π for sections of aspect up to 100. NaN as PolygonB.
//
// Source: derived above; checked by its curl and against CircleAWbPerM.
func PolygonAWbPerM(p geom.Point, poly geom.Polygon, currentA float64) float64 {
	area := poly.SignedAreaM2()
	if len(poly) < 3 || area == 0 || math.IsNaN(area) {
		return math.NaN()
	}
	c, radius := centroidAndRadius(poly)
	if r := p.Sub(c); r.Norm() > farRatio*radius {
		// ln(z − z') = ln z − Σ (z'/z)^n / n.
		m, n := moments(poly, c, area, complexOf(r), radius)
		sum := 0.0
		for k := n - 1; k >= 1; k-- {
			sum += real(m[k]) / float64(k)
		}
		return -mu0Over2Pi * currentA * (portable.Log(r.Norm()) - sum)
	}
	// Lengths in radii, so that the logarithms are small and cancel less.
	sum := 0.0
	for i := range poly {
		p0, p1 := poly.Edge(i)
		e := edgeFrom(p, p0, p1)
		if e.cross == 0 {
			continue
		}
		l := e.d.Norm()
		h := e.cross / l
		sa, sb := e.a.Dot(e.d)/l, e.b.Dot(e.d)/l
		la := 0.5 * portable.Log(e.a2/(radius*radius))
		lb := 0.5 * portable.Log(e.b2/(radius*radius))
		sum += float64(h / 2 * (float64(sb*lb) - float64(sa*la) - float64(1.5*l) + float64(h*e.angle())))
	}
	return -mu0Over2Pi * currentA * (portable.Log(radius) + sum/area)
}

// RectangleAWbPerM returns the vector potential A_z in Wb/m at p of the bar of
// RectangleB; formula, gauge and error as PolygonAWbPerM.
func RectangleAWbPerM(p geom.Point, widthM, thicknessM, currentA float64) float64 {
	if !(widthM > 0 && thicknessM > 0) {
		return math.NaN()
	}
	return PolygonAWbPerM(p, geom.Rectangle(widthM, thicknessM), currentA)
}
