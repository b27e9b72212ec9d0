package rules

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Plausibility reports values that a slip of the pen makes, each with the reading with
// which it would make sense.
//
//	Quantity  conductivity, S/m; frequency, Hz; rms current density of continuous duties, A/m2; share of its output that
//	          a part fills over its linear range, and of that range that the own current fills at full scale, pure numbers;
//	          field of another circuit over the own field at a sensor, per ampere, pure number
//	Formula   a value is odd where it lies outside its limits; the reading is the value with another prefix, where one makes
//	          sense. Peak and fault duties are odd where all that flows in them is below the largest continuous current of
//	          its circuit; two duties whose names differ after a hyphen, an underscore or in digits are, where one gives a
//	          current as rms and the other the same number as peak
//	Valid     always; where a field is not known the checks that need it are left to the rules that say why
//	Source    conductivity of metals at 20 °C: 0.5 MS/m (alloys for heating, 1.4 µΩm; from memory) to 63 MS/m (silver:
//	          D. R. Lide, CRC Handbook of Chemistry and Physics, section 12, 1.587 µΩcm); all others common practice
//	Not seen  values that are wrong and look right
var Plausibility = engine.Rule{
	ID:         "plausibility",
	FaultsOnly: true,
	Title:      "a value looks like a slip",
	Level:      finding.Warning,
	Edition:    3,
	Limits: []engine.Limit{{
		Key: "density", Unit: "A/m2", Default: 100e6,
		Reason: "common practice: 100 A/mm² melt copper in seconds, so that nothing carries them continuously",
	}, {
		Key: "frequency", Unit: "Hz", Default: 1, AtLeast: true,
		Reason: "common practice: no drive, mains or converter alternates slower than once in a second",
	}, {
		Key: "fill-least", Unit: "1", Default: 0.01, AtLeast: true,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the output"},
		Reason: "common practice: a part whose whole range makes less than a hundredth of its output is not sold",
	}, {
		Key: "fill-most", Unit: "1", Default: 100,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the output"},
		Reason: "common practice: no part is linear over a hundred times its output",
	}, {
		Key: "foreign", Unit: "1", Default: 3,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of the own field"},
		Reason: "common practice: a sensor stands where its own bar makes the larger field; three times as much is no neighbour",
	}},
	NotOfChannels: true,
	Check:         checkPlausibility,
}

func checkPlausibility(run *engine.Run) {
	l := run.Layout
	odd := oddConductivities(run) + oddFrequencies(run) + oddCurrents(run) + oddDuties(run) + oddParts(run) +
		oddPlaces(run)
	if odd == 0 {
		run.Pass("", l.Span, "no value looks like a slip")
	}
}

// prefixes are the factors by which a slip of one to three steps of a prefix is off,
// those of one step first.
var prefixes = []float64{1e3, 1e-3, 1e6, 1e-6, 1e9, 1e-9}

// otherPrefix returns v with another prefix, where that lies from least to most; false
// where none does.
func otherPrefix(v, least, most float64) (float64, bool) {
	for _, k := range prefixes {
		if w := math.Abs(v) * k; w >= least && w <= most {
			return math.Copysign(w, v), true
		}
	}
	return 0, false
}

// wouldBe is the remedy of a value: "2.00 MS/m would make sense".
func wouldBe(v, least, most float64, unit, without string) string {
	if w, ok := otherPrefix(v, least, most); ok {
		return fmt.Sprintf("%s would make sense, if the prefix slipped", si.Format(w, unit))
	}
	return without
}

// named is a number of the layout with what it is called.
type named struct {
	object, name string
	num          layout.Num
}

// oddFrequencies reports frequencies that are too low for what they belong to.
func oddFrequencies(run *engine.Run) int {
	l, limit := run.Layout, run.Limit("frequency", "")
	odd := 0
	seen := map[span.Span]bool{} // what is said for all stands at each sensor
	for _, f := range frequencies(l) {
		if seen[f.num.Span] || !f.num.Set || !(f.num.V > 0) || f.num.V >= limit.Value {
			continue
		}
		odd++
		seen[f.num.Span] = true
		run.Judge(engine.Case{
			Object: f.object, Cause: f.name, Span: f.num.Span, Found: bounded.Exact(f.num.V), Limit: limit,
			Says: f.name + " is",
			Remedy: func() string {
				return wouldBe(f.num.V, 1, 1e6, "Hz",
					"leave the frequency out: what changes so slowly is direct current to every rule")
			},
		})
	}
	return odd
}

// frequencies returns the frequencies of duties, parts, readouts and needs.
func frequencies(l *layout.Layout) []named {
	var out []named
	for i := range l.Duties {
		d := &l.Duties[i]
		if !d.PeriodS.Set { // a cycle that is drawn by points may be long
			out = append(out, named{d.ID, "the frequency", d.FreqHz})
		}
		for k := range d.With {
			if !d.With[k].PeriodS.Set {
				out = append(out, named{d.ID, "a further frequency", d.With[k].FreqHz})
			}
		}
		if d.Ripple != nil {
			out = append(out, named{d.ID, "the ripple's frequency", d.Ripple.FreqHz})
		}
	}
	for i := range l.Parts {
		out = append(out, named{l.Parts[i].ID, "the bandwidth", l.Parts[i].BandwidthHz})
	}
	for i := range l.Sensors {
		r := l.ReadoutOf(&l.Sensors[i])
		if r.Sampling.Given {
			out = append(out, named{l.Sensors[i].ID, "the sampling rate", r.Sampling.RateHz})
		}
	}
	for i := range l.Needs {
		out = append(out, named{l.Needs[i].Channel, "the needed bandwidth", l.Needs[i].BandwidthHz})
	}
	return out
}
