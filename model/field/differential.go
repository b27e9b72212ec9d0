package field

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/si"
)

// Differential returns the field at freqHz of a small disturbance while the wall of each shield carries up to
// wallT tesla: its permeability is anywhere between the slopes
//
//	μ = dB/dH / μ0
//
// that its curve has from zero to there, those of small signals among them. A range is told apart from none as the
// range of a duty is, so that the field has bounds for it.
//
// Source: R. M. Bozorth, Ferromagnetism, 1951, chapter 1 (differential permeability; from memory).
func (m *Model) Differential(freqHz float64, wallT []float64) (*Field, error) {
	small := *m
	small.duty = nil
	iron := m.smallSignal()
	open := false
	for i := range iron {
		curve, err := m.curve(layout.ShieldIndex(i))
		if err != nil {
			return nil, &Unknown{err.Error()}
		}
		if curve == nil || !(wallT[i] > 0) {
			continue
		}
		iron[i] = slopes(curve, wallT[i], iron[i])
		open = open || iron[i].low < nearlyAlike*iron[i].high
	}
	if !open {
		return small.Field(freqHz)
	}
	f, err := small.ironField(freqHz, iron)
	if err != nil {
		return nil, err
	}
	out := *f
	out.rough = m.rough
	out.shares, err = m.sharesOf(freqHz, f.section)
	return &out, err
}

// nearlyAlike is the ratio of permeabilities from which on a range is not worth a field of its own: a shield
// changes what it lets through in proportion at most.
const nearlyAlike = 0.98

// slopes widens r to all slopes of c up to peakT.
func slopes(c *material.Curve, peakT float64, r muRange) muRange {
	take := func(b float64) {
		_, s := c.FieldAt(b)
		mu := math.Max(1, 1/(s*si.Mu0HPerM))
		r.low, r.high = math.Min(r.low, mu), math.Max(r.high, mu)
	}
	for _, p := range c.Points() {
		if p.FluxDensityT < peakT {
			take(p.FluxDensityT)
		}
	}
	take(peakT)
	return r
}

// HasCurve reports whether shield i has a permeability that falls with its flux density.
func (m *Model) HasCurve(i layout.ShieldIndex) bool {
	mat := &m.Layout.Materials[m.Layout.Shields[i].Material]
	return len(mat.Curve) > 0 || mat.MuRel.Set && mat.SaturationT.Set
}
