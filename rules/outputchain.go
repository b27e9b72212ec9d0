package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// OutputChain reports a channel in which some stage between element and number
// clips before the largest current, or whose zero lies outside a stage, or whose
// firmware declares another conversion than the chain gives.
//
//	Quantity  largest current of the own bar in each direction over the current at which the first stage clips with
//	          tolerances at their worst, pure number; declared over computed amperes per count, less one, and what is
//	          told at no current over the largest current, pure numbers
//	Formula   each stage is a straight line over the current, q = q0 + k I, from the one before it: field per ampere,
//	          sensitivity, gain, divider, converter, number; it clips at (end − q0)/k
//	Valid     stages are straight up to their ends; undecided where an end or a stage of a declared readout is not known
//	Source    the ends are the data of part and readout; a conversion one per cent off is common practice. What a
//	          declared calibration with current takes out is not held against the constant
//	Not seen  fields of other bars, which fill the range as well (linear-range counts them); the element, where no
//	          readout is declared (linear-range again); load on a divider's tap
var OutputChain = engine.Rule{
	ID:      "output-chain",
	Title:   "a channel clips, or firmware converts it wrongly",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 1, Of: finding.Share{Whole: finding.AnotherQuantity, Words: "of the range"},
		Reason: "the ends that part and readout declare",
	}, {
		Key: "constant", Unit: "1", Default: 0.01, Of: finding.Share{Whole: finding.AnotherQuantity, Words: "of the reading"},
		Reason: "common practice: one per cent of reading for the constant, of the largest current for the zero",
	}},
	Check: checkOutputChain,
}

func checkOutputChain(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		part, readout := run.Layout.PartOf(s), hasReadout(run, s)
		switch {
		case part == nil && !readout:
			run.NotApplicable(s.ID, s.Span, "sensor %q names no part and has no readout", s.ID)
			return
		case !readout && !part.ZeroV.Set && !part.LowV.Set && !part.HighV.Set:
			run.NotApplicable(s.ID, s.Span, "nothing is declared behind the element of sensor %q", s.ID)
			return
		}
		x, ok := chainOf(run, s)
		if !ok {
			return
		}
		if !readout {
			// The part alone: its element is what linear-range judges.
			x = x.Edited(func(c *channel.Chain) { c.Element.LowT, c.Element.HighT = math.Inf(-1), math.Inf(1) })
		}
		need := currentsOf(run.Model, s, layout.Continuous, layout.Peak, layout.Fault)
		judgeClipping(run, s, x, need)
		judgeFirmware(run, s, x, need.largest())
	})
}

// clippingTails are the data without which it cannot be said where a chain clips.
var clippingTails = []string{"part", "pair", "linear-range", "sensitivity.set", "output.zero", "output.low", "output.high",
	"amplifier.", "converter", "converter.high", "converter.bits", "number."}

// clipping is what one direction of current says of a chain.
type clipping struct {
	sign     float64
	needA    float64
	what     string
	clip     channel.Clip
	share    bounded.Estimate // needA over the least clipping current
	unknown  bool             // some stage may clip earlier
	swallows bool             // the current is cut off from the very start
}

func clippingOf(x *channel.Sensed, need bothWays, positive bool) clipping {
	c := clipping{sign: 1, needA: need.positiveA, what: need.positiveWhat}
	if !positive {
		c = clipping{sign: -1, needA: need.negativeA, what: need.negativeWhat}
	}
	c.clip = channel.FirstClip(x.Chain.Stages(), positive)
	c.share = x.Bounded(func(ch *channel.Chain) float64 {
		return c.needA / (c.sign * channel.FirstClip(ch.Stages(), positive).LeastA)
	})
	c.unknown = len(c.clip.Unknown) > 0
	c.swallows = c.needA > 0 && c.sign*c.clip.LeastA <= 0
	return c
}

func judgeClipping(run *engine.Run, s *layout.Sensor, x *channel.Sensed, need bothWays) {
	stages := x.Chain.Stages()
	related := stagePlaces(run, s, stages)
	for i := range stages {
		if st := &stages[i]; st.PositiveA < 0 || st.NegativeA > 0 {
			run.Fail(s.ID, placeOf(run, s, st.Name), []string{run.Layout.Bars[s.Reads].ID}, chainRemedy(x, need, run.Limit("share", s.ID).Value),
				"the %s of sensor %q stands at %s without current, outside its range from %s to %s", st.Name, s.ID,
				si.Format(st.Zero, unitOf(st)), si.Format(st.Low, unitOf(st)), si.Format(st.High, unitOf(st)))
			return
		}
	}
	if need.largest() == 0 {
		run.NotApplicable(s.ID, s.Span, "no duty and no need gives what sensor %q reads a current", s.ID)
		return
	}
	limit := run.Limit("share", s.ID)
	both := []clipping{clippingOf(x, need, true), clippingOf(x, need, false)}
	worst := &both[0]
	if both[1].worse(worst) {
		worst = &both[1]
	}
	message := fmt.Sprintf("sensor %q clips first at %s; %s needs %s", s.ID, clipWords(both), worst.what, signedA(worst.sign*worst.needA))
	if worst.swallows {
		run.Fail(s.ID, placeOf(run, s, worst.clip.LeastStage), []string{run.Layout.Bars[s.Reads].ID}, chainRemedy(x, need, limit.Value), "%s", message+", of which nothing is left in that direction")
		return
	}
	offset := func(d *layout.Duty) (bounded.Estimate, error) {
		var more bothWays
		low, high := channel.OwnSwing(run.Model, s, d)
		more.ask(d.ID, low, high)
		a, b := clippingOf(x, more, true), clippingOf(x, more, false)
		if b.worse(&a) {
			a = b
		}
		return a.share, nil
	}
	decided := engine.Decide(worst.share, limit.Value, false) == finding.Fail
	tails := clippingTails
	if math.IsInf(x.Chain.Element.HighT, 1) {
		tails = []string{"sensitivity.set", "output."}
	}
	if !decided && (both[0].needA > 0 && both[0].unknown || both[1].needA > 0 && both[1].unknown || hasReadout(run, s) && x.Chain.Converter == nil || len(x.Chain.Stages()) < 2) {
		withoutData(run, s, worst.what, "the output chain", x.Open(tails...))
		return
	}
	run.Judge(engine.Case{
		Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: worst.what, Span: placeOf(run, s, worst.clip.LeastStage),
		Found: worst.share, Limit: limit, WholeA: worst.needA / worst.share.Value, Related: related,
		Message: message + ": " + beside(worst.share.Value, limit.Value) + " of that range" + ifOffset(run.Layout, worst.share, offset),
		Remedy:  func() string { return chainRemedy(x, need, limit.Value) },
	})
}

// worse reports whether c is worse than d: nothing left first, then the share.
func (c *clipping) worse(d *clipping) bool {
	if c.swallows != d.swallows {
		return c.swallows
	}
	return c.needA > 0 && (d.needA == 0 || c.share.Value > d.share.Value || math.IsNaN(c.share.Value))
}

// clipWords says where a chain clips in either direction: "+12.1 A in the converter
// (+11.9 A with tolerances at their worst) and at -37.9 A in the converter".
func clipWords(both []clipping) string {
	var words []string
	for _, c := range both {
		if math.IsNaN(c.clip.CurrentA) {
			continue
		}
		w := fmt.Sprintf("%s in the %s", signedA(c.clip.CurrentA), c.clip.Stage)
		if math.Abs(c.clip.LeastA) < 0.9995*math.Abs(c.clip.CurrentA) {
			w += fmt.Sprintf(" (%s with tolerances at their worst", signedA(c.clip.LeastA))
			if c.clip.LeastStage != c.clip.Stage {
				w += ", in the " + c.clip.LeastStage
			}
			w += ")"
		}
		words = append(words, w)
	}
	if len(words) == 0 {
		return "no current that is known"
	}
	return strings.Join(words, " and at ")
}

// unitOf is the unit that a stage is printed in; counts are bare numbers.
func unitOf(st *channel.Stage) string {
	if st.Unit == "counts" {
		return ""
	}
	return st.Unit
}

// placeOf is where a stage stands in the file.
func placeOf(run *engine.Run, s *layout.Sensor, stage string) span.Span {
	r := run.Layout.ReadoutOf(s)
	at := s.Span
	p := run.Layout.PartOf(s)
	switch stage {
	case channel.ElementStage:
		if p != nil {
			at = p.LinearHighT.Span
		}
	case channel.OutputStage:
		if p != nil {
			at = p.ZeroV.Span
		}
	case channel.AmplifierStage:
		at = r.Amplifier.Span
	case channel.DividerStage:
		at = r.Divider.Span
	case channel.ConverterStage:
		at = r.Converter.Span
	case channel.NumberStage:
		at = r.Number.Span
	}
	if !at.Valid() {
		return s.Span
	}
	return at
}

// stagePlaces says of each stage what it holds and where it ends.
func stagePlaces(run *engine.Run, s *layout.Sensor, stages []channel.Stage) []finding.Related {
	var out []finding.Related
	for i := range stages {
		st := &stages[i]
		if math.IsNaN(st.Zero + st.PerA) {
			continue
		}
		unit := unitOf(st)
		text := fmt.Sprintf("%s: %s without current, %s per ampere", st.Name, orNone(st.Zero, unit), orNone(st.PerA, unit))
		if a, b := st.PositiveA, st.NegativeA; !math.IsNaN(a+b) && !math.IsInf(a, 0) && !math.IsInf(b, 0) {
			text += fmt.Sprintf(", ends at %s and %s", signedA(a), signedA(b))
		}
		out = append(out, finding.Related{Span: placeOf(run, s, st.Name), Message: text})
	}
	return out
}

func orNone(v float64, unit string) string {
	if v == 0 {
		return "nothing"
	}
	return si.Format(v, unit)
}
