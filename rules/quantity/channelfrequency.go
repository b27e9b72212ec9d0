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
		number("frequency", "Hz", "highest fundamental frequency of the own bar's current in all duties; 0 for direct current only",
			func(c *channel) enforce.Value { return exactly(c.highestHz(c.s.Reads)) }),
		number("field_change", "1", "change of the own field's amplitude against direct current by bar and shield, largest of the fundamentals of continuous and peak duties (rule gain-with-frequency)",
			func(c *channel) enforce.Value {
				return c.overFundamentals(func(g probe.Gain, _ float64) (bounded.Estimate, string) { return g.Change.Magnitude(), "" })
			}),
		number("field_lag", "rad", "phase by which bar and shield make the own field late, largest of the same fundamentals",
			func(c *channel) enforce.Value {
				return c.overFundamentals(func(g probe.Gain, _ float64) (bounded.Estimate, string) { return g.LagRad.Magnitude(), "" })
			}),
		number("lag", "rad", "phase by which the whole channel is late, from bar to number, largest of the same fundamentals (rule response)",
			func(c *channel) enforce.Value {
				return c.overWhole(func(g probe.Gain, electric channels.Response) bounded.Estimate {
					return g.LagRad.Plus(bounded.Exact(electric.LagRad)).Magnitude()
				})
			}),
		number("amplitude_change", "1", "change of the whole channel's amplitude against direct current, largest of the same fundamentals (rule response)",
			func(c *channel) enforce.Value {
				return c.overWhole(func(g probe.Gain, electric channels.Response) bounded.Estimate {
					return g.Change.Plus(bounded.Exact(1)).Scale(electric.Amplitude).Plus(bounded.Exact(-1)).Magnitude()
				})
			}),
		number("bandwidth", "Hz", "where part, filter and sampling have fallen by 3 dB, or half the sampling rate (rule response)", bandwidth),
	}
}

// highestHz returns the highest fundamental frequency of the current of a bar.
func (f *Facts) highestHz(b layout.BarIndex) float64 {
	top := 0.0
	for _, u := range f.m.Uses() {
		if u.Part.Role == "fundamental" && u.Part.PeakA[b] != 0 {
			top = math.Max(top, u.Part.FreqHz)
		}
	}
	return top
}

// overFundamentals returns the largest of what pick makes of the gain of the field
// at the fundamentals of continuous and peak duties, or the reason that it gives.
func (c *channel) overFundamentals(pick func(g probe.Gain, freqHz float64) (e bounded.Estimate, open string)) enforce.Value {
	var top largest
	for _, u := range c.m.Uses() {
		if u.Part.Role != "fundamental" || u.Duty.Kind == layout.Fault || u.Part.PeakA[c.s.Reads] == 0 {
			continue
		}
		g, err := c.m.For(u.Duty).Gain(c.s, u.Part.FreqHz)
		if err != nil {
			top.add(bounded.Estimate{}, err)
			continue
		}
		e, open := pick(g, u.Part.FreqHz)
		if open != "" {
			return undecided("%s", open)
		}
		top.add(e, nil)
	}
	return top.value("no continuous or peak duty gives its bar an alternating current")
}

// timingTails are the data without which it is not known how late a channel is.
var timingTails = []string{"part", "bandwidth", "delay", "sampling.rate", "sampling.delay"}

func (c *channel) overWhole(pick func(g probe.Gain, electric channels.Response) bounded.Estimate) enforce.Value {
	x, open := c.chain()
	if open != "" {
		return undecided("%s", open)
	}
	timing := x.Chain.Timing.Slowest()
	return c.overFundamentals(func(g probe.Gain, freqHz float64) (bounded.Estimate, string) {
		electric := timing.At(freqHz, 1)
		if math.IsNaN(electric.LagRad) || math.IsNaN(electric.Amplitude) {
			return bounded.Estimate{}, toAdd(x.Open(timingTails...))
		}
		return pick(g, electric), ""
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
		return undecided("%s", toAdd(x.Open("part", "bandwidth", "sampling.rate")))
	case math.IsInf(hz, 0):
		return undecided("nothing that is declared limits it")
	}
	return exactly(hz)
}
