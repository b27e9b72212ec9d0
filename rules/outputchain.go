package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// OutputChain reports a channel in which some stage between element and number
// clips before the largest current, or whose zero lies outside a stage, or whose
// firmware declares another conversion than the chain gives.
//
//	Quantity  largest reading in each direction in which the own current flows over the reading at which the first stage
//	          clips with tolerances at their worst, pure number: all circuits together over the period of the duty, or the
//	          own current alone where that is more, with the Earth's field and declared foreign sources at their worst
//	          sign, at the worst place within the tolerances;
//	          declared over computed amperes per count, less one, and what is told at no current over the largest
//	          current, pure numbers
//	Formula   each stage is a straight line over the current, q = q0 + k I, from the one before it: field per ampere,
//	          sensitivity, gain, divider, converter, number; it clips at (end − q0)/k. Each element of a pair or an array
//	          fills its own range
//	Valid     stages are straight up to their ends; undecided where an end or a stage of a declared readout is not known
//	Source    the ends are the data of part and readout; a conversion one per cent off is common practice. What a
//	          declared calibration with current takes out is not held against the constant
//	Not seen  the element, where no readout is declared (linear-range judges it); what a filter takes from a ripple;
//	          load on a divider's tap
var OutputChain = engine.Rule{
	ID:      "output-chain",
	Title:   "a channel clips, or firmware converts it wrongly",
	Level:   finding.Error,
	Edition: 2,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 1, Of: finding.Share{Whole: finding.AnotherQuantity, Words: "of the range"},
		Reason: "the ends that part and readout declare",
	}, {
		Key: "constant", Unit: "1", Default: 0.01,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the reading"},
		Reason: "common practice: one per cent of reading for the constant, of the largest current for the zero",
	}},
	Check: checkOutputChain,
}

func checkOutputChain(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		if !equipped(run, s, false) {
			return
		}
		part, readout := run.Layout.PartOf(s), hasReadout(run, s)
		if !readout && !part.ZeroV.Set && !part.LowV.Set && !part.HighV.Set {
			run.NotApplicable(s.ID, s.Span, "nothing is declared behind its element")
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
		need, ok := filled(run, s, x, layout.Continuous, layout.Peak, layout.Fault)
		if !ok {
			return
		}
		judgeClipping(run, s, x, &need)
		judgeFirmware(run, s, x, need.Reach.LargestA())
	})
}

// clippingTails are the data without which it cannot be said where a chain clips.
var clippingTails = []string{"part", "pair", "linear-range", "sensitivity.set", "output.zero", "output.low", "output.high",
	"amplifier.", "converter", "converter.high", "converter.bits", "number."}

// clipping is what one direction of current says of a chain.
type clipping struct {
	sign float64
	fill *channel.Fill
	channel.Taken
}

func clippingOf(x *channel.Sensed, need *channel.Filled, positive bool) clipping {
	c := clipping{sign: 1, fill: need.Way(positive)}
	if !positive {
		c.sign = -1
	}
	c.Taken = x.Taken(c.fill, positive)
	return c
}

// asks returns what asks for the share: the duty, nil for the claimed range or a named current, and the own current in it.
func (c *clipping) asks() (*layout.Duty, float64) {
	if c.Clip.LeastStage == channel.ElementStage && c.fill.Element.Asked() {
		return c.fill.Element.Duty, c.fill.ElementOwnA
	}
	return c.fill.Duty, c.fill.OwnA
}

// asked reports whether anything asks for this direction.
func (c *clipping) asked() bool { return c.fill.FieldT.Value != 0 }

func (c *clipping) unknown() bool { return c.asked() && len(c.Clip.Unknown) > 0 }

// needs says what is needed: the own current, and what it is with all that fills the range beside it.
func (c *clipping) needs(alone bool) string {
	_, ownA := c.asks()
	words, beside := signedA(c.sign*ownA), "other bars and foreign fields"
	if alone {
		beside = "foreign fields"
	}
	if in := signedA(c.Share.Value * c.Clip.LeastA); in != words && finite(c.Share.Value*c.Clip.LeastA) {
		words += fmt.Sprintf(" (%s with %s)", in, beside)
	}
	return words
}

func judgeClipping(run *engine.Run, s *layout.Sensor, x *channel.Sensed, need *channel.Filled) {
	stages := x.Chain.Stages()
	others := []string{run.Layout.Bars[s.Reads].ID}
	limit := run.Limit("share", s.ID)
	for i := range stages {
		if st := &stages[i]; st.PositiveA < 0 || st.NegativeA > 0 {
			run.Fail(s.ID, placeOf(run, s, st.Name), others, "",
				"its %s stands at %s without current, outside its range from %s to %s", st.Name,
				si.Format(st.Zero, unitOf(st)), si.Format(st.Low, unitOf(st)), si.Format(st.High, unitOf(st)))
			run.Ways(func() remedy.Ways { return chainRemedy(run, s, x, need, limit.Value) })
			return
		}
	}
	if need.Reach.LargestA() == 0 {
		run.NotApplicable(s.ID, s.Span, "no duty and no need gives it a current to read")
		return
	}
	both := []clipping{clippingOf(x, need, true), clippingOf(x, need, false)}
	worst := &both[0]
	if both[1].worse(worst) {
		worst = &both[1]
	}
	duty, _ := worst.asks()
	what := asks(duty)
	at := placeOf(run, s, worst.Clip.LeastStage)
	why := append([]string{fmt.Sprintf("%s needs %s", engine.Sentence(what), worst.needs(duty == nil || run.Layout.Alone(s)))},
		clipWords(both)...)
	if worst.Swallows {
		run.Fail(s.ID, at, others, "", "nothing is left of its range in one direction%s. %s",
			inDuty(dutyName(duty)), strings.Join(why, ". "))
		run.Ways(func() remedy.Ways { return chainRemedy(run, s, x, need, limit.Value) })
		return
	}
	offset := func(d *layout.Duty) (bounded.Estimate, error) {
		low, high := channel.OwnSwing(run.Model, s, d)
		fill := x.FillAt(max(0, high), max(0, -low))
		a, b := clippingOf(x, &fill, true), clippingOf(x, &fill, false)
		if b.worse(&a) {
			a = b
		}
		return a.Share, nil
	}
	if engine.Decide(worst.Share, limit.Value, false) != finding.Fail && !decidable(run, s, x, need, both, what) {
		return
	}
	run.Judge(engine.Case{
		Object: s.ID, Others: others, Cause: what, Span: at, Found: worst.Share, Limit: limit,
		WholeA: math.Abs(worst.Clip.LeastA),
		Says:   "needs", Rest: fmt.Sprintf("of the range of its %s", worst.Clip.LeastStage), In: dutyName(duty),
		Why: append(why, ifOffset(run.Layout, worst.Share, offset)), Related: stagePlaces(run, s, stages),
		Ways: func() remedy.Ways { return chainRemedy(run, s, x, need, limit.Value) },
	})
}

// decidable reports whether all is known that a pass hangs on; it says what is not.
func decidable(run *engine.Run, s *layout.Sensor, x *channel.Sensed, need *channel.Filled, both []clipping,
	what string) bool {
	tails := clippingTails
	if math.IsInf(x.Chain.Element.HighT, 1) {
		tails = []string{"sensitivity.set", "output."}
	}
	switch {
	case both[0].unknown() || both[1].unknown() || hasReadout(run, s) && x.Chain.Converter == nil ||
		len(x.Chain.Stages()) < 2:
		withoutData(run, s, what, "the output chain", x.Open(tails...))
	case need.Open != nil:
		undecided(run, s, what, need.Open)
	default:
		return true
	}
	return false
}

// worse reports whether c is worse than d: nothing left first, then the share.
func (c *clipping) worse(d *clipping) bool {
	if c.Swallows != d.Swallows {
		return c.Swallows
	}
	return c.asked() && (!d.asked() || c.Share.Value > d.Share.Value || math.IsNaN(c.Share.Value))
}

// clipWords says where a chain clips in either direction: "It clips at +12.1 A in the converter, +11.9 A with
// tolerances at their worst".
func clipWords(both []clipping) []string {
	var words []string
	for _, c := range both {
		if math.IsNaN(c.Clip.CurrentA) {
			continue
		}
		w := fmt.Sprintf("It clips at %s in the %s", signedA(c.Clip.CurrentA), c.Clip.Stage)
		if math.Abs(c.Clip.LeastA) < 0.9995*math.Abs(c.Clip.CurrentA) {
			w += fmt.Sprintf(", %s with tolerances at their worst", signedA(c.Clip.LeastA))
			if c.Clip.LeastStage != c.Clip.Stage {
				w += ", in the " + c.Clip.LeastStage
			}
		}
		words = append(words, w)
	}
	if len(words) == 0 {
		return []string{"At which current it clips is not known"}
	}
	return words
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
