package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/model/waveform"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// Current densities that bars are built for, A/m²: an earth strap at the least, short
// bars in forced air at the most. Common practice.
const (
	leastBuilt = 0.1e6
	mostBuilt  = 20e6
)

// oddCurrents reports bars whose continuous current is out of all proportion to their
// section: denser than the limit, or below an ampere where a thousand times it would fit.
func oddCurrents(run *engine.Run) int {
	l, limit := run.Layout, run.Limit("density", "")
	odd := 0
	for b := range l.Bars {
		bar := &l.Bars[b]
		rmsA, duty := 0.0, (*layout.Duty)(nil)
		for i := range l.Duties {
			d := &l.Duties[i]
			if d.Kind != layout.Continuous {
				continue
			}
			if cur, err := run.Model.BarCurrent(layout.BarIndex(b), d); err == nil {
				if a, _ := cur.RMS(); a > rmsA {
					rmsA, duty = a, d
				}
			}
		}
		if duty == nil {
			continue
		}
		density := rmsA / bar.AreaM2()
		const least, barely = 0.01e6, 1.0 // A/m², A
		switch {
		case density > limit.Value:
			odd++
			run.Judge(engine.Case{Object: bar.ID, Cause: duty.ID, Span: bar.Section.Span, Found: bounded.Exact(density),
				Limit: limit, Says: "carries", In: duty.ID, Why: []string{fmt.Sprintf("It carries %s rms", si.Format(rmsA, "A"))},
				Remedy: func() string {
					return wouldBe(rmsA, leastBuilt*bar.AreaM2(), mostBuilt*bar.AreaM2(), "A",
						"say the section and the current again: one of them slipped")
				}})
		case density < least && rmsA < barely:
			if w := rmsA * 1e3; w >= leastBuilt*bar.AreaM2() && w <= mostBuilt*bar.AreaM2() {
				odd++
				run.Fail(bar.ID, bar.Section.Span, nil,
					fmt.Sprintf("%s would make sense, if mA was meant to be A", si.Format(w, "A")),
					"carries %s rms, which needs no bar, in %q. That is %s", si.Format(rmsA, "A"), duty.ID, si.Format(density, "A/m2"))
			}
		}
	}
	return odd
}

// oddDuties reports peak and fault duties in which every current is below the largest
// continuous one of its circuit, and currents that one duty gives as rms and another of
// the same root of name as the same number of peak.
func oddDuties(run *engine.Run) int {
	l := run.Layout
	peaks := make([][]float64, len(l.Duties))
	most := make([]float64, len(l.Circuits)) // in continuous duties
	for i := range l.Duties {
		d := &l.Duties[i]
		cur := waveform.Of(l, d)
		for c := range l.Circuits {
			a := cur.Current(layout.CircuitIndex(c)).PeakAbs().High
			peaks[i] = append(peaks[i], a)
			if d.Kind == layout.Continuous {
				most[c] = math.Max(most[c], a)
			}
		}
	}
	odd := 0
	for i := range l.Duties {
		if d := &l.Duties[i]; d.Kind != layout.Continuous && below(run, d, peaks[i], most) {
			odd++
		}
	}
	return odd + rmsOrPeak(run)
}

// below reports a duty in which all that flows is below the continuous current.
func below(run *engine.Run, d *layout.Duty, peakA, mostA []float64) bool {
	largest := layout.CircuitIndex(layout.None)
	const equal = 1e-3 // share by which two numbers that are rounded differ
	for c := range peakA {
		if peakA[c] == 0 {
			continue
		}
		if !(peakA[c] < mostA[c]*(1-equal)) {
			return false
		}
		if largest == layout.None || mostA[c] > mostA[largest] {
			largest = layout.CircuitIndex(c)
		}
	}
	if largest == layout.None {
		return false // rule coverage says that nothing flows
	}
	remedy := fmt.Sprintf("say a larger current, or kind: continuous; %s would make sense, if the prefix slipped",
		si.Format(peakA[largest]*1e3, "A"))
	if r := mostA[largest] / peakA[largest]; math.Abs(r-math.Sqrt2) < 1e-2 {
		remedy = "the numbers would be equal, if both were rms or both were peak"
	}
	run.Fail(d.ID, d.KindSpan, nil, remedy,
		"all that flows in this %s duty is below the continuous currents. %s of %s flow in %s", d.Kind,
		si.Format(peakA[largest], "A"), si.Format(mostA[largest], "A"), run.Layout.CircuitName(largest))
	return true
}

// spoken is a current as a duty says it.
type spoken struct {
	duty    *layout.Duty
	circuit layout.CircuitIndex
	amount  *layout.Amount
	span    span.Span
}

// spokenOf returns the currents of duty d.
func spokenOf(d *layout.Duty) []spoken {
	var out []spoken
	for k := range d.Currents {
		out = append(out, spoken{d, d.Currents[k].Circuit, &d.Currents[k].Amount, d.Currents[k].Span})
	}
	if p := d.ThreePhase; p != nil {
		for _, c := range p.Circuits {
			out = append(out, spoken{d, c, &p.Amount, p.Span})
		}
	}
	return out
}

// rmsOrPeak reports duties whose currents differ by √2 only because one says rms and the
// other peak, each duty once.
func rmsOrPeak(run *engine.Run) int {
	odd := 0
	duties := run.Layout.Duties
	for i := range duties {
		b := &duties[i]
		if slices.ContainsFunc(duties, func(a layout.Duty) bool {
			return a.ID < b.ID && root(a.ID) == root(b.ID) && rmsOrPeakIn(run, &a, b)
		}) {
			odd++
		}
	}
	return odd
}

func rmsOrPeakIn(run *engine.Run, a, b *layout.Duty) bool {
	var named []string
	var at span.Span
	numberA := 0.0
	for _, x := range spokenOf(a) {
		for _, y := range spokenOf(b) {
			rms, peak := x.amount, y.amount
			if !rms.RMSA.Set {
				rms, peak = peak, rms
			}
			if x.circuit == y.circuit && rms.RMSA.Set && peak.PeakA.Set && rms.RMSA.V == peak.PeakA.V && rms.RMSA.V != 0 &&
				(named == nil || rms.RMSA.V == numberA) {
				if named == nil {
					at, numberA = y.span, rms.RMSA.V
				}
				named = append(named, run.Layout.CircuitName(x.circuit))
			}
		}
	}
	if named == nil {
		return false
	}
	slices.Sort(named)
	run.Fail(b.ID, at, []string{a.ID}, "both rms, or both peak, would make sense; else name one of the duties otherwise",
		"its %s is the number of duty %q too, once as rms and once as peak. They differ by the square root of 2, in %s",
		si.Format(numberA, "A"), a.ID, word.And(named))
	return true
}

// root returns the name of a duty up to its first hyphen, underscore, dot or digit.
func root(id string) string {
	if i := strings.IndexAny(id, "-_. 0123456789"); i > 0 {
		return id[:i]
	}
	return id
}
