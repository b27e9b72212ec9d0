package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Wall is the flux density of a shield in one component of a duty: the flux
// through the wall over its thickness, largest along the wall (never a corner
// value), and the area-rms of |B| over the section. Both in tesla, of the peak
// phasor's magnitude.
//
// In space the flux is that through the wall over the whole depth of the shield.
// Most is the largest over the depth, its ends included: what the permeability
// of the fullest part hangs on.
type Wall struct {
	Peak, Most bounded.Estimate
	RMS        func() bounded.Estimate // computed when asked for: its bound takes an adjoint solution
}

// known is an area-rms that is there already.
func known(rmsT, boundT float64) func() (float64, float64) {
	return func() (float64, float64) { return rmsT, boundT }
}

// rmsOf returns the area-rms of the plane section as an estimate.
func rmsOf(rms func() (rmsT, boundT float64)) func() bounded.Estimate {
	return func() bounded.Estimate { return bounded.Around(rms()) }
}

// Wall returns the flux density of shield i in component c of the duty of m. In
// a shield of finite depth the peak may be higher than the plane section says;
// the bounds hold both.
func (m *Model) Wall(i layout.ShieldIndex, c *waveform.Component) (Wall, error) {
	f, err := m.FieldOf(c)
	if err != nil {
		return Wall{}, err
	}
	w, err := f.Wall(i, c.PeakA)
	if err != nil {
		return Wall{}, err
	}
	if m.OneState() {
		if w, err = m.stateWall(i, c); err != nil {
			return Wall{}, err
		}
	}
	k, rms := m.DepthFactor(i), w.RMS
	if k > 1 {
		w.Peak.High *= k
	}
	w.RMS = func() bounded.Estimate {
		e := rms()
		if math.IsNaN(e.Value) {
			e = m.passiveRMS(f, i, f.BarsA(c.PeakA))
		}
		if k > 1 {
			e.Low, e.High = 0, e.High*k
		}
		return e
	}
	return w, nil
}

// wall returns the flux density in the plane section, between the two ends of
// the permeability range where there is one.
func (p *plane) wall(i layout.ShieldIndex, peakA []complex128) (Wall, error) {
	a, err := p.low.Wall(int(i), peakA)
	if err != nil {
		return Wall{}, unknownOf(err)
	}
	w := Wall{Peak: bounded.Around(a.PeakT, a.PeakBoundT), RMS: rmsOf(a.Rms)}
	w.Most = w.Peak
	if p.high == nil {
		return w, nil
	}
	b, err := p.high.Wall(int(i), peakA)
	if err != nil {
		return Wall{}, unknownOf(err)
	}
	peak := bounded.Spanning(w.Peak, bounded.Around(b.PeakT, b.PeakBoundT))
	rms := func() bounded.Estimate { return bounded.Spanning(w.RMS(), rmsOf(b.Rms)()) }
	return Wall{Peak: peak, RMS: rms, Most: peak}, nil
}

// Wall returns the flux density of shield i for currents of the circuits: in space where
// the layout is computed there and the shield is iron.
func (f *Field) Wall(i layout.ShieldIndex, circuitA []complex128) (Wall, error) {
	return f.way.wall(f, i, f.BarsA(circuitA))
}
