package channel

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// WholeResponse is the response of a channel at one frequency from bar to number, with the bounds of the field.
type WholeResponse struct {
	Response
	Lag      bounded.Estimate // rad
	Change   bounded.Estimate // of the amplitude against direct current
	Complete bool             // no datum of the timing was left out
}

// WholeResponseAt returns the response at freqHz with what is not known of the timing left out; m is the model
// of the duty.
func WholeResponseAt(m *probe.Model, s *layout.Sensor, t Timing, freqHz float64) (WholeResponse, error) {
	g, err := m.Gain(s, freqHz)
	if err != nil {
		return WholeResponse{}, err
	}
	t, complete := t.KnownOnly()
	out := WholeResponse{Response: t.At(freqHz, FieldGain(g)), Complete: complete}
	electric := t.At(freqHz, 1)
	out.Lag = g.LagRad.Plus(bounded.Exact(electric.LagRad))
	out.Change = g.Change.Plus(bounded.Exact(1)).Scale(electric.Amplitude).Plus(bounded.Exact(-1))
	return out, nil
}

// KnownOnly returns the timing with what is not known left out: no later and no smaller than the true one.
// complete says that nothing was left out.
func (t Timing) KnownOnly() (out Timing, complete bool) {
	complete = true
	if math.IsNaN(t.Part.CornerHz) {
		t.Part, complete = LowPass{}, false
	}
	for _, v := range []*float64{&t.PartDelayS, &t.DelayS} {
		if math.IsNaN(*v) {
			*v, complete = 0, false
		}
	}
	if math.IsNaN(t.RateHz) {
		t.RateHz, t.DelayS, complete = 0, 0, false
	}
	return t, complete
}
