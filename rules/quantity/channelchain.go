package quantity

import (
	"math"

	"busgauss/model/bounded"
	channels "busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/rules/enforce"
)

// chainQuantities are those of the stages behind the element.
func chainQuantities() []definition[*channel] {
	return []definition[*channel]{
		number("output_per_ampere", "V/A", "change of the part's output voltage per ampere that it reads",
			func(c *channel) enforce.Value {
				return c.output(func(voltsPerA float64) float64 { return voltsPerA })
			}),
		number("output_swing", "V", "change of the part's output voltage from the lowest to the highest current of continuous and peak duties and of the claimed range, were it not cut off",
			func(c *channel) enforce.Value {
				reach, err := channels.ReachOf(c.m, c.s, layout.Continuous, layout.Peak)
				if err != nil {
					return undecided("%v", err)
				}
				return c.output(func(voltsPerA float64) float64 { return voltsPerA * (reach.HighA - reach.LowA) })
			}),
		number("range_taken", "1", "largest reading of all duties and of the claimed range, other circuits and foreign fields counted, over that at which the first stage clips, tolerances at their worst (rule output-chain)", rangeTaken),
		number("step", "A", "one step of the converter, or one count of the number where that is coarser",
			func(c *channel) enforce.Value {
				return c.resolution(func(r channels.Resolution) float64 { return max(r.StepA, r.NumberStepA) }, "part", "sensitivity.set", "converter", "converter.high", "converter.bits", "number.")
			}),
		number("noise", "A", "rms of the number: part, amplifier, converter and steps, in the band of part and filter",
			func(c *channel) enforce.Value {
				return c.resolution(func(r channels.Resolution) float64 { return r.NoiseA })
			}),
		number("resolution", "A",
			"smallest current that one reading tells from none: six times the rms noise and one step (rule resolution)",
			func(c *channel) enforce.Value {
				return c.resolution(func(r channels.Resolution) float64 { return r.SmallestA(channels.NoiseFactor) })
			}),
		number("firmware_error", "1", "error of every reading by the slope that firmware declares, against the one computed from the layout (rule output-chain)", firmwareError),
		number("trip_current", "A", "current at which the channel must trip, as its need says",
			func(c *channel) enforce.Value {
				return c.trip(func(t *channels.Trip, _ float64) float64 { return t.CurrentA })
			}),
		number("trip_time", "s",
			"from the trip current on a ramp to the end of the current's rise, all delays at their longest (rule trip)",
			func(c *channel) enforce.Value {
				return c.trip(func(_ *channels.Trip, totalS float64) float64 { return totalS })
			}),
		number("trip_overshoot", "A", "by how much the fault current outruns the trip in trip_time (rule trip)",
			func(c *channel) enforce.Value {
				return c.trip(func(t *channels.Trip, totalS float64) float64 { return t.OvershootA(totalS) })
			}),
	}
}

// sensed is a chain, or the reason why there is none.
type sensed struct {
	x    *channels.Sensed
	open string
}

func (c *channel) anyChain() (*channels.Sensed, string) {
	got := once(c.Facts, "chain of "+c.s.ID, func() sensed {
		x, err := channels.Of(c.m, c.s)
		if err != nil {
			return sensed{open: err.Error()}
		}
		return sensed{x: x}
	})
	return got.x, got.open
}

// chain returns the chain of a channel that has a readout.
func (c *channel) chain() (*channels.Sensed, string) {
	if !c.l.ReadoutOf(c.s).Given {
		return nil, "nothing is declared behind its part: add a readout"
	}
	return c.anyChain()
}

// decided makes a value of a bounded number; where it is none, the data that are
// missing say why.
func decided(x *channels.Sensed, e bounded.Estimate, tails ...string) enforce.Value {
	if v := valued(e); v.Known {
		return v
	}
	return undecided("%s", channels.ToAdd(x.Open(tails...)))
}

func (c *channel) output(of func(voltsPerA float64) float64) enforce.Value {
	x, open := c.anyChain()
	if open != "" {
		return undecided("%s", open)
	}
	return decided(x, x.Bounded(func(ch *channels.Chain) float64 {
		line, ok := ch.Line(channels.OutputStage)
		if !ok {
			return math.NaN()
		}
		return of(math.Abs(line.PerA))
	}), "part", "sensitivity.set", "output.")
}

// resolution takes the filter at the high end of its corner, where noise passes it
// most.
func (c *channel) resolution(pick func(channels.Resolution) float64, tails ...string) enforce.Value {
	x, open := c.chain()
	switch {
	case open != "":
		return undecided("%s", open)
	case x.Chain.Converter == nil:
		return undecided("%s", channels.ToAdd(x.Open("converter", "converter.high", "converter.bits")))
	}
	if len(tails) == 0 {
		tails = []string{"part", "sensitivity.set", "noise", "bandwidth", "amplifier.", "converter", "converter.high", "converter.bits", "number."}
	}
	return decided(x, x.Bounded(func(ch *channels.Chain) float64 { return pick(ch.Loudest()) }), tails...)
}

func rangeTaken(c *channel) enforce.Value {
	x, open := c.chain()
	if open != "" {
		return undecided("%s", open)
	}
	fill, err := channels.FillOf(c.m, c.s, x, layout.Continuous, layout.Peak, layout.Fault)
	if err == nil {
		err = fill.Open
	}
	if err != nil {
		return undecided("%v", err)
	}
	tails := []string{"part", "pair", "linear-range", "sensitivity.set", "output.zero", "output.low", "output.high", "amplifier.", "converter", "converter.high", "converter.bits", "number."}
	if x.Chain.Converter == nil {
		return undecided("%s", channels.ToAdd(x.Open(tails...)))
	}
	var top largest
	for _, positive := range []bool{true, false} {
		if fill.Way(positive).FieldT.Value == 0 {
			continue
		}
		taken := x.Taken(fill.Way(positive), positive)
		switch {
		case len(taken.Clip.Unknown) > 0:
			return undecided("%s", channels.ToAdd(x.Open(tails...)))
		case taken.Swallows:
			return undecided("the %s is at the end of its range without current", taken.Clip.LeastStage)
		}
		top.add(taken.Share, nil)
	}
	return top.value("no duty and no need gives it a current to read")
}

func firmwareError(c *channel) enforce.Value {
	x, open := c.chain()
	if open != "" {
		return undecided("%s", open)
	}
	if x.Chain.Firmware == nil {
		return undecided("no slope of firmware is declared")
	}
	return decided(x, x.Bounded(func(ch *channels.Chain) float64 {
		d, ok := ch.CheckFirmware()
		if !ok {
			return math.NaN()
		}
		return d.Relative
	}).Magnitude())
}

// trip takes what is asked of a trip and the longest time that the chain needs.
func (c *channel) trip(pick func(t *channels.Trip, totalS float64) float64) enforce.Value {
	t, missing := channels.TripFromLayout(c.l, c.s)
	if t == nil {
		return undecided("no trip is asked of it")
	}
	x, open := c.chain()
	if open != "" {
		return undecided("%s", open)
	}
	timing := x.Tapped(t.Tap).Chain.Timing.Slowest()
	_, totalS := timing.Delays(t)
	if v := pick(t, totalS); !math.IsNaN(v) && !math.IsInf(v, 0) {
		return exactly(v)
	}
	var gaps []channels.Missing
	for _, m := range append(missing, x.Open(timingTails...)...) {
		if m.Undecided {
			gaps = append(gaps, m)
		}
	}
	return undecided("%s", channels.ToAdd(gaps))
}
