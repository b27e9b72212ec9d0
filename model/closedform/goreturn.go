package closedform

import (
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// GoReturnB returns the flux density in tesla at p of a pair of infinitely long
// straight filaments: currentA through goAt along +z and the same current back
// through returnAt. With z = x + iy:
//
//	By + i Bx = (μ0 I / 2π) (zg − zr) / ((z − zg)(z − zr))
//
// The difference of the two filament fields is taken before it is rounded, so
// the far field, which falls with the square of the distance, keeps its digits.
// p on a filament gives NaN. Pairs of real sections: add two RectangleB.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 5.2, and
// superposition.
func GoReturnB(p, goAt, returnAt geom.Point, currentA float64) geom.Point {
	g, r := complexOf(p.Sub(goAt)), complexOf(p.Sub(returnAt))
	if g == 0 || r == 0 {
		return nanPoint()
	}
	// Two divisions, not one product, so that no square can underflow.
	w := portable.Quotient(portable.Quotient(complexOf(goAt.Sub(returnAt)), g), r)
	return fieldOf(portable.Times(w, complex(float64(mu0Over2Pi*currentA), 0)))
}
