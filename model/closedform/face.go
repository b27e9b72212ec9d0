package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// Face returns two integrals over a flat polygon in space, for a point r that may
// lie anywhere, on the polygon too:
//
//	potentialM = ∫ dS' / |r − r'|             metres
//	field      = ∫ (r − r') / |r − r'|³ dS'   pure number; on the face its normal part is 0,
//	                                          the mean of both sides
//
// field is −∇ potential. They are the potential and the field of an even surface
// charge, the building stones of magnetised pieces and of prisms with an even
// current density. The polygon is simple, its corners in order; either sense gives
// the same. On an edge the field is infinite and comes out as NaN; the potential is
// finite everywhere.
//
// With the foot of r on the plane, for each edge its outward normal m, the signed
// distance t of the foot from it, the distances R± to its ends at l± along it, and
// h the height of r over the plane:
//
//	potential = Σ t ln((R⁺+l⁺)/(R⁻+l⁻)) − |h| β
//	field     = Σ m ln((R⁺+l⁺)/(R⁻+l⁻)) + n sign(h) β
//	β         = Σ atan(t l⁺/(t²+h²+|h|R⁺)) − atan(t l⁻/(t²+h²+|h|R⁻))
//
// Source: D. R. Wilton, S. M. Rao, A. W. Glisson, D. H. Schaubert, O. M. Al-Bundak,
// C. M. Butler, Potential integrals for uniform and linear source distributions on
// polygonal and polyhedral domains, IEEE Trans. Antennas Propag. 32 (1984) 276-281.
func Face(r geom.Point3, corners []geom.Point3) (potentialM float64, field geom.Point3) {
	n := faceNormal(corners)
	h := r.Sub(corners[0]).Dot(n)
	height := math.Abs(h)
	beta := 0.0
	var sum geom.Point3
	count := len(corners)
	a := corners[count-1]
	ra := r.Sub(a).Norm()
	for _, b := range corners {
		rb := r.Sub(b).Norm()
		along := b.Sub(a)
		length := along.Norm()
		if length == 0 {
			continue
		}
		s := along.Scale(1 / length)
		m := s.Cross(n)
		from := a.Sub(r)
		t := from.Dot(m)
		lMinus := from.Dot(s)
		lPlus := lMinus + length
		// (R+l)(R−l) = t² + h²: of the two the sum without cancellation is taken.
		num, den := rb+lPlus, ra+lMinus
		if lPlus+lMinus < 0 {
			num, den = ra-lMinus, rb-lPlus
		}
		far := float64(t*t) + float64(height*height)
		if den > 1e-15*length {
			log := portable.Log(num / den)
			potentialM += float64(t * log)
			sum = sum.Add(m.Scale(log))
		} else { // on the edge: t log goes to 0
			sum = nanPoint3()
		}
		beta += portable.Atan2(t*lPlus, far+float64(height*rb)) - portable.Atan2(t*lMinus, far+float64(height*ra))
		a, ra = b, rb
	}
	potentialM -= float64(height * beta)
	if h != 0 {
		sum = sum.Add(n.Scale(math.Copysign(beta, h)))
	}
	return potentialM, sum
}

// faceNormal returns the unit normal of a polygon, counter-clockwise seen from
// its tip (M. E. Newell's sum; from memory).
func faceNormal(corners []geom.Point3) geom.Point3 {
	var n geom.Point3
	a := corners[len(corners)-1].Sub(corners[0])
	for _, c := range corners {
		b := c.Sub(corners[0])
		n = n.Add(a.Cross(b))
		a = b
	}
	return n.Scale(1 / n.Norm())
}
