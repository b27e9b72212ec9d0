package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// trianglePotentialM returns ∫ dS'/|r−r'| over a triangle, in metres, for a point
// anywhere: closedform.Face in the shape that is fastest for three corners. n is the unit
// normal about which the corners run counter-clockwise. With h the height of r over the plane, and for each edge its length L, its
// outward normal m, the distance t of the foot of r from it and the distances R of r
// from its ends,
//
//	potential = Σ t ln((R1+R2+L)/(R1+R2−L)) − |h| Ω
//	Ω         = 2 |atan( a·(b×c) / (abc + (a·b)c + (b·c)a + (c·a)b) )|
//
// On an edge t ln goes to 0.
//
// Sources: D. R. Wilton et al., IEEE Trans. Antennas Propag. 32 (1984) 276-281; the
// solid angle Ω: A. Van Oosterom, J. Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125.
func trianglePotentialM(r, p0, p1, p2, n geom.Point3) float64 {
	a, b, c := p0.Sub(r), p1.Sub(r), p2.Sub(r)
	la, lb, lc := math.Sqrt(a.Dot(a)), math.Sqrt(b.Dot(b)), math.Sqrt(c.Dot(c))
	sum := edgeTerm(a, b, n, la, lb) + edgeTerm(b, c, n, lb, lc) + edgeTerm(c, a, n, lc, la)
	num := a.Dot(b.Cross(c))
	if num == 0 {
		return sum
	}
	den := float64(la*lb*lc) + float64(a.Dot(b)*lc) + float64(b.Dot(c)*la) + float64(c.Dot(a)*lb)
	return sum - float64(math.Abs(n.Dot(a))*2*portable.Atan2(math.Abs(num), den))
}

func edgeTerm(a, b, n geom.Point3, la, lb float64) float64 {
	s := b.Sub(a)
	l := math.Sqrt(s.Dot(s))
	t := a.Dot(s.Cross(n)) / l
	less := la + lb - l
	if !(less > 1e-15*l) {
		return 0
	}
	return t * portable.Log((la+lb+l)/less)
}

// triangleField returns ∫ (r−r')/|r−r'|³ dS' over a triangle, a pure number: the field
// of an even charge. On the face the normal part is 0; on an edge it is infinite and
// comes out as large as rounding makes it, never NaN.
//
//	field = Σ m ln((R1+R2+L)/(R1+R2−L)) + n sign(h) Ω
func triangleField(r, p0, p1, p2, n geom.Point3) geom.Point3 {
	a, b, c := p0.Sub(r), p1.Sub(r), p2.Sub(r)
	la, lb, lc := math.Sqrt(a.Dot(a)), math.Sqrt(b.Dot(b)), math.Sqrt(c.Dot(c))
	sum := edgeField(a, b, n, la, lb).Add(edgeField(b, c, n, lb, lc)).Add(edgeField(c, a, n, lc, la))
	num := a.Dot(b.Cross(c))
	if num == 0 {
		return sum
	}
	den := float64(la*lb*lc) + float64(a.Dot(b)*lc) + float64(b.Dot(c)*la) + float64(c.Dot(a)*lb)
	return sum.Add(n.Scale(math.Copysign(2*portable.Atan2(math.Abs(num), den), -n.Dot(a))))
}

func edgeField(a, b, n geom.Point3, la, lb float64) geom.Point3 {
	s := b.Sub(a)
	l := math.Sqrt(s.Dot(s))
	less := math.Max(la+lb-l, 1e-15*l)
	return s.Cross(n).Scale(portable.Log((la+lb+l)/less) / l)
}
