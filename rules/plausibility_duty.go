package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/model/waveform"
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
		message := fmt.Sprintf("bar %q carries %s rms in continuous duty %q, %s in its section", bar.ID,
			si.Format(rmsA, "A"), duty.ID, si.Format(density*1e-6, "A/mm2"))
		const least, barely = 0.01e6, 1.0 // A/m², A
		switch {
		case density > limit.Value:
			odd++
			run.Judge(engine.Case{Object: bar.ID, Cause: duty.ID, Span: bar.Section.Span, Found: bounded.Exact(density),
				Limit: limit, Message: message,
				Remedy: func() string {
					return wouldBe(rmsA, leastBuilt*bar.AreaM2(), mostBuilt*bar.AreaM2(), "A",
						"say the section and the current again: one of them slipped")
				}})
		case density < least && rmsA < barely:
			if w := rmsA * 1e3; w >= leastBuilt*bar.AreaM2() && w <= mostBuilt*bar.AreaM2() {
				odd++
				run.Fail(bar.ID, bar.Section.Span, nil,
					fmt.Sprintf("%s would make sense, if mA was meant to be A", si.Format(w, "A")),
					"%s, which needs no bar", message)
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
		"all that flows in %s duty %q is below the continuous currents: %s of %s in %s", d.Kind, d.ID,
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

// rmsOrPeak reports currents that differ by √2 only because one duty says rms and the
// other peak.
func rmsOrPeak(run *engine.Run) int {
	var all []spoken
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		for k := range d.Currents {
			all = append(all, spoken{d, d.Currents[k].Circuit, &d.Currents[k].Amount, d.Currents[k].Span})
		}
		if p := d.ThreePhase; p != nil {
			all = append(all, spoken{d, p.Circuits[0], &p.Amount, p.Span})
		}
	}
	odd := 0
	for i := range all {
		for k := i + 1; k < len(all); k++ {
			a, b := all[i].amount, all[k].amount
			if !a.RMSA.Set {
				a, b = b, a
			}
			if all[i].duty == all[k].duty || all[i].circuit != all[k].circuit ||
				root(all[i].duty.ID) != root(all[k].duty.ID) ||
				!a.RMSA.Set || !b.PeakA.Set || a.RMSA.V != b.PeakA.V || a.RMSA.V == 0 {
				continue
			}
			odd++
			run.Fail(all[k].duty.ID, all[k].span, []string{all[i].duty.ID},
				fmt.Sprintf("both rms, or both peak, would make sense; else name one of the duties otherwise"),
				"duties %q and %q give %s the same number, %s, once as rms and once as peak: they differ by the square root of 2",
				all[i].duty.ID, all[k].duty.ID, run.Layout.CircuitName(all[k].circuit), si.Format(a.RMSA.V, "A"))
		}
	}
	return odd
}

// root returns the name of a duty up to its first hyphen, underscore, dot or digit.
func root(id string) string {
	if i := strings.IndexAny(id, "-_. 0123456789"); i > 0 {
		return id[:i]
	}
	return id
}
