package closedform

import "busgauss/model/geom"

// SegmentB returns the flux density in tesla at p, in space, of a straight
// filament from one point to another that carries currentA in that direction.
// With a = p − from, b = p − to:
//
//	B = (μ0 I/4π) (a × b) (|a|+|b|) / (|a||b| (|a||b| + a·b))
//
// which is (μ0 I/4πd)(sin α2 − sin α1) at distance d. It is one part of a closed
// circuit and is divergence-free only as such. On the filament, ends included,
// it is NaN; on its prolongation and for a filament of no length it is 0.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2 (law of
// Biot and Savart, integrated along the segment).
func SegmentB(p, from, to geom.Point3, currentA float64) geom.Point3 {
	a, b := p.Sub(from), p.Sub(to)
	na, nb := a.Norm(), b.Norm()
	if na == 0 || nb == 0 {
		return nanPoint3()
	}
	// b = a − l, so a × b = l × a, which rounds less when l is short.
	c := to.Sub(from).Cross(a)
	sum := float64(na*nb) + a.Dot(b)
	if dot := a.Dot(b); dot < 0 {
		// Between the ends the sum is a small difference; |a|²|b|² − (a·b)² = |a × b|².
		n := c.Norm()
		if n == 0 {
			return nanPoint3()
		}
		sum = n * (n / (float64(na*nb) - dot))
	}
	return c.Scale(mu0Over2Pi / 2 * currentA * (1/na + 1/nb) / sum)
}
