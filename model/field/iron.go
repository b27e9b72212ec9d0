package field

import (
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/si"
)

// muRange is where the relative permeability of a shield lies in the state that
// is asked for.
type muRange struct {
	low, high float64
}

// open reports whether the range is wider than rounding.
func (r muRange) open() bool { return r.high > r.low*(1+1e-6) }

// Saturable reports whether a shield of l has a curve or a saturation.
func Saturable(l *layout.Layout) bool {
	for i := range l.Shields {
		m := &l.Materials[l.Shields[i].Material]
		if len(m.Curve) > 0 || m.MuRel.Set && m.SaturationT.Set {
			return true
		}
	}
	return false
}

// SteepestAtT returns the flux density at which the iron of shield i has its largest permeability; false where that is at the
// beginning of its curve, or where it has none.
func (m *Model) SteepestAtT(i layout.ShieldIndex) (float64, bool) {
	curve, err := m.curve(i)
	if err != nil || curve == nil {
		return 0, false
	}
	most, atT := curve.MuRelMax()
	return atT, most > 1.02*curve.MuRelInitial()
}

// smallSignal returns the permeability of every shield for small signals.
func (m *Model) smallSignal() []muRange {
	out := make([]muRange, len(m.Layout.Shields))
	for i := range out {
		mat := &m.Layout.Materials[m.Layout.Shields[i].Material]
		mu := 1.0
		if curve, err := m.curve(layout.ShieldIndex(i)); err == nil && curve != nil {
			mu = math.Max(1, curve.MuRelInitial())
		} else if mat.MuRel.Set {
			mu = mat.MuRel.V
		}
		out[i] = muRange{mu, mu}
	}
	return out
}

// ironRange returns the permeability of every shield. Without a duty that is
// the one of small signals. With a duty it runs over all secant permeabilities
// B/(μ0 H) up to the largest flux density that the duty may bring to a wall of
// the shield: that of the linear field with the highest permeability of the
// curve, which draws more flux than the true state, in a shield of finite depth
// times the factor by which the plane section may be low.
func (m *Model) ironRange() ([]muRange, error) {
	l := m.Layout
	out := m.smallSignal()
	curves := make([]*material.Curve, len(l.Shields))
	top := slices.Clone(out)
	for i := range l.Shields {
		curve, err := m.curve(layout.ShieldIndex(i))
		if err != nil {
			return nil, &Unknown{err.Error()}
		}
		curves[i] = curve
		if curve != nil {
			most, _ := curve.MuRelMax()
			if most > out[i].high*(1+1e-6) { // else the same but for rounding
				top[i] = muRange{most, most}
			}
		}
	}
	if m.duty == nil || !Saturable(l) {
		return out, nil
	}
	if steepest(out, top) <= nearlyStraight {
		near, err := m.widened(curves, out, out, steepest(out, top))
		if err != nil || !slices.ContainsFunc(near, muRange.open) {
			return near, err
		}
	}
	return m.widened(curves, out, top, 1)
}

// MuRel returns the relative permeability of shield i in the duty of m: the middle of
// its range; see ironRange.
func (m *Model) MuRel(i layout.ShieldIndex) (bounded.Estimate, error) {
	iron, err := m.ironRange()
	if err != nil {
		return bounded.Estimate{}, err
	}
	r := iron[i]
	return bounded.Estimate{Value: (r.low + r.high) / 2, Low: r.low, High: r.high}, nil
}

// nearlyStraight is the ratio of highest to initial permeability up to which it
// is worth asking first whether a duty leaves the straight beginning of the
// curve: the answer then costs no field that is not needed anyway.
const nearlyStraight = 1.5

// steepest returns the largest ratio of top to small over the shields.
func steepest(small, top []muRange) float64 {
	k := 1.0
	for i := range top {
		k = math.Max(k, top[i].high/small[i].high)
	}
	return k
}

// widened returns the ranges out widened to the flux density of the linear
// field with permeabilities iron, times k: with a permeability k times as high
// iron carries at most k times the flux.
func (m *Model) widened(curves []*material.Curve, out, iron []muRange, k float64) ([]muRange, error) {
	wide := slices.Clone(out)
	for i := range wide {
		if curves[i] == nil {
			continue
		}
		peak, err := m.linearWallT(layout.ShieldIndex(i), iron)
		if err != nil {
			return nil, err
		}
		if r := secants(curves[i], k*peak, wide[i]); r.open() {
			wide[i] = r
		}
	}
	return wide, nil
}

// secants widens r to all secant permeabilities of c up to peakT.
func secants(c *material.Curve, peakT float64, r muRange) muRange {
	take := func(b float64) {
		nu, _ := c.Reluctivity(b * b)
		mu := math.Max(1, 1/(nu*si.Mu0HPerM))
		r.low, r.high = math.Min(r.low, mu), math.Max(r.high, mu)
	}
	for _, p := range c.Points() {
		if p.FluxDensityT > 0 && p.FluxDensityT < peakT {
			take(p.FluxDensityT)
		}
	}
	if peakT > 0 {
		take(peakT)
	}
	return r
}

// linearWallT returns an upper bound of the flux density of a wall in the duty
// of m with the given permeabilities, in tesla.
func (m *Model) linearWallT(i layout.ShieldIndex, iron []muRange) (float64, error) {
	sum := 0.0
	cur := m.Currents(m.duty)
	add := func(freqHz, factor float64, circuitA []complex128) error {
		f, err := m.ironField(freqHz, iron)
		if err != nil {
			return err
		}
		s, err := m.sharesOf(freqHz, f.section)
		if err != nil {
			return err
		}
		w, err := f.way.wall(f, i, s.BarsA(circuitA))
		sum += float64(factor * w.Most.High)
		return err
	}
	for k := range cur.Components {
		c := &cur.Components[k]
		factor := 1.0
		if c.FreqHz > 0 {
			factor = cur.PeakFactor
		}
		freqHz := c.FreqHz
		if c.Derived {
			freqHz = octaveHz(freqHz) // solved anyway: see FieldOf
		}
		if err := add(freqHz, factor, c.PeakA); err != nil {
			return 0, err
		}
	}
	for c, a := range cur.LeftOverA {
		if a == 0 {
			continue
		}
		alone := make([]complex128, len(cur.LeftOverA))
		alone[c] = complex(a, 0)
		if err := add(0, 1, alone); err != nil {
			return 0, err
		}
	}
	return sum * m.DepthFactor(i), nil
}
