package closedform

import (
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// FilamentB returns the flux density in tesla at p of an infinitely long
// straight filament through the origin that carries currentA:
//
//	B = μ0 I / (2π r), circular, counter-clockwise for a positive current
//
// p on the filament gives NaN. Against a filament that reaches h to each side it
// is high by the factor √(h²+r²)/h.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2.
func FilamentB(p geom.Point, currentA float64) geom.Point {
	r := p.Norm()
	if r == 0 {
		return nanPoint()
	}
	b := mu0Over2Pi * currentA / r
	return geom.Point{X: -b * (p.Y / r), Y: b * (p.X / r)}
}

// FilamentAWbPerM returns the vector potential A_z in Wb/m of the filament of
// FilamentB:
//
//	A = −(μ0 I / 2π) ln(r / 1 m)
//
// The gauge is A = 0 at one metre from the filament, the same for every
// potential of this package, so that potentials add. p on the filament gives
// +Inf for a positive current.
//
// Source: as FilamentB; B = curl(A ez).
func FilamentAWbPerM(p geom.Point, currentA float64) float64 {
	return -mu0Over2Pi * currentA * portable.Log(p.Norm())
}
