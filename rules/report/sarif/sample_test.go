package sarif

import (
	"bytes"
	"math"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

const (
	layoutPath = "../ferry/bow thruster #1.yaml"
	rootPath   = "plant/ferry/bow thruster #1.yaml"
)

// layoutText stands for the content of the file; only its lines matter.
const layoutText = "layout: 1\ntitle: bow thruster\nbars:\n  U: {at: [-30 mm, 0 mm]}\n  V: {at: [0 mm, 0 mm]}\n" +
	"sensors:\n  SV: {reads: V, at: [0 mm, 5.5 mm]}\n  SW: {reads: U, at: [-30 mm, 5.5 mm]}\nshields:\n  S1: {at: [0 mm, 0 mm]}\n"

func at(line, column, length int) span.Span {
	return span.Span{File: layoutPath, Start: span.Pos{Line: line, Column: column}, End: span.Pos{Line: line, Column: column + length}}
}

// thruster is an invented outcome for the bow thruster of a cable ferry. It sets
// every field of a finding, and has every kind of place.
func thruster() *report.Result {
	return &report.Result{
		Tool: report.Tool{Name: "busgauss", Version: "0.1.0", InformationURI: "https://example.org/busgauss"},
		Rules: []finding.Description{
			{ID: "linear-range", Title: "sensor leaves its linear range", Level: finding.Error},
			{ID: "range-use", Title: "little of a sensor's range is used", Full: "The largest continuous current uses little of the range.", Level: finding.Warning},
			{
				ID: "stray-ratio", Title: "neighbouring conductor disturbs a sensor",
				Full:  "A sensor's reading shifts by more than its budget when other conductors carry their currents",
				Help:  "Quantity  e = |B_other·u| / |B_own·u|\n\tpure number\nNot seen  conductors outside the file\n",
				Level: finding.Error,
			},
		},
		Files: []report.File{{Path: layoutPath, RootPath: rootPath, Data: []byte(layoutText)}},
		Findings: []finding.Finding{{
			Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error,
			Object: "SV", Others: []string{"U", "W"}, Cause: "duty full ahead",
			Measure: &finding.Measure{Value: 0.0335123456, Limit: 0.02, Unit: "1", Certainty: 0.0004, Origin: "house standard, stray-ratio.budget"},
			Span:    at(7, 22, 18),
			Message: `neighbours move sensor "SV" by 3.35 % of own field, 13.4 A, budget 2 %`,
			Remedy:  "SV from 6.0 to 4.3 mm above V: 3.35 % to 1.9 %; output rises 14 %",
			Related: []finding.Related{{Span: at(4, 3, 1), Message: `bar "U" gives the larger share`}, {Span: at(5, 3, 1)}},
			Details: []string{"amount  line", "13.4 A  bar U"},
		}, {
			Rule: "range-use", Verdict: finding.Fail, Level: finding.Warning, Object: "SW",
			Measure: &finding.Measure{Value: 0.0027, Limit: 0.004, Unit: "T", AtLeast: true, Certainty: math.NaN()},
			Span:    at(8, 22, 20), Message: `sensor "SW" uses 2.7 mT of its range`,
		}, {
			Rule: "linear-range", Verdict: finding.Undecided, Level: finding.Error, Object: "SV", Cause: "duty short circuit",
			Measure: &finding.Measure{Value: math.NaN(), Limit: math.Inf(1), Unit: "T", Certainty: math.Inf(1)},
			Span:    at(7, 3, 2), Message: `the field of shield "S1" is not computed yet`,
		}, {
			Rule: "unknown-key", Verdict: finding.Fail, Level: finding.Error,
			Span: span.Span{File: layoutPath}, Message: "unknown key at [bars][U]",
		}, {
			Rule: "range-use", Verdict: finding.Fail, Level: finding.None, Object: "SV",
			Span: span.Span{File: "/not/read/elsewhere.yaml", Start: span.Pos{Line: 9, Column: 4}}, Message: "set to no level by the house standard",
		}},
		Passed:  []finding.Finding{{Rule: "linear-range", Verdict: finding.Pass, Object: "SW", Span: at(8, 3, 2)}},
		Assumed: []finding.Assumption{{Span: at(4, 3, 1), Object: "U", Text: "temperature 20 °C"}, {Span: at(1, 1, 9), Text: "currents sum to zero"}},
	}
}

// clean is an outcome without findings.
func clean() *report.Result {
	r := thruster()
	r.Findings, r.Assumed = nil, nil
	return r
}

func written(t *testing.T, r *report.Result, o Options) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
