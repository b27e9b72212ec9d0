package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// PhaseSum reports three channels whose sum would trip on what is none, or whose
// errors make too much ripple.
//
//	Quantity  least threshold on the sum of three channels that normal use does not trip, A; ripple at one and two times
//	          the electrical frequency over the amplitude, pure number
//	Formula   errors as phasors of the balanced set: own gain and lag, unequal crosstalk (known), and gain, lag, crosstalk
//	          and offset within their expanded uncertainties (k = 2) at their worst signs; threshold plus 6 times √3 the
//	          rms noise. In the frame that turns with the set an offset stands for ripple at once, a mismatch at twice the
//	          electrical frequency: 2 % between two measured phases 1.155 %, 1 A on one of them 1.155 A. The Earth and a
//	          declared uniform field are one field over all three: channels with parallel axes err alike, which is a sum
//	          and no ripple. Alternating stray of circuits beside the set adds its own sum and ripple
//	Valid     balanced sets, those of one duty together at any phase, after the calibration that the layout declares; given as three-phase or as three currents;
//	          undecided where a tolerance is not given, where a continuous or peak duty has other alternating currents in the
//	          three, or none has such a set, and where a channel reads one leg of its circuit
//	Source    space vectors (W. Leonhard, Control of Electrical Drives, 3rd ed., chapter 10, from memory); two per cent of
//	          ripple is common practice; 6 times the rms is crossed once in a thousand million readings
//	Not seen  currents that truly leak away, harmonics of the set, channels that are not sampled at one moment, direct currents
//	          alone
var PhaseSum = engine.Rule{
	ID:      "phase-sum",
	Title:   "the sum of three channels is false, or their errors make ripple",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "ripple", Unit: "1", Default: 0.02, Of: finding.Share{Whole: finding.FullScale, Words: "of the amplitude"},
		Reason: "common practice: two per cent of the amplitude, which a torque or a power shows as much",
	}},
	Check: checkPhaseSum,
}

func checkPhaseSum(run *engine.Run) {
	if len(run.Layout.PhaseSums) == 0 {
		run.NotApplicable("", run.Layout.Span, "no phase-sums name three channels")
		return
	}
	for i := range run.Layout.PhaseSums {
		judgeSum(run, &run.Layout.PhaseSums[i])
	}
}

// summed is what the errors of three channels do in one duty.
type summed struct {
	duty       *layout.Duty
	trio       channel.Trio
	amplitudeA float64
	known      channel.FalseSum
	falseA     float64 // at the worst of the tolerances, with what sets beside it in the duty add
	steadyA    float64 // the part of it that is there once, whatever the number of sets
	noiseA     float64
	ripple     channel.Ripple
	beside     channel.Beside
	derived    bool
	after      channel.After
	tol        channel.Tolerances
	missing    []string
}

// thresholdAim is the aim that a threshold can be moved for.
const thresholdAim = "the least threshold"

func (s *summed) leastA() float64 { return channel.LeastImbalanceA(s.falseA, s.noiseA) }
func (s *summed) rippleShare() float64 {
	return (s.ripple.OnceA + s.ripple.TwiceA + s.beside.RippleA) / s.amplitudeA
}

func judgeSum(run *engine.Run, sum *layout.PhaseSum) {
	name := sumName(run.Layout, sum)
	for _, c := range sum.Channels {
		if c != layout.None && run.Layout.Sensors[c].Leg != layout.None {
			s := &run.Layout.Sensors[c]
			run.Undecided(name, sum.Span, "", "the sum cannot be judged. Sensor %q reads one leg alone: let it read %s, of which the set speaks",
				s.ID, run.Layout.CircuitName(s.Circuit))
			return
		}
	}
	all, err := sumsIn(run, sum)
	switch {
	case err != nil:
		run.Undecided(name, sum.Span, "", "the sum cannot be judged. %s", reason(err))
		return
	case len(all) == 0:
		run.Undecided(name, sum.Span, "", "the sum cannot be judged. No continuous or peak duty gives its bars a balanced alternating set: add one with three-phase")
		return
	}
	for _, s := range all {
		if len(s.missing) > 0 {
			run.Undecided(name, sum.Span, s.duty.ID, "the sum cannot be judged, in %q. Add %s", s.duty.ID,
				strings.Join(s.missing, ", "))
			return
		}
	}
	if d := noSet(run.Layout, sum, all); d != nil {
		run.Undecided(name, sum.Span, d.ID, "the sum cannot be judged, in %q. The alternating currents of the duty are no balanced set", d.ID)
	}
	if worst := largestOf(all, (*summed).leastA); sum.ThresholdA.Set {
		judgeThreshold(run, sum, name, worst)
	}
	worst := largestOf(all, (*summed).rippleShare)
	limit := rippleLimit(run, sum).Over(sum.Ripple, "ripple")
	run.Judge(engine.Case{
		Object: name, Cause: worst.duty.ID + ", ripple", Span: sum.Span, Found: bounded.Exact(worst.rippleShare()),
		Limit: limit,
		Says:  "errors make a ripple of up to", Rest: "of the amplitude", In: worst.duty.ID,
		Why: append([]string{
			fmt.Sprintf("Offsets make %s at the electrical frequency", si.Format(worst.ripple.OnceA, "A")),
			fmt.Sprintf("Mismatch makes %s at twice that frequency", si.Format(worst.ripple.TwiceA, "A")),
			besideWords(worst.beside.RippleA), leastWords(sum, largestOf(all, (*summed).leastA))}, worst.words()...),
		Remedy: func() string {
			return sumRemedy(run, sum, worst, aim{"the ripple", (*summed).rippleShare, limit.Value, si.Percent})
		},
	})
}

// judgeThreshold judges the threshold that a sum declares against the set that needs the highest.
func judgeThreshold(run *engine.Run, sum *layout.PhaseSum, name string, worst *summed) {
	if worst.derived {
		run.Fail(name, sum.ThresholdA.Span, nil, "measure all three phases, or give up the threshold",
			"the sum tells nothing: one of the three is taken as minus the other two. No current that leaks away reaches the threshold of %s", si.Format(sum.ThresholdA.V, "A"))
		return
	}
	run.Judge(engine.Case{
		Object: name, Cause: worst.duty.ID + ", threshold", Span: sum.ThresholdA.Span,
		Found: bounded.Exact(worst.leastA()),
		Limit: engine.Bound{Value: sum.ThresholdA.V, Unit: "A", Origin: "the threshold that the layout declares"},
		Says:  "the false sum asks for a threshold of", In: worst.duty.ID,
		Why: append([]string{
			fmt.Sprintf("The false sum reaches %s, and noise comes on top", si.Format(worst.falseA, "A")),
			fmt.Sprintf("Unequal gain, lag and crosstalk, which are known, make %s of it", si.Format(worst.known.PeakA, "A")),
			besideWords(worst.beside.SumA)}, worst.words()...),
		Remedy: func() string {
			return sumRemedy(run, sum, worst, aim{thresholdAim, (*summed).leastA, sum.ThresholdA.V,
				func(v float64) string { return si.Format(v, "A") }})
		},
	})
}

func (s *summed) words() []string {
	return []string{
		fmt.Sprintf("The amplitude is %s", si.Format(s.amplitudeA, "A")),
		fmt.Sprintf("The channels are alike to %s and %s %s", si.Percent(s.tol.GainShare), si.Format(s.tol.OffsetA, "A"), s.after),
		fmt.Sprintf("They stand in a common field of %s", si.Format(s.beside.FieldA, "A")),
	}
}

// besideWords tells what circuits beside the set add.
func besideWords(a float64) string {
	if a == 0 {
		return ""
	}
	return fmt.Sprintf("Alternating currents beside the set make %s", si.Format(a, "A"))
}

// leastWords tells the threshold that would hold where none is declared.
func leastWords(sum *layout.PhaseSum, s *summed) string {
	if s.derived || sum.ThresholdA.Set {
		return ""
	}
	return fmt.Sprintf("A threshold on the sum would need %s", si.Format(s.leastA(), "A"))
}

func sumName(l *layout.Layout, sum *layout.PhaseSum) string {
	var names []string
	for _, c := range sum.Channels {
		switch {
		case c != layout.None:
			names = append(names, l.Sensors[c].ID)
		case sum.DerivedBar != layout.None:
			names = append(names, l.Bars[sum.DerivedBar].ID)
		}
	}
	return strings.Join(names, " + ")
}

// largestOf returns the first sum of which a number is largest; NaN counts as the largest.
func largestOf(all []*summed, of func(*summed) float64) *summed {
	worst := all[0]
	for _, s := range all[1:] {
		if !(of(s) <= of(worst)) && !math.IsNaN(of(worst)) {
			worst = s
		}
	}
	return worst
}

// sumIn returns the errors in duty d after the kind given, or the declared one.
func sumIn(m *probe.Model, trio channel.Trio, d *layout.Duty, after *channel.After) (*summed, error) {
	out := &summed{duty: d, trio: trio, amplitudeA: trio.AmplitudeA, derived: trio.Derived >= 0}
	first := true
	for _, s := range trio.Sensors {
		if s == nil {
			continue
		}
		a, err := channel.AccuracyOf(m, s, d)
		if err != nil {
			return nil, err
		}
		kind := a.Declared
		if after != nil {
			kind = *after
		}
		// Channels of unequal calibration count as the least of them.
		if first || kind < out.after {
			out.after = kind
		}
		first = false
		gain := a.Gain().AtOf(1, kind, channel.InGroups(channel.GroupGain, channel.GroupZero, channel.GroupDrift, channel.GroupBench))
		constant := channel.InGroups(channel.GroupZero, channel.GroupGain, channel.GroupDrift, channel.GroupForeign, channel.GroupBench, channel.GroupStray)
		zero := a.AtOf(0, kind, func(n *channel.AccuracyLine) bool {
			return constant(n) && !n.Alternating && !channel.SharedField(n)
		})
		let := a.AtOf(0, kind, channel.InGroups(channel.GroupLetIn))
		out.missing = append(append(append(out.missing, gain.Missing...), zero.Missing...), let.Missing...)
		out.tol.GainShare = math.Max(out.tol.GainShare, gain.TotalA)
		out.tol.OffsetA = math.Max(out.tol.OffsetA, zero.TotalA)
		// Of two other bars, half each.
		out.tol.CrossShare = math.Max(out.tol.CrossShare, let.TotalA/out.amplitudeA/2)
		x, err := channel.Of(m, s)
		if err != nil {
			return nil, err
		}
		out.tol.LagRad = math.Max(out.tol.LagRad, x.Chain.Timing.LagTol(trio.FreqHz))
		r := x.Chain.Loudest()
		out.noiseA = math.Max(out.noiseA, r.NoiseA)
	}
	p, unknown, err := trio.Phases(m, trio.FreqHz, out.after)
	if err != nil {
		return nil, err
	}
	out.missing = once(append(out.missing, unknown...))
	if len(out.missing) > 0 {
		return out, nil
	}
	if v := out.tol.LagRad + out.noiseA + out.tol.GainShare + out.tol.OffsetA; math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, &field.Unknown{Reason: "noise or lag of a channel is not known"}
	}
	if out.beside, err = trio.Beside(m, d, out.after); err != nil {
		return nil, err
	}
	out.known = p.FalseSum(out.amplitudeA)
	if !out.derived {
		still := out.tol
		still.OffsetA = 0
		offsetA := portable.Hypot(3*out.tol.OffsetA, twoSigma*out.beside.FieldSumA)
		out.steadyA = offsetA + out.beside.SumA
		out.falseA = out.known.PeakA + channel.WorstFalseSumA(out.amplitudeA, still) + out.steadyA
	}
	fixed, more := p.Ripple(out.amplitudeA), channel.WorstRipple(out.amplitudeA, out.tol, trio.Derived)
	onceA := portable.Hypot(more.OnceA, twoSigma*out.beside.FieldOnceA)
	out.ripple = channel.Ripple{OnceA: fixed.OnceA + onceA, TwiceA: fixed.TwiceA + more.TwiceA}
	return out, nil
}

// twoSigma is k = 2 times the standard uncertainty of a rectangular input of half width 1 (JCGM 100:2008, 4.3.7).
var twoSigma = 2 / math.Sqrt(3)

// once drops repeated words.
func once(words []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, w := range words {
		if !seen[w] {
			seen[w] = true
			out = append(out, w)
		}
	}
	return out
}

// aim is what a remedy works at: one number of a sum, and how far down it must come.
type aim struct {
	name  string
	of    func(*summed) float64
	limit float64
	print func(float64) string
}

// sumRemedy names the least threshold, where it is one that fails, and the first
// calibration that passes, else the one that brings most.
func sumRemedy(run *engine.Run, sum *layout.PhaseSum, worst *summed, to aim) string {
	threshold := ""
	if to.name == thresholdAim {
		threshold = "a threshold of " + si.Format(neat(worst.leastA(), true), "A")
	}
	best := worst
	for _, after := range channel.Afters() {
		if after <= worst.after {
			continue
		}
		sets, err := setsOf(run, sum, worst.duty, &after)
		if err != nil || slices.ContainsFunc(sets, func(s *summed) bool { return len(s.missing) > 0 }) {
			continue
		}
		s := sets[slices.IndexFunc(sets, func(s *summed) bool { return s.trio == worst.trio })]
		if to.of(s) <= to.limit {
			return orWay(threshold, fmt.Sprintf("calibrate: %s %s is %s", s.after, to.name, to.print(to.of(s))))
		}
		if to.of(s) < 0.95*to.of(best) {
			best = s
		}
	}
	const alike = "channels that are more alike, with smaller drift of gain and zero"
	if best == worst {
		return orWay(threshold, alike)
	}
	return orWay(threshold, fmt.Sprintf("calibrate, %s %s is %s, and %s", best.after, to.name, to.print(to.of(best)), alike))
}

// rippleLimit returns the tightest limit that a house gives one of the channels.
func rippleLimit(run *engine.Run, sum *layout.PhaseSum) engine.Bound {
	limit, first := run.Limit("ripple", ""), true
	for _, i := range sum.Channels {
		if i < 0 || int(i) >= len(run.Layout.Sensors) {
			continue
		}
		if b := run.Limit("ripple", run.Layout.Sensors[i].ID); first || b.Value < limit.Value {
			limit, first = b, false
		}
	}
	return limit
}
