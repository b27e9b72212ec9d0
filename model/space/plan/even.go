package plan

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// evenBar is a prism with the even flow of one ampere along z.
type evenBar struct{ widthM, fromM, toM float64 }

// add adds ∫ K × R/R³ dV as sheet.add does, K = (0, 0, 1/w):
//
//	Bx = −(P(h₁) − P(h₂))/w,  By = (S(x − w/2) − S(x + w/2))/w
//
// P and S the potentials ∫ dS/R of the faces across y and across x.
func (e *evenBar) add(at geom.Point, h1, h2 float64, out *twoFields) {
	x1, x2 := -e.widthM/2-at.X, e.widthM/2-at.X
	z1, z2 := e.fromM-at.Y, e.toM-at.Y
	bx := -(rectanglePotential(h1, x1, x2, z1, z2) - rectanglePotential(h2, x1, x2, z1, z2)) / e.widthM
	by := (rectanglePotential(x2, h1, h2, z1, z2) - rectanglePotential(x1, h1, h2, z1, z2)) / e.widthM
	for n := range out {
		out[n].X += bx
		out[n].Y += by
	}
}

// rectanglePotential returns ∫∫ da db/√(a²+b²+d²) in metres over a1..a2, b1..b2:
//
//	Σ ± [a ln(b+R) + b ln(a+R) − d atan(ab/(dR))]
//
// Unlike the sum over two triangles it keeps its digits for bars 1e5 times longer
// than wide. Source: closedform.Face, for a rectangle.
func rectanglePotential(d, a1, a2, b1, b2 float64) float64 {
	d2 := float64(d * d)
	r := func(a, b float64) float64 { return math.Sqrt(float64(a*a) + float64(b*b) + d2) }
	r11, r12, r21, r22 := r(a1, b1), r(a1, b2), r(a2, b1), r(a2, b2)
	sum := float64(a2*logRatio(b1, b2, r21, r22, float64(a2*a2)+d2)) - float64(a1*logRatio(b1, b2, r11, r12, float64(a1*a1)+d2))
	sum += float64(b2*logRatio(a1, a2, r12, r22, float64(b2*b2)+d2)) - float64(b1*logRatio(a1, a2, r11, r21, float64(b1*b1)+d2))
	if d != 0 {
		h := math.Abs(d)
		sum -= float64(h * (portable.Atan2(a2*b2, h*r22) - portable.Atan2(a1*b2, h*r12) - portable.Atan2(a2*b1, h*r21) + portable.Atan2(a1*b1, h*r11)))
	}
	return sum
}
