package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/engine"
)

// sampledRipple is what sampling makes of one component with orders above half the rate.
type sampledRipple struct {
	use    probe.Use
	wave   channel.RippleWave
	readA  float64 // as the number shows it
	inStep bool
	alias  channel.Alias
	shiftS float64 // moment of the sample behind the middle of a slope, lateness of part and filter counted
}

// waveOf returns a component in what s reads: a ripple with all orders of its shape.
func waveOf(m *probe.Model, s *layout.Sensor, u *probe.Use) channel.RippleWave {
	one := func(c *waveform.Component) channel.RippleOrder {
		return channel.RippleOrder{FreqHz: c.FreqHz, PeakA: portable.Abs(m.OwnIn(s, c))}
	}
	if !u.Part.Ripple() {
		return channel.WaveOf([]channel.RippleOrder{one(&u.Part)}, false)
	}
	var orders []channel.RippleOrder
	for _, c := range m.Currents(u.Duty).Components {
		if c.Ripple() && c.Group == u.Part.Group {
			orders = append(orders, one(&c))
		}
	}
	return channel.WaveOf(orders, u.Duty.Ripple.Shape.V == layout.Triangle)
}

// aliases judges what sampling shows as another current of all components of a duty above half the rate, in the worst duty:
// each stands at any phase against the others, so that they add; false when there is none.
func aliases(run *engine.Run, s *layout.Sensor, x *channel.Sensed) bool {
	fullA, ok := usedA(run, s)
	if !ok {
		return true
	}
	t := x.Chain.Timing
	var list []dutyAlias
	for _, u := range run.Model.UsesOf(s) {
		if u.Duty.Kind == layout.Fault || run.Model.MainOf(s, &u) || fullA == 0 {
			continue
		}
		if math.IsNaN(t.RateHz) {
			if u.Part.Ripple() {
				withoutData(run, s, "alias", "the ripple", x.Open("sampling.rate"))
				return true
			}
			continue
		}
		wave := waveOf(run.Model, s, &u)
		if !(t.RateHz > 0) || wave.Orders[len(wave.Orders)-1].FreqHz < t.RateHz/2 {
			continue
		}
		g, err := run.Model.For(u.Duty).Gain(s, u.Part.FreqHz)
		if err != nil {
			undecided(run, s, "alias", err)
			return true
		}
		if n := len(list); n == 0 || list[n-1].use.Duty != u.Duty {
			list = append(list, dutyAlias{})
		}
		list[len(list)-1].add(sampled(t, u, wave, channel.FieldGain(g)))
	}
	drawn, left := drawnAbove(run, s, t, fullA)
	if len(list) == 0 {
		if drawn == nil || !(left > run.Limit("alias", s.ID).Value*fullA) {
			return false
		}
		run.Undecided(s.ID, timingPlace(run, s), "alias",
			"sampling may show up to %s of %s of its corners as other currents, in %q. "+
				"What its points draw at half the rate of %s and above is not followed order by order. That is up to %s",
			si.Percent(left/fullA), si.Format(fullA, "A"), drawn.ID, si.Format(t.RateHz, "Hz"), si.Format(left, "A"))
		return true
	}
	worst, timed := &list[0], false
	for i := range list {
		timed = timed || list[i].timed
		if list[i].sumA > worst.sumA {
			worst = &list[i]
		}
	}
	known, complete := t.KnownOnly()
	limit := run.Limit("alias", s.ID)
	found := bounded.Exact(worst.sumA / fullA)
	found.High += left / fullA
	if !complete && (timed || !(found.Value <= limit.Value)) {
		// A lateness that is not known moves the moment either way; a low-pass that
		// is not known would take some of the ripple away.
		withoutData(run, s, "alias", "the ripple", x.Open(timingTails...))
		return true
	}
	run.Judge(engine.Case{
		Object: s.ID, Cause: "alias", Span: timingPlace(run, s), Found: found, Limit: limit,
		Says: fmt.Sprintf("sampling shows the %s as", worst.use.Part.Role), Rest: fmt.Sprintf("of %s", si.Format(fullA, "A")), In: worst.use.Duty.ID,
		Why: []string{fmt.Sprintf("It is %s peak at %s", si.Format(worst.wave.PeakA, "A"), si.Format(worst.use.Part.FreqHz, "Hz")),
			fmt.Sprintf("Sampling at %s shows it as %s %s%s", si.Format(known.RateHz, "Hz"), orNone(worst.readA, "A"), worst.where(), worst.others())},
		Remedy: func() string {
			return aliasRemedy(t, &worst.sampledRipple, limit.Value*fullA*worst.readA/worst.sumA)
		},
	})
	return true
}

// drawnAbove returns the continuous or peak duty whose points may hold most at half the rate and above, behind part,
// filter and window, and how much, A; nil where points draw nothing there or there is no rate.
func drawnAbove(run *engine.Run, s *layout.Sensor, t channel.Timing, fullA float64) (worst *layout.Duty, mostA float64) {
	if !(t.RateHz > 0) || fullA == 0 {
		return nil, 0
	}
	known, _ := t.Quickest().KnownOnly()
	known.Hold = false
	passes := known.At(t.RateHz/2, 1).Amplitude
	if windows := t.RateHz / 2 * known.ApertureS; windows > 0.5 { // a long window hides one order and lets others by
		known.ApertureS = 0
		passes = known.At(t.RateHz/2, 1).Amplitude / (math.Pi * windows)
	}
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		if a := passes * run.Model.Currents(d).FromHzA(s.Circuit, t.RateHz/2); a > mostA {
			worst, mostA = d, a
		}
	}
	return worst, mostA
}

// dutyAlias is what sampling makes of all components of a duty: the largest of them, the sum and how many.
type dutyAlias struct {
	sampledRipple
	sumA  float64
	count int
	timed bool // one is sampled in step, so that its size hangs on the moment
}

func (d *dutyAlias) add(r sampledRipple) {
	if d.count == 0 || r.readA > d.readA {
		d.sampledRipple = r
	}
	d.sumA += r.readA
	d.count++
	d.timed = d.timed || r.inStep
}

// others says how much the other components make with it.
func (d *dutyAlias) others() string {
	if d.count == 1 {
		return ""
	}
	return fmt.Sprintf(", with %d more of that duty up to %s", d.count-1, si.Format(d.sumA, "A"))
}

// where says at which frequency a component appears.
func (r *sampledRipple) where() string {
	switch {
	case r.inStep:
		return fmt.Sprintf("beside the mean, in step with the carrier and %s late of the middle of a slope", durationOf(math.Abs(r.shiftS)))
	case r.alias.Constant:
		return "of direct current, whatever the moment makes it"
	}
	return "at " + si.Format(r.alias.FreqHz, "Hz")
}

func durationOf(s float64) string {
	if s == 0 {
		return "not"
	}
	return si.Format(s, "s")
}

// sampled returns what the number shows of a component. In step with the carrier the
// moment decides, and the worse end of the filter's tolerance counts; it is never more than the
// component itself behind part and filter.
func sampled(t channel.Timing, u probe.Use, wave channel.RippleWave, field complex128) sampledRipple {
	known, _ := t.Quickest().KnownOnly()
	out := sampledRipple{use: u, wave: wave, alias: known.AliasOfWave(wave, field)}
	out.readA = out.alias.PeakA
	hz := u.Part.FreqHz
	// A harmonic stands at any phase against the carrier; only its ripple is drawn by it.
	if !u.Part.Ripple() || !(t.CarrierHz > 0) || !whole(hz/t.CarrierHz) || !whole(2*hz/t.RateHz) {
		return out
	}
	out.inStep = true
	moment := 0.0
	for _, end := range []channel.Timing{t, t.Quickest(), t.Slowest()} {
		end, _ = end.KnownOnly()
		shift := end.ShiftS - end.Part.DelayS() - end.PartDelayS - end.Filter.DelayS()
		if e := wave.MomentErrorA(shift); e >= moment {
			moment, out.shiftS = e, shift
		}
	}
	out.readA = math.Min(out.readA, moment)
	return out
}

// whole reports whether x is a whole number above 0: asked of a ripple over the carrier, and of its half periods from one
// sample to the next, so that each falls on the middle of a slope.
func whole(x float64) bool { return math.Abs(x-math.Round(x)) <= 1e-6 && x > 0.5 }

// aliasRemedy names the moment to sample at, or the filter that takes enough of
// the component away.
func aliasRemedy(t channel.Timing, r *sampledRipple, limitA float64) string {
	moment := ""
	switch {
	case !r.use.Part.Ripple(): // no moment is better than another: see sampled
	case !whole(2 * r.use.Part.FreqHz / t.RateHz):
		moment = fmt.Sprintf("sample at %s or a whole part of that, in the middle of a slope of the ripple "+
			"(readout.sampling.carrier, rate and shift)", si.Format(2*r.use.Part.FreqHz, "Hz"))
	case t.CarrierHz > 0:
		shift := neat(t.Part.DelayS()+t.PartDelayS+t.Filter.DelayS(), false)
		later := t
		later.ShiftS = shift
		if a := sampled(later, r.use, r.wave, 1); a.inStep && a.readA <= limitA {
			moment = fmt.Sprintf("sample %s after the middle of a slope of the ripple, as late as part and filter are "+
				"(readout.sampling.shift)", si.Format(shift, "s"))
		}
	default:
		moment = "sample in step with the carrier, in the middle of a slope of its ripple (readout.sampling.carrier and shift)"
	}
	filter := ""
	attenuated := func(hz float64) float64 {
		f := t
		f.Filter.CornerHz = hz
		if f.Filter.Order == 0 {
			f.Filter.Order = 1
		}
		f.CarrierHz = 0
		return sampled(f, r.use, r.wave, 1).readA
	}
	if low, high := r.use.Part.FreqHz*1e-6, r.use.Part.FreqHz; attenuated(low) <= limitA {
		for range 60 {
			if mid := math.Sqrt(low * high); attenuated(mid) <= limitA {
				low = mid
			} else {
				high = mid
			}
		}
		filter = fmt.Sprintf("a filter of %s, which makes the channel slower", si.Format(neat(low*0.995, false), "Hz"))
	}
	if moment == "" && filter == "" {
		return "a higher sampling rate, with a filter below half of it"
	}
	return orWay(moment, filter)
}
