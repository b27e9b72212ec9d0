package cli

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
)

// verdictsOf is what a check gave of one layout, and the reports of it.
type verdictsOf struct {
	outcome
	text, json string
}

// judgeText checks a layout by some rules as the command does, without a store and in this process.
func judgeText(t testing.TB, text string, list []engine.Rule, opt engine.Options) verdictsOf {
	t.Helper()
	in := []input{{File: report.File{Path: "layout.yaml", RootPath: "layout.yaml", Data: []byte(text)}}}
	standards := make([]layoutStandard, 1)
	o := checkOptions{detail: true, passes: true}
	if err := o.parse(&Streams{}); err != nil {
		t.Fatal(err)
	}
	j := verdictsOf{outcome: checkOne(&in[0].File, &standards[0], list, opt)}
	v := o.verdicts(&given{inputs: in, standards: standards}, []outcome{j.outcome})
	for format, to := range map[string]*string{"text": &j.text, "json": &j.json} {
		var out bytes.Buffer
		if err := writeReport(&out, format, v.result, &o, finding.Warning, 0, look{}); err != nil {
			t.Fatalf("%s: %v", format, err)
		}
		*to = out.String()
	}
	return j
}

// unsound says what is wrong with what a check gave, in the order in which it is found; nothing where it is sound: something is said
// of every sensor, no number that is none is printed, and no pass stands on a number that is not known or is beyond its limit.
func (j *verdictsOf) unsound(source string) []string {
	var out []string
	tell := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(j.said) == 0 {
		tell("nothing is said")
	}
	if !j.understood {
		for i := range j.said {
			if j.said[i].Verdict == finding.Pass {
				tell("a pass of a layout that is not understood: %s", j.said[i].Message)
			}
		}
		return out
	}
	for _, word := range notNumbers {
		if strings.Contains(source, word) {
			return out // it may be a name
		}
		if i := strings.Index(j.text, word); i >= 0 {
			tell("the text says %q: ...%s...", word, j.text[max(0, i-100):min(len(j.text), i+60)])
		}
	}
	asked := map[string]bool{}
	for i := range j.said {
		f := &j.said[i]
		asked[f.Object] = true
		switch f.Verdict {
		case finding.Pass, finding.Fail:
			if m := f.Measure; m != nil && !onItsSide(f) {
				tell("%s of %s: %s with value %g, limit %g, certainty %g", f.Rule, f.Object, f.Verdict, m.Value, m.Limit, m.Certainty)
			}
		case finding.Undecided, finding.NotApplicable:
		default:
			tell("%s of %s has %s", f.Rule, f.Object, f.Verdict)
		}
		if f.Message == "" && f.Verdict != finding.Pass {
			tell("%s of %s without a message", f.Rule, f.Object)
		}
	}
	for i := range j.layout.Sensors {
		if id := j.layout.Sensors[i].ID; !asked[id] {
			tell("nothing is said of sensor %q", id)
		}
	}
	return out
}

// notNumbers are words of numbers that are none.
var notNumbers = []string{"NaN", "Inf", "not a number"}

// onItsSide reports whether a pass or a fail is on the side of its limit that it says, with numbers that are known.
func onItsSide(f *finding.Finding) bool {
	m := f.Measure
	if math.IsNaN(m.Value) || math.IsNaN(m.Limit) || math.IsInf(m.Value, 0) {
		return false
	}
	good := m.Value <= m.Limit+1e-9*math.Abs(m.Limit)
	bad := m.Value >= m.Limit-1e-9*math.Abs(m.Limit)
	if m.AtLeast {
		good, bad = bad, good
	}
	return f.Verdict == finding.Pass && good || f.Verdict == finding.Fail && bad
}

// tooHeavy reports whether a layout takes longer than some hundredths of a second: it is more than bare bars, or has much that is taken
// in pairs. The engine of fuzz targets takes what lasts ten seconds, on a machine with other work, for a fault.
func tooHeavy(l *layout.Layout) bool {
	much := len(l.Bars) + len(l.Sensors) + len(l.Duties) + len(l.Circuits)
	for i := range l.Bars {
		if len(l.Bars[i].Cuts) > 0 || len(l.Bars[i].Section.Corners) > 8 || len(l.Bars[i].Run) > 4 {
			return true
		}
	}
	for i := range l.Sensors {
		much += 2 * len(l.Sensors[i].Elements())
	}
	for i := range l.Duties {
		d := &l.Duties[i]
		much += len(d.Harmonics) + len(d.With)
		for k := range d.Harmonics {
			much += int(d.Harmonics[k].Order.V) / 4
		}
	}
	return much > 14 || field.NewModel(l).Cost() > 1
}

// judgeTwice holds a text to what is true of every check, unless it is too heavy.
func judgeTwice(t *testing.T, text string) {
	t.Helper()
	if l, _ := load.Load("layout.yaml", []byte(text)); l != nil {
		if tooHeavy(l) {
			return
		}
	}
	opt := engine.Options{NoRemedies: true}
	j, again := judgeText(t, text, rules.All(), opt), judgeText(t, text, rules.All(), opt)
	for _, what := range j.unsound(text) {
		t.Errorf("%s", what)
	}
	if j.text != again.text || j.json != again.json {
		t.Error("two checks say different things")
	}
	if t.Failed() {
		t.Logf("of\n%s", text)
	}
}
