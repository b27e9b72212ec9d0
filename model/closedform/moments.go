package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// farRatio is the distance, in radii of the section, beyond which the series of
// moments replaces the sum of edges. At 4 the series needs 28 terms and the
// sum of edges has lost less than a digit and a half.
const farRatio = 4

// maxMoments is enough for farRatio: 4^-28 < 2^-53.
const maxMoments = 28

// moments returns the terms, largest first, of the series
//
//	∫∫ dA'/(z − z') / area = (1/z) Σ m[n],  m[n] = ∫∫ (z'/z)^n dA' / area
//
// z' being taken from the centroid c, z = r the field point from there; n tells
// how many terms were needed for double precision. Over the triangle (0, a, b)
//
//	∫∫ z^n dA = (a × b)/((n+1)(n+2)) Σ_j a^j b^(n−j)
//
// Source: the triangle rule follows from ∫∫ over the unit simplex of
// (s a + t b)^n = n! Σ a^j b^(n−j)/(n+2)!; derived here.
func moments(poly geom.Polygon, c geom.Point, areaM2 float64, r complex128, radiusM float64) (m [maxMoments]complex128, n int) {
	q := radiusM / portable.Hypot(real(r), imag(r))
	n = min(maxMoments, 2+int(math.Ceil(-53*math.Ln2/portable.Log(q))))
	for i := range poly {
		p0, p1 := poly.Edge(i)
		u, v := p0.Sub(c), p1.Sub(c)
		share := u.Cross(v) / areaM2
		a, b := portable.Quotient(complexOf(u), r), portable.Quotient(complexOf(v), r)
		h, bn := complex(1, 0), complex(1, 0)
		for k := range n {
			if k > 0 {
				bn = portable.Times(bn, b)
				h = portable.Times(a, h) + bn
			}
			m[k] += portable.Times(complex(share/float64((k+1)*(k+2)), 0), h)
		}
	}
	return m, n
}
