package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// law is the magnetisation of a piece: linear, or along its curve.
type law struct {
	p   *Piece
	chi float64 // initial susceptibility; of a linear piece the only one
}

func newLaw(p *Piece) law {
	if p.Curve == nil {
		return law{p, p.MuRel - 1}
	}
	return law{p, p.Curve.MuRelInitial() - 1}
}

// at returns B/(μ0 H) − 1 and dB/(μ0 dH) − 1 at a field of hAPerM.
func (l law) at(hAPerM float64) (secant, slope float64) {
	if l.p.Curve == nil {
		return l.chi, l.chi
	}
	b := l.p.Curve.FluxDensityAtT(hAPerM)
	if !(hAPerM > 0) || b <= 0 {
		return l.chi, l.chi
	}
	_, dh := l.p.Curve.FieldAt(b)
	return b/(si.Mu0HPerM*hAPerM) - 1, 1/(si.Mu0HPerM*dh) - 1
}

// bend is dM/dH of a tetrahedron: secant across the field, slope along it.
type bend struct {
	secant, slope float64
	along         geom.Point3 // unit vector
}

// magnetise returns M in A/m and dM/dH for a field H.
func (l law) magnetise(h geom.Point3) (geom.Point3, bend) {
	size := math.Sqrt(h.Dot(h))
	secant, slope := l.at(size)
	d := bend{secant: secant, slope: slope}
	if size > 0 {
		d.along = h.Scale(1 / size)
	}
	return h.Scale(secant), d
}
