package quantity

import (
	"math"

	"busgauss/model/bounded"
	channels "busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// frequencyQuantities tell how a reading differs from that of direct current.
func frequencyQuantities() []definition[*channel] {
	return []definition[*channel]{
		number("frequency", "Hz",
			"highest fundamental frequency of the current that it reads in all duties; 0 for direct current only",
			func(c *channel) enforce.Value {
				top := 0.0
				for _, u := range c.m.UsesOf(c.s) {
					if c.m.MainOf(c.s, &u) {
						top = math.Max(top, u.Part.FreqHz)
					}
				}
				return exactly(top)
			}),
		number("field_change", "1", "change of the own field's amplitude against direct current by bar and shield, largest of the fundamentals of continuous and peak duties (rule gain-with-frequency)",
			func(c *channel) enforce.Value {
				return c.overGains(func(g probe.Gain) bounded.Estimate { return g.Change.Magnitude() })
			}),
		number("field_lag", "rad", "phase by which bar and shield make the own field late, largest of the same fundamentals",
			func(c *channel) enforce.Value {
				return c.overGains(func(g probe.Gain) bounded.Estimate { return g.LagRad.Magnitude() })
			}),
		number("lag", "rad", "phase by which the whole channel is late, from bar to number, largest of the same fundamentals (rule response)",
			func(c *channel) enforce.Value {
				return c.overWhole(func(r *channels.WholeResponse) bounded.Estimate { return r.Lag.Magnitude() })
			}),
		number("amplitude_change", "1", "change of the whole channel's amplitude against direct current, largest of the same fundamentals (rule response)",
			func(c *channel) enforce.Value {
				return c.overWhole(func(r *channels.WholeResponse) bounded.Estimate { return r.Change.Magnitude() })
			}),
		number("bandwidth", "Hz", "where part, filter and sampling have fallen by 3 dB, or half the sampling rate (rule response)", bandwidth),
	}
}

// overFundamentals returns the largest of what of makes of the fundamentals of continuous and peak duties, or the
// reason that it gives; m is the model of the duty.
func (c *channel) overFundamentals(of func(m *probe.Model, freqHz float64) (e bounded.Estimate, open string,
	err error)) enforce.Value {
	var top largest
	for _, u := range c.m.UsesOf(c.s) {
		if !c.m.MainOf(c.s, &u) || u.Duty.Kind == layout.Fault {
			continue
		}
		e, open, err := of(c.m.For(u.Duty), u.Part.FreqHz)
		if open != "" {
			return undecided("%s", open)
		}
		top.add(e, err)
	}
	return top.value("no continuous or peak duty gives it an alternating current to read")
}

func (c *channel) overGains(pick func(probe.Gain) bounded.Estimate) enforce.Value {
	return c.overFundamentals(func(m *probe.Model, freqHz float64) (bounded.Estimate, string, error) {
		g, err := m.Gain(c.s, freqHz)
		return pick(g), "", err
	})
}

// timingTails are the data without which it is not known how late a channel is.
var timingTails = []string{"part", "bandwidth", "delay", "sampling.rate", "sampling.delay"}

func (c *channel) overWhole(pick func(*channels.WholeResponse) bounded.Estimate) enforce.Value {
	x, open := c.chain()
	if open != "" {
		return undecided("%s", open)
	}
	timing := x.Chain.Timing.Slowest()
	return c.overFundamentals(func(m *probe.Model, freqHz float64) (bounded.Estimate, string, error) {
		r, err := channels.WholeResponseAt(m, c.s, timing, freqHz)
		if err == nil && !r.Complete {
			return bounded.Estimate{}, channels.ToAdd(x.Open(timingTails...)), nil
		}
		return pick(&r), "", err
	})
}

func bandwidth(c *channel) enforce.Value {
	x, open := c.chain()
	if open != "" {
		return undecided("%s", open)
	}
	timing := x.Chain.Timing.Slowest()
	hz := timing.BandwidthHz()
	switch {
	case math.IsNaN(hz):
		return undecided("%s", channels.ToAdd(x.Open("part", "bandwidth", "sampling.rate")))
	case math.IsInf(hz, 0):
		return undecided("nothing that is declared limits it")
	}
	return exactly(hz)
}
