package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// Measured reports a sensor whose readings on a bench lie further from the model than the uncertainties of both allow, and
// names the one assumption that would explain them best.
//
//	Quantity  En = |read − computed|/√(U_read² + U_model²), pure number, the largest over the readings of a sensor; both
//	          uncertainties expanded, k = 2
//	Formula   U_read: what the measurement declares, and of volts tolerance, offset, hysteresis, non-linearity and supply of
//	          the part. U_model: root of the squares of what each tolerance of the sensor, of bars, shields, materials and legs
//	          changes, rectangular. Bounds of the field are those of En: they make nothing agree. An uncertainty that is
//	          missing can only make En smaller: agreement without it stands, disagreement is undecided.
//	          Explanation: least squares over all readings of the sensor with one number free: height, place along the bar,
//	          axis, distance of the next bar, permeability, current of the source, a zero that was not taken off
//	Valid     a reading of direct current has its sign; of an alternating duty it is rms where the duty gives rms values, peak
//	          where it gives peak values, of a current in the measurement what that current is. Readings are taken less what is
//	          read with no current, volts less the zero of the part, at the temperature of its data. Undecided for faults, for
//	          duties of several frequencies, and of direct and alternating current together
//	Source    ISO/IEC 17043:2010, annex B (from memory): En up to 1 agrees; JCGM 100:2008, 4.3.7, 5.1.2 and 7.2.3; fields as
//	          of the other rules
//	Not seen  foreign fields that came after the zero was taken; two things wrong at once; currents that a bench drives through
//	          leads which are not in the file
var Measured = engine.Rule{
	ID:       "measured",
	Title:    "bench readings lie further from the model than both uncertainties allow",
	Level:    finding.Error,
	Edition:  4,
	AsBuilt:  true,
	OfFields: true,
	Limits: []engine.Limit{{
		Key: "agreement", Unit: "1", Default: 1,
		Of:     finding.Share{Whole: finding.AnotherQuantity, Words: "of both uncertainties"},
		Reason: "ISO/IEC 17043:2010, annex B (from memory): results agree where the E_n number is at most 1",
	}},
	Check: checkMeasured,
}

func checkMeasured(run *engine.Run) {
	if len(run.Layout.Measurements) == 0 {
		run.NotApplicable("", run.Layout.Span, "no measurements are given")
		return
	}
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		all, err := channel.MeasuredOf(run.Model, s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		if len(all) == 0 {
			run.NotApplicable(s.ID, s.Span, "no reading of it is among the measurements")
			return
		}
		told := ""
		readings := slices.DeleteFunc(all, func(r channel.Measured) bool {
			if r.Err != nil && told != r.Err.Error() { // one reason for many readings is said once
				told = r.Err.Error()
				run.Undecided(s.ID, r.Reading.Span, causeOfReading(&r), "the reading %s cannot be compared. %s", taken(&r), engine.Sentence(r.Err.Error()))
			}
			return r.Err != nil
		})
		if len(readings) > 0 {
			judgeReadings(run, i, s, readings)
		}
	})
}

// judgeReadings compares the readings of s and keeps one verdict: of the reading that agrees least.
func judgeReadings(run *engine.Run, i layout.SensorIndex, s *layout.Sensor, readings []channel.Measured) {
	limit := run.Limit("agreement", s.ID)
	worst, found := 0, bounded.Exact(0)
	for k := range readings {
		en := readings[k].Agreement()
		found = bounded.Most(found, en)
		if first := readings[worst].Agreement(); surer(en, first, limit.Value) {
			worst = k
		}
	}
	w := &readings[worst]
	found.Value = w.Agreement().Value
	if len(w.Missing) > 0 && !(found.Low > limit.Value) && !(found.High <= limit.Value) {
		if found.Value <= limit.Value { // a smaller bound of the field may do
			run.Finer()
		}
		run.Undecided(s.ID, w.Reading.Span, causeOfReading(w),
			"reads %s, and nothing says how much is allowed. Add %s. %s", apart(w),
			word.And(missingOf(readings)), strings.Join(compared(w), ". "))
		return
	}
	behind := sync.OnceValue(func() explanations { return explained(run, i, readings) })
	run.Judge(engine.Case{
		Object: s.ID, Others: readBeside(run, s), Cause: causeOfReading(w), Span: w.Reading.Span, Found: found, Limit: limit,
		Says: "reads " + apart(w) + ",", Rest: "of both uncertainties",
		Explain: func() []string { return append(compared(w), behind().sentences()...) },
		Remedy:  func() string { return behind().remedy(s) },
	})
}

// surer reports whether a says more against the model than b: what fails for certain first, then the larger.
func surer(a, b bounded.Estimate, limit float64) bool {
	if sureA, sureB := a.Low > limit, b.Low > limit; sureA != sureB {
		return sureA
	}
	return a.Value > b.Value || math.IsNaN(a.Value) && !math.IsNaN(b.Value)
}

func readBeside(run *engine.Run, s *layout.Sensor) []string {
	return []string{run.Layout.Bars[s.Reads].ID}
}

// causeOfReading is the day and the instrument of a reading.
func causeOfReading(r *channel.Measured) string {
	if r.Of.Instrument == "" {
		return r.Of.Date
	}
	return r.Of.Date + ", " + r.Of.Instrument
}

// taken says what flowed while a reading was taken.
func taken(r *channel.Measured) string {
	if r.Flow.Alone {
		return fmt.Sprintf("with %s alone", si.Format(r.Of.CurrentA.V, "A"))
	}
	return fmt.Sprintf("in %q", r.Flow.Duty.ID)
}

// apart is the difference of a reading in words: "9.83 % low".
func apart(r *channel.Measured) string {
	d := r.DifferenceT() / r.ComputedT.Value
	switch {
	case math.IsNaN(r.DifferenceT()) || math.IsInf(r.DifferenceT(), 0):
		return "by an unknown amount off"
	case math.IsNaN(d) || math.IsInf(d, 0) || d < -1:
		return si.Format(math.Abs(r.DifferenceT()), "T") + " off"
	case d < 0:
		return si.Percent(-d) + " low"
	}
	return si.Percent(d) + " high"
}

// compared are sentences about one reading: what was read, what is computed, and how well both are known.
func compared(r *channel.Measured) []string {
	kind := ""
	if r.Flow.Kind != "" {
		kind = " " + r.Flow.Kind
	}
	first := "Read on " + r.Of.Date
	if r.Of.Instrument != "" {
		first += " by " + r.Of.Instrument
	}
	first += fmt.Sprintf(" %s: %s%s", taken(r), digits(r.ReadT), kind)
	if r.Reading.OutputV.Set {
		first += " (from " + si.FormatDigits(r.Reading.OutputV.V, "V", 4) + ")"
	}
	first += ", computed " + digits(r.ComputedT.Value)
	size := math.Abs(r.ComputedT.Value)
	second := fmt.Sprintf("Known of the uncertainty (k = 2): %s of the reading, %s of the model", si.Percent(r.ReadUT/size), si.Percent(r.ModelUT/size))
	if len(r.Causes) > 0 && r.Causes[0].UT > 0 {
		second += fmt.Sprintf(", most by %s, %s", r.Causes[0].Name, si.Percent(r.Causes[0].UT/size))
	}
	return []string{first, second}
}

func digits(t float64) string { return si.FormatDigits(t, "T", 4) }

// missingOf are the keys of uncertainties that are not known, each once.
func missingOf(readings []channel.Measured) []string {
	var out []string
	for i := range readings {
		out = append(out, readings[i].Missing...)
	}
	return word.Distinct(out)
}

// explanations are what may lie behind the readings of a sensor, the best first.
type explanations []remedy.Explained

func explained(run *engine.Run, i layout.SensorIndex, readings []channel.Measured) explanations {
	var list []remedy.Bench
	for k := range readings {
		r := &readings[k]
		bound := math.Max(r.ComputedT.High-r.ComputedT.Value, r.ComputedT.Value-r.ComputedT.Low)
		list = append(list, remedy.Bench{Flow: r.Flow, ReadT: r.ReadT, ComputedT: r.ComputedT.Value, WithinT: r.ReadUT + bound})
	}
	return remedy.Explain(run.Model, i, list)
}

// alike returns how many of them the readings do not tell apart, and whether all of them leave no more than the readings are
// uncertain.
func (e explanations) alike() (n int, explain bool) {
	explain = len(e) > 0
	for ; n < len(e) && e[n].Alike; n++ {
		explain = explain && e[n].Misfit <= 1
	}
	return n, explain
}

const mostNamed = 4 // explanations in one finding

func say(x *remedy.Explained) string {
	return fmt.Sprintf("%s, which leaves %s", x.Suspect.Say(x.Amount), leftShare(x.Left))
}

// sentences say which one thing explains the readings, or that several do and what would tell them apart.
func (e explanations) sentences() []string {
	n, explain := e.alike()
	if n == 0 {
		return []string{"No single thing that is tried explains it: height, place, axis, pitch, permeability, current, zero"}
	}
	var out []string
	if !explain {
		out = append(out, "No single thing explains it within the uncertainty of the readings")
	}
	if n > 1 {
		var list []string
		for k := range min(n, mostNamed) {
			list = append(list, fmt.Sprintf("(%d) %s", k+1, say(&e[k])))
		}
		return append(out, "These readings do not tell apart: "+strings.Join(list, "; "),
			"Further readings may: at another current, or with the current of a neighbour alone")
	}
	lead := "One thing explains it: "
	if !explain {
		lead = "Nearest: "
	}
	out = append(out, lead+say(&e[0]))
	if len(e) > 1 {
		out = append(out, "Next: "+say(&e[1]))
	}
	return out
}

// leftShare prints what an explanation leaves: below a hundredth of a per cent the digits mean nothing.
func leftShare(share float64) string {
	if share < 1e-4 {
		return "under 0.01 %"
	}
	return fmt.Sprintf("%.2g %%", 100*share)
}

// remedy says what to look at first.
func (e explanations) remedy(s *layout.Sensor) string {
	const again = "then mend the build or the file: the other rules judge the layout as drawn"
	n, explain := e.alike()
	switch {
	case n == 0:
		return fmt.Sprintf("look at the bench and at what the file says of %s; %s", s.ID, again)
	case n == 1 && explain:
		return fmt.Sprintf("look whether it is so: %s; %s", e[0].Suspect.Say(e[0].Amount), again)
	}
	var names []string
	for k := range min(n, mostNamed) {
		names = append(names, e[k].Suspect.Name)
	}
	out := "look at " + word.And(names)
	if !explain {
		out += ", and for a second thing"
	}
	return out + "; " + again
}
