package closedform

import (
	"busgauss/model/portable"
)

// SheetMu returns the complex relative permeability along a sheet of thickness sheetM metres
// at freqHz, flux over thickness and surface field:
//
//	μ tanh(x)/x,   x = (1+j) d/(2δ),   δ = SkinDepthM
//
// Peak phasors with e^{+jωt}, so that the imaginary part is negative. Without frequency, conductivity or
// thickness it is muRel.
// Valid for a sheet much wider than thick that is insulated from its neighbours.
//
// Source: K. J. Binns, P. J. Lawrenson, C. W. Trowbridge, The Analytical and Numerical
// Solution of Electric and Magnetic Fields, Wiley 1992 (from memory): one-dimensional
// field in a sheet, flux over its thickness.
func SheetMu(freqHz, sigmaSPerM, muRel, sheetM float64) complex128 {
	mu := complex(muRel, 0)
	if !(freqHz > 0 && sigmaSPerM > 0 && sheetM > 0) {
		return mu
	}
	x := portable.Times(complex(1, 1), complex(sheetM/(2*SkinDepthM(freqHz, sigmaSPerM, muRel)), 0))
	if real(x) < 300 {
		return portable.Quotient(portable.Times(mu, portable.ComplexTanh(x)), x)
	}
	return portable.Quotient(mu, x)
}
