package closedform

import (
	"math"

	"busgauss/model/portable"
	"busgauss/model/si"
)

// LoopB returns the flux density in tesla of a circular filament of radius
// radiusM about the z axis in the plane z = 0, at the distance rhoM >= 0 from
// that axis and the height zM. This departs from the plane convention: the
// current runs round +z by the right-hand rule, and the answer is the radial and
// the axial component. With P² = (a+ρ)² + z², kc² = ((a−ρ)² + z²)/P²:
//
//	Bρ = (μ0 I a/π) z/P³ · cel(kc, kc², −1, 1)
//	Bz = (μ0 I a/π) 1/P³ · cel(kc, kc², a+ρ, a−ρ)
//
// On the filament NaN; rhoM < 0 or radiusM <= 0 gives NaN. Error below 1e-14 of
// |B| near the loop, growing in proportion to the distance in radii.
//
// Source: W. R. Smythe, Static and Dynamic Electricity, the circular loop
// (complete elliptic integrals), written with the general integral of cel.
func LoopB(rhoM, zM, radiusM, currentA float64) (radialT, axialT float64) {
	if !(rhoM >= 0 && radiusM > 0) {
		return math.NaN(), math.NaN()
	}
	p := portable.Hypot(radiusM+rhoM, zM)
	kc := portable.Hypot(radiusM-rhoM, zM) / p
	k := si.Mu0HPerM / math.Pi * currentA * radiusM / p / p
	radialT = k * (zM / p) * cel(kc, kc*kc, -1, 1)
	axialT = k * cel(kc, kc*kc, (radiusM+rhoM)/p, (radiusM-rhoM)/p)
	return radialT, axialT
}
