package fem

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/portable"
)

// medium is what the equations see of a piece, all relative to the
// reluctivity of free space: nu = 1/μr, mass = jω μ0 σ in 1/m².
type medium struct {
	nu       complex128
	mass     complex128
	iron     bool // nu differs from 1
	conducts bool // mass is not zero
	curve    bool // carries a curve, used by the saturating solver
	skinM    float64
}

// active says whether the piece needs elements.
func (m *medium) active() bool { return m.iron || m.conducts || m.curve }

// mediumOf returns the medium of a piece at a frequency.
//
// Sheet iron: closedform.SheetMu, with no current along z.
func mediumOf(c *Piece, freqHz float64, saturating bool) medium {
	mu := complex(c.muInitial(), 0)
	m := medium{nu: 1, skinM: math.Inf(1)}
	if saturating && c.Curve != nil {
		m.curve, m.iron = true, true
	}
	if freqHz > 0 && c.SigmaSPerM > 0 {
		delta := closedform.SkinDepthM(freqHz, c.SigmaSPerM, real(mu))
		if c.SheetM > 0 {
			mu = closedform.SheetMu(freqHz, c.SigmaSPerM, real(mu), c.SheetM)
		} else {
			m.mass = complex(0, float64(2*math.Pi*freqHz*mu0*c.SigmaSPerM))
			m.conducts = true
			m.skinM = delta
		}
	}
	m.nu = portable.Quotient(1, mu)
	m.iron = m.iron || mu != 1
	return m
}
