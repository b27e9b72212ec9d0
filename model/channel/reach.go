package channel

import (
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// Reach is the lowest and the highest current that a channel must carry, A: at most and at least 0. LowDuty and
// HighDuty ask for them; where one is not set, the claimed range does, or nothing where the current is 0.
type Reach struct {
	LowA, HighA       float64
	LowDuty, HighDuty *layout.Duty
}

// LargestA is the larger of the two without sign.
func (r *Reach) LargestA() float64 { return max(-r.LowA, r.HighA) }

// ReachOf returns the currents that s reads over all time of the duties of the kinds given, and the range that
// the layout claims for it.
func ReachOf(m *probe.Model, s *layout.Sensor, kinds ...layout.DutyKind) (Reach, error) {
	var out Reach
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		for _, k := range kinds {
			if d.Kind != k {
				continue
			}
			own, err := m.OwnCurrent(s, d)
			if err != nil {
				return out, err
			}
			low, high := own.Extremes()
			if low.Low < out.LowA {
				out.LowA, out.LowDuty = low.Low, d
			}
			if high.High > out.HighA {
				out.HighA, out.HighDuty = high.High, d
			}
		}
	}
	if n, ok := m.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		if -n.V < out.LowA {
			out.LowA, out.LowDuty = -n.V, nil
		}
		if n.V > out.HighA {
			out.HighA, out.HighDuty = n.V, nil
		}
	}
	return out, nil
}

// Tapped returns the chain as a trip sees it that is taken at tap.
func (x *Sensed) Tapped(tap Tap) *Sensed {
	return x.Edited(func(c *Chain) {
		if tap < TapNumber {
			c.Converter, c.Number, c.Firmware = nil, nil, nil
			c.Noise.ConverterRMSCount = 0
		}
		if tap < TapFilter {
			c.Amplifier, c.Divider = nil, nil
			c.Timing.Filter, c.Timing.FilterTol, c.Noise.AmplifierVPerRtHz = LowPass{}, 0, 0
		}
	})
}
