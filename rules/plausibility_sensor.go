package rules

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// oddParts reports parts whose linear range makes next to nothing, or far more than all, of
// their output, and sensors whose range has nothing to do with the field of their bar.
func oddParts(run *engine.Run) int {
	l := run.Layout
	odd := 0
	for i := range l.Parts {
		p := &l.Parts[i]
		if !p.LinearHighT.Set || !p.SensitivityVPerT.Set || !p.LowV.Set || !p.HighV.Set || p.SensitivityVPerT.V == 0 {
			continue
		}
		spanT, outV := p.LinearHighT.V-p.LinearLowT.V, p.HighV.V-p.LowV.V
		fill := bounded.Exact(math.Abs(p.SensitivityVPerT.V) * spanT / outV)
		for _, key := range []string{"fill-least", "fill-most"} {
			limit := run.Limit(key, "")
			if engine.Decide(fill, limit.Value, limit.AtLeast) != finding.Fail {
				continue
			}
			odd++
			run.Judge(engine.Case{Object: p.ID, Cause: key, Span: p.SensitivityVPerT.Span, Found: fill, Limit: limit,
				Says: "range times sensitivity makes", Rest: fmt.Sprintf("of its output of %s", si.Format(outV, "V")),
				Why: []string{fmt.Sprintf("Its sensitivity is %s", si.Format(p.SensitivityVPerT.V, "V/T"))},
				Remedy: func() string {
					full := outV / spanT
					return wouldBe(p.SensitivityVPerT.V, 0.2*full, 2*full, "V/T",
						"say sensitivity, range and output of the same setting of the part")
				}})
		}
	}
	for i := range l.Sensors {
		if oddRange(run, &l.Sensors[i]) {
			odd++
		}
	}
	return odd
}

// Shares of a linear range at full scale that no choice of a part explains: common practice.
const (
	leastUsed = 1e-3
	mostUsed  = 100.0
)

// oddRange reports a sensor whose own current fills its range a hundred times, or less
// than a thousandth of it, at full scale.
func oddRange(run *engine.Run, s *layout.Sensor) bool {
	p := run.Layout.PartOf(s)
	fullA := run.Model.FullScaleA(s)
	if p == nil || !p.LinearHighT.Set || !(p.LinearLowT.V < 0 && p.LinearHighT.V > 0) || !(fullA > 0) {
		return false
	}
	f, err := run.Model.Field(0)
	if err != nil || swapped(run, s) != layout.None {
		return false
	}
	ownT := 0.0
	for _, e := range eachElement(s) {
		ownT = math.Max(ownT, f.Own(&e).B.Norm()*fullA)
	}
	if !(ownT > 0) {
		return false // rule sensor-axis says so
	}
	endT := math.Min(p.LinearHighT.V, -p.LinearLowT.V)
	share := ownT / endT
	if !(share > mostUsed) && !(share < leastUsed) {
		return false
	}
	remedy := wouldBe(endT, 1.05*ownT, 20*ownT, "T",
		"say the range of the part and the size of its bar again: one of them slipped")
	run.Fail(s.ID, p.LinearHighT.Span, []string{p.ID}, remedy,
		"stands in %s, where part %q is linear to %s. That is %s of the range, at %s of %s",
		si.Format(ownT, "T"), p.ID, si.Format(endT, "T"), si.Percent(share), si.Format(fullA, "A"), run.Layout.ReadName(s))
	return true
}

// SwapCause is the cause of a finding that a sensor stands over one bar and reads another.
// All else that is said of such a sensor follows from it: see Folded.
const SwapCause = "swapped"

// swapped returns the circuit over which s stands, where that is not the one it reads: one
// whose field at most of the elements is larger by the limit "foreign", per ampere; else None.
func swapped(run *engine.Run, s *layout.Sensor) layout.CircuitIndex {
	f, err := run.Model.Field(0)
	if err != nil || s.Leg != layout.None {
		return layout.None
	}
	most := run.Limit("foreign", s.ID).Value
	over := layout.CircuitIndex(layout.None)
	for c := range run.Layout.Circuits {
		k := layout.CircuitIndex(c)
		if k == s.Circuit {
			continue
		}
		var ratios []float64
		for _, e := range eachElement(s) {
			own, b := f.Own(&e).B, f.Beside(&e, k).B
			ratios = append(ratios, (b.Norm()-b.Bound)/(own.Norm()+own.Bound))
		}
		slices.Sort(ratios)
		// More than half of the elements, and both of a pair.
		if middle := ratios[(len(ratios)-1)/2]; middle > most {
			over, most = k, middle
		}
	}
	return over
}

// eachElement returns a sensor for each element of s: the vectors of a ring of elements add
// up to nothing, and those of a pair to a difference.
func eachElement(s *layout.Sensor) []layout.Sensor {
	var out []layout.Sensor
	for _, e := range s.Elements() {
		one := *s
		one.Pair, one.Array, one.Axis.U = nil, nil, e.U
		one.At.X.V, one.At.Y.V, one.At.Z.V = e.At.X, e.At.Y, e.At.Z
		one.At.Z.Set = one.At.Z.Set || e.At.Z != 0
		out = append(out, one)
	}
	return out
}

// oddPlaces reports sensors that stand over one circuit and read another, two that stand
// over each other's once.
func oddPlaces(run *engine.Run) int {
	l := run.Layout
	over := make([]layout.CircuitIndex, len(l.Sensors))
	for i := range l.Sensors {
		over[i] = swapped(run, &l.Sensors[i])
	}
	told := make([]bool, len(l.Sensors))
	odd := 0
	for i := range l.Sensors {
		s := &l.Sensors[i]
		if over[i] == layout.None || told[i] {
			continue
		}
		odd++
		message := fmt.Sprintf("stands over %s and reads %s", l.CircuitName(over[i]), l.ReadName(s))
		var others []string
		reads := way{fmt.Sprintf("let %s read %s", s.ID, l.Circuits[over[i]].ID), readsAs(i, over[i])}
		move := way{text: "move it to " + l.ReadName(s)}
		for k := i + 1; k < len(l.Sensors); k++ {
			t := &l.Sensors[k]
			if told[k] || over[k] != s.Circuit || t.Circuit != over[i] {
				continue
			}
			told[k], others = true, []string{t.ID} // sensors alone: see Folded
			message += fmt.Sprintf(". Sensor %q stands over %s and reads %s: were they swapped?", t.ID,
				l.CircuitName(over[k]), l.ReadName(t))
			one, other := reads.edit, readsAs(k, over[k])
			reads = way{fmt.Sprintf("let %s read %s and %s read %s", s.ID, l.Circuits[over[i]].ID, t.ID, l.Circuits[s.Circuit].ID),
				func(l *layout.Layout) *layout.Layout { return other(one(l)) }}
			move.text = "change their places"
			break
		}
		run.FailFor(SwapCause, finding.Error, s.ID, s.ReadsSpan, others, "", "%s", message)
		run.Ways(func() remedy.Ways { return waysOut(run, "", reads, move) })
	}
	return odd
}

// readsAs returns the edit that lets sensor i read circuit c.
func readsAs(i int, c layout.CircuitIndex) func(*layout.Layout) *layout.Layout {
	return func(l *layout.Layout) *layout.Layout { return l.WithReading(layout.SensorIndex(i), c) }
}

// Folded returns the findings with all that other rules have against a sensor which stands
// over one bar and reads another, or which reads nothing, made not applicable: it follows
// from that one, which is said once. Where the one is permitted or of no level, the others
// stand.
func Folded(all []finding.Finding) []finding.Finding {
	type sensor struct{ file, id string }
	at := map[sensor]*finding.Finding{}
	for i := range all {
		if f := &all[i]; f.Verdict == finding.Fail && f.Level != finding.None {
			switch {
			case f.Rule == Plausibility.ID && f.Cause == SwapCause:
				for _, id := range append([]string{f.Object}, f.Others...) {
					at[sensor{f.Span.File, id}] = f
				}
			case f.Rule == SensorAxis.ID && f.Cause == BlindCause:
				if key := (sensor{f.Span.File, f.Object}); at[key] == nil {
					at[key] = f
				}
			}
		}
	}
	if len(at) == 0 {
		return all
	}
	out := append([]finding.Finding(nil), all...)
	for i := range out {
		f := &out[i]
		why := at[sensor{f.Span.File, f.Object}]
		if open := f.Verdict == finding.Fail || f.Verdict == finding.Undecided; !open || why == nil ||
			f.Rule == why.Rule || f.Rule == Geometry.ID || f.Rule == Clearance.ID || f.Rule == Creepage.ID {
			continue
		}
		f.Verdict, f.Level, f.Remedy, f.Measure = finding.NotApplicable, finding.None, "", nil
		f.Message = map[bool]string{
			true:  fmt.Sprintf("%s: stands over one bar and reads another. See rule %s", f.Object, why.Rule),
			false: fmt.Sprintf("%s: reads nothing. See rule %s", f.Object, why.Rule),
		}[why.Cause == SwapCause]
	}
	return out
}
