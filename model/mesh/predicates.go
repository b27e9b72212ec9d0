package mesh

import (
	"math"

	"busgauss/model/geom"
)

// Half a unit in the last place of 1, and the forward error bounds of the floating-point filters.
// Source: J. R. Shewchuk, Discrete Comput. Geom. 18 (1997) 305, sections 4.1 and 4.3.
const (
	halfUlp      = 1.0 / (1 << 53)
	orientBoundA = (3 + 16*halfUlp) * halfUlp
	circleBoundA = (10 + 96*halfUlp) * halfUlp
	circleBoundB = (4 + 48*halfUlp) * halfUlp
)

// orient returns a number whose sign is exactly that of twice the signed area, in square metres, of the
// triangle a, b, c:
//
//	(ax-cx)(by-cy) - (ay-cy)(bx-cx)
//
// Positive when a, b, c turn counter-clockwise, zero when they are collinear. The magnitude is approximate.
//
// Source: J. R. Shewchuk, Discrete Comput. Geom. 18 (1997) 305, section 4.1 (filter, then exact sum).
func orient(a, b, c geom.Point) float64 {
	left := float64((a.X - c.X) * (b.Y - c.Y))
	right := float64((a.Y - c.Y) * (b.X - c.X))
	det := left - right
	if bound := orientBoundA * (math.Abs(left) + math.Abs(right)); det > bound || -det > bound {
		return det
	}
	return orientExact(a, b, c)
}

// orientExact is the branch behind the filter of orient.
func orientExact(a, b, c geom.Point) float64 {
	acx, acxTail := twoDiff(a.X, c.X)
	acy, acyTail := twoDiff(a.Y, c.Y)
	bcx, bcxTail := twoDiff(b.X, c.X)
	bcy, bcyTail := twoDiff(b.Y, c.Y)
	var store [4]float64
	det := crossTerms(acx, bcy, acy, bcx, &store)
	if acxTail == 0 && acyTail == 0 && bcxTail == 0 && bcyTail == 0 {
		return det[len(det)-1]
	}
	// ad - bc with two-term differences: the four missing cross products are added one by one.
	var s1, s2, s3 [16]float64
	var c1 [4]float64
	sum := sumExpansion(det, crossTerms(acxTail, bcy, acyTail, bcx, &c1), s1[:])
	sum = sumExpansion(sum, crossTerms(acx, bcyTail, acy, bcxTail, &c1), s2[:])
	sum = sumExpansion(sum, crossTerms(acxTail, bcyTail, acyTail, bcxTail, &c1), s3[:])
	return sum[len(sum)-1]
}

// inCircle returns a number whose sign is exactly that of the in-circle determinant (fourth power of
// metres): positive when d lies strictly inside the circle through a, b, c, which turn counter-clockwise;
// zero when the four points lie on one circle. The magnitude is approximate.
//
// Source: J. R. Shewchuk, Discrete Comput. Geom. 18 (1997) 305, section 4.3 (filter, exact on rounded
// differences, then exact).
func inCircle(a, b, c, d geom.Point) float64 {
	adx, ady := a.X-d.X, a.Y-d.Y
	bdx, bdy := b.X-d.X, b.Y-d.Y
	cdx, cdy := c.X-d.X, c.Y-d.Y

	bc, cb := float64(bdx*cdy), float64(cdx*bdy)
	ca, ac := float64(cdx*ady), float64(adx*cdy)
	ab, ba := float64(adx*bdy), float64(bdx*ady)
	aLift := float64(adx*adx) + float64(ady*ady)
	bLift := float64(bdx*bdx) + float64(bdy*bdy)
	cLift := float64(cdx*cdx) + float64(cdy*cdy)

	det := float64(aLift*(bc-cb)) + float64(bLift*(ca-ac)) + float64(cLift*(ab-ba))
	permanent := float64((math.Abs(bc)+math.Abs(cb))*aLift) +
		float64((math.Abs(ca)+math.Abs(ac))*bLift) +
		float64((math.Abs(ab)+math.Abs(ba))*cLift)
	if bound := circleBoundA * permanent; det > bound || -det > bound {
		return det
	}
	return inCircleAdapt(a, b, c, d, permanent)
}

// inCircleAdapt evaluates the determinant exactly on the rounded differences, and falls through to the
// exact one only when a difference was inexact and the result is still in doubt.
func inCircleAdapt(a, b, c, d geom.Point, permanent float64) float64 {
	adx, adxTail := twoDiff(a.X, d.X)
	ady, adyTail := twoDiff(a.Y, d.Y)
	bdx, bdxTail := twoDiff(b.X, d.X)
	bdy, bdyTail := twoDiff(b.Y, d.Y)
	cdx, cdxTail := twoDiff(c.X, d.X)
	cdy, cdyTail := twoDiff(c.Y, d.Y)

	var sa, sb, sc [32]float64
	aTerm := liftedTerm(adx, ady, bdx, bdy, cdx, cdy, &sa)
	bTerm := liftedTerm(bdx, bdy, cdx, cdy, adx, ady, &sb)
	cTerm := liftedTerm(cdx, cdy, adx, ady, bdx, bdy, &sc)
	var s1 [64]float64
	var s2 [96]float64
	sum := sumExpansion(sumExpansion(aTerm, bTerm, s1[:]), cTerm, s2[:])
	if adxTail == 0 && adyTail == 0 && bdxTail == 0 && bdyTail == 0 && cdxTail == 0 && cdyTail == 0 {
		return sum[len(sum)-1]
	}
	det := 0.0
	for _, term := range sum {
		det += term
	}
	if bound := circleBoundB * permanent; det > bound || -det > bound {
		return det
	}
	return inCircleExact(
		[2][]float64{{adxTail, adx}, {adyTail, ady}},
		[2][]float64{{bdxTail, bdx}, {bdyTail, bdy}},
		[2][]float64{{cdxTail, cdx}, {cdyTail, cdy}})
}

// liftedTerm writes (ux²+uy²)(vx·wy - wx·vy) into h and returns the part used.
func liftedTerm(ux, uy, vx, vy, wx, wy float64, h *[32]float64) []float64 {
	var c4 [4]float64
	var t8 [8]float64
	var x16, y16 [16]float64
	cross := crossTerms(vx, wy, wx, vy, &c4)
	x := scaleExpansion(scaleExpansion(cross, ux, t8[:]), ux, x16[:])
	y := scaleExpansion(scaleExpansion(cross, uy, t8[:]), uy, y16[:])
	return sumExpansion(x, y, h[:])
}

// inCircleExact takes exact two-term differences; index 0 is x, 1 is y.
func inCircleExact(a, b, c [2][]float64) float64 {
	term := func(u, v, w [2][]float64) []float64 {
		lift := addExpansions(multiplyExpansion(u[0], u[0]), multiplyExpansion(u[1], u[1]))
		cross := addExpansions(multiplyExpansion(v[0], w[1]), negateExpansion(multiplyExpansion(w[0], v[1])))
		return multiplyExpansion(lift, cross)
	}
	sum := addExpansions(addExpansions(term(a, b, c), term(b, c, a)), term(c, a, b))
	return sum[len(sum)-1]
}
