package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Zeroing reports a zero that the controller takes for itself in a window so wide
// that it swallows a real current, or so narrow that it refuses a sound channel.
//
//	Quantity  largest current that the window takes for none over the largest continuous or peak current, pure number;
//	          the same in A against the smallest current that the layout asks to tell from none; least window that a
//	          sound channel needs, A
//	Formula   I = W + |o|: a reading I + o within ±W is taken for zero, and an offset of the other sign hides as much.
//	          Least window |o| + current that flows + 6 times the rms noise
//	Valid     o is the sum of what shifts the zero: offset as delivered, over temperature and life, amplifier,
//	          hysteresis, a zero of the firmware that is not the chain's, Earth and declared surroundings, stray of the
//	          circuits that may be live while the own current is none, as drawn and as tolerances let it in: all others,
//	          with their currents of the continuous and peak duties, but a return and the other two of a balanced set,
//	          their direct currents only where those cancel. Alternating stray counts up to its peak, and not where the
//	          noise of the mean is declared, which then holds it; undecided where one of them is not known
//	Source    common practice: five per cent, as much as a channel is off before calibration
//	Not seen  a controller that knows by other means that no current flows
var Zeroing = engine.Rule{
	ID:      "zeroing",
	Title:   "taking zero swallows a current or refuses a sound channel",
	Level:   finding.Warning,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "swallowed", Unit: "1", Default: 0.05,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the largest current"},
		Reason: "common practice: five per cent of the largest current, as much as a channel is off before calibration",
	}},
	Check: checkZeroing,
}

var zeroTails = []string{"part", "sensitivity.set", "offset.drift", "offset.life", "hysteresis", "temperature"}

func checkZeroing(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		z, missing := channel.ZeroingFromLayout(run.Layout, s)
		if z == nil {
			run.NotApplicable(s.ID, s.Span, "no zero is taken by its controller")
			return
		}
		x, ok := chainOf(run, s)
		if !ok {
			return
		}
		at := run.Layout.ReadoutOf(s).Zeroing
		surroundings, live, err := aroundZero(run, s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		setup, _ := channel.SetupFromLayout(run.Layout, s)
		shift := func(known bool) bounded.Estimate {
			return x.Bounded(func(c *channel.Chain) float64 { return zeroShiftA(c, setup.By, known) })
		}
		total, surely := shift(false).Plus(surroundings), shift(true).Plus(bounded.Exact(surroundings.Low))
		z.OffsetA = total.Value
		open := append(x.Open(zeroTails...), undecidedOnly(missing)...)
		unstated := zeroOnly(x.Unstated(channel.ByNothing))
		open = append(open, unstated...)
		judgeSmallest(run, s, z, total, surely, len(unstated) == 0)
		limit := run.Limit("swallowed", s.ID)
		fullA, ok := usedA(run, s)
		if !ok {
			return
		}
		if fullA == 0 {
			run.Undecided(s.ID, at.Span, "",
				"no continuous or peak duty gives it a current to compare with. Add %s",
				currentKey(run, s, "continuous or peak"))
			return
		}
		rest := fmt.Sprintf("of %s", si.Format(fullA, "A"))
		why := func(swallowedA, offsetA float64) []string {
			return append([]string{fmt.Sprintf("It may take %s for none", si.Format(swallowedA, "A")),
				fmt.Sprintf("The window is ±%s", si.Format(z.WindowA, "A")),
				fmt.Sprintf("Offset and surroundings hide %s more", si.Format(offsetA, "A"))},
				liveWords(run.Layout, &live, at.NoiseA.Set)...)
		}
		if math.IsNaN(total.Low) || math.IsNaN(total.High) || len(unstated) > 0 {
			// What is known may be too much already.
			z.OffsetA = surely.Value
			if a := z.SwallowedA(); a/fullA > limit.Value {
				run.Judge(engine.Case{Object: s.ID, Span: at.WindowA.Span, Limit: limit, WholeA: fullA,
					Found: surely.Plus(bounded.Exact(z.WindowA)).Scale(1 / fullA),
					Says:  "zeroing swallows at least", Rest: rest, Why: why(a, z.OffsetA),
					Remedy: func() string { return zeroingWay(s, fullA, limit.Value) }})
				return
			}
			withoutData(run, s, "", "the zeroing", open)
			return
		}
		swallowed := total.Plus(bounded.Exact(z.WindowA))
		share := swallowed.Scale(1 / fullA)
		verdict := run.Judge(engine.Case{
			Object: s.ID, Span: at.WindowA.Span, Found: share, Limit: limit, WholeA: fullA,
			Says: "zeroing swallows up to", Rest: rest, Why: append(why(swallowed.Value, z.OffsetA), leftWords(z)),
			Ways: func() remedy.Ways {
				w := neat(float64(limit.Value*fullA)-total.High, false)
				least := leastWindow(z, total.High)
				if w > 0 && w >= least {
					return waysOut(run, "", way{fmt.Sprintf("a window of %s instead of %s; it needs %s", si.Format(w, "A"), si.Format(z.WindowA, "A"), si.Format(least, "A")),
						windowAs(s, w)})
				}
				return remedy.Words(zeroingWay(s, fullA, limit.Value))
			},
		})
		if verdict == finding.Fail {
			return
		}
		judgeWindow(run, s, z, total)
	})
}

// aroundZero returns what surroundings and live neighbours hide while zero is taken, in amperes of s.
func aroundZero(run *engine.Run, s *layout.Sensor) (bounded.Estimate, probe.LiveStray, error) {
	_, around, err := run.Model.Ambient(s)
	if err != nil {
		return around, probe.LiveStray{}, err
	}
	live, err := run.Model.LiveStray(s)
	if err != nil {
		return around, live, err
	}
	around = around.Plus(live.SteadyA)
	if !run.Layout.ReadoutOf(s).Zeroing.NoiseA.Set { // else the noise of the mean holds what alternates
		around.High += live.AlternatingA.High
		around.Value += live.AlternatingA.Value
	}
	return around, live, nil
}

// judgeWindow holds the window against what a sound channel may stand off, total of it offset and surroundings.
func judgeWindow(run *engine.Run, s *layout.Sensor, z *channel.Zeroing, total bounded.Estimate) {
	at := run.Layout.ReadoutOf(s).Zeroing
	found := total.Plus(bounded.Exact(math.Abs(z.CurrentA) + float64(channel.NoiseCrest*z.NoiseA)))
	run.Judge(engine.Case{
		Object: s.ID, Cause: "window", Span: at.WindowA.Span, Found: found,
		Limit: engine.Bound{Value: z.WindowA, Unit: "A", Origin: "the window that the layout declares", Span: at.WindowA.Span},
		Says:  "when sound it may stand", Rest: "off as zero is taken",
		Why: []string{fmt.Sprintf("Offset and surroundings make %s", si.Format(total.Value, "A")),
			fmt.Sprintf("The current makes %s, and noise comes on top", orNone(z.CurrentA, "A")), "The window must hold it"},
		Ways: func() remedy.Ways {
			w := neat(found.High, true)
			return waysOut(run, "", way{fmt.Sprintf("a window of %s instead of %s", si.Format(w, "A"), si.Format(z.WindowA, "A")), windowAs(s, w)})
		},
	})
}

// windowAs returns the edit that gives the zero of s another window.
func windowAs(s *layout.Sensor, windowA float64) func(*layout.Layout) *layout.Layout {
	return stagesAs(s, nil, func(r *layout.Stages) { r.Zeroing.WindowA.V = windowA })
}

// liveWords tells the stray of circuits that may be live while zero is taken.
func liveWords(l *layout.Layout, live *probe.LiveStray, averaged bool) []string {
	if live.Duty == nil || live.Largest == layout.None {
		return nil
	}
	out := []string{fmt.Sprintf("Stray of others as in duty %q makes %s of it, most from %s", live.Duty.ID,
		si.Format(live.SteadyA.Value, "A"), l.CircuitName(live.Largest))}
	if a := live.AlternatingA.Value; a > 0 && !averaged {
		out = append(out, fmt.Sprintf("Up to %s alternates, unless the mean that is taken evens it out: say zeroing.noise, the rms of that mean", si.Format(a, "A")))
	}
	return out
}

// leftWords says what stays after zeroing.
func leftWords(z *channel.Zeroing) string {
	if left := z.LeftA(); left > 0 {
		return fmt.Sprintf("%s stay of the current and the noise that are declared", si.Format(left, "A"))
	}
	return ""
}

func leastWindow(z *channel.Zeroing, offsetA float64) float64 {
	w := *z
	w.OffsetA = offsetA
	return w.LeastWindowA()
}

// zeroingWay says what to do where no window is narrow and wide enough.
func zeroingWay(s *layout.Sensor, fullA, limit float64) string {
	return fmt.Sprintf("no window is both wide enough for the offset and below %s of %s: calibrate the zero of %s once and check it against a window around that, or take a part of less offset",
		si.Percent(limit), si.Format(fullA, "A"), s.ID)
}

// zeroShiftA is the largest shift of the zero that the channel itself can have, in
// amperes: all sources that act at no current, each at its worst. With known, those that
// are not known count as none; otherwise they make it NaN. The window lies about the zero that firmware takes for one,
// which is off too where no calibration by takes it out.
func zeroShiftA(c *channel.Chain, by channel.Calibration, known bool) float64 {
	_, sum := c.DeclaredOffA(0, by)
	if known && math.IsNaN(sum) {
		sum = 0
	}
	for _, source := range c.Sources() {
		switch source.Name {
		case "noise", "converter step", "step of the number", "non-linearity":
			continue // no shift of the zero
		}
		a := math.Abs(source.ZeroA)
		if math.IsNaN(a) && (known || math.IsNaN(source.Share) && !zeroSource(source.Name)) {
			continue
		}
		sum += a
	}
	return sum
}

// zeroOnly returns the data that move nothing but the zero: an offset that is not
// given. Tolerances of gain, divider and reference count as given.
func zeroOnly(list []channel.Missing) []channel.Missing {
	var out []channel.Missing
	for _, m := range list {
		if strings.HasSuffix(m.Key, ".offset.initial") || strings.HasSuffix(m.Key, ".amplifier.offset") {
			out = append(out, m)
		}
	}
	return out
}

// zeroSource reports whether what is not known of a source concerns the zero.
func zeroSource(name string) bool {
	switch name {
	case "hysteresis", "offset", "offset over temperature", "offset over life", "amplifier offset":
		return true
	}
	return false
}
