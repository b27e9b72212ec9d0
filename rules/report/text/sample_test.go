package text

import (
	"math"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/rules/report"
	"busgauss/rules/report/internal/sample"
)

// thruster is an invented outcome for the bow thruster of a cable ferry. It
// sets every field of a finding at least once.
func thruster() *report.Result {
	const file = "ferry/bow thruster.yaml"
	return &report.Result{
		Tool:  report.Tool{Name: "busgauss", Version: "0.1.0"},
		Files: []report.File{{Path: file, RootPath: file}},
		Findings: []finding.Finding{{
			Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error,
			Object: "SV", Others: []string{"U", "W"}, Cause: "duty full ahead",
			Measure: &finding.Measure{Value: 0.0335, Limit: 0.02, Unit: "1", Certainty: 0.0004, Origin: "house standard, stray-ratio.budget"},
			Span:    sample.At(file, 21, 9, 11),
			Message: `neighbours move sensor "SV" by 3.35 % of own field, 13.4 A, budget 2 %`,
			Remedy:  "SV from 6.0 to 4.3 mm above V: 3.35 % to 1.9 %; output rises 14 %",
			Related: []finding.Related{{Span: sample.At(file, 6, 3, 1), Message: `bar "U" gives the larger share`}},
			Details: []string{"  amount  line", "  13.4 A  bar \"U\""},
		}, {
			Rule: "range-use", Verdict: finding.Fail, Level: finding.Warning, Object: "SW",
			Measure: &finding.Measure{Value: 0.0027, Limit: 0.004, Unit: "T", AtLeast: true, Certainty: math.NaN()},
			Span:    sample.At(file, 24, 9, 12), Message: `sensor "SW" uses 2.7 mT of its range at full ahead`,
		}, {
			Rule: "bar-heating", Verdict: finding.Fail, Level: finding.Note, Object: "U",
			Span:    sample.At(file, 6, 3, 1),
			Message: "current density is a reminder, not a certificate",
		}, {
			Rule: "shield-saturation", Verdict: finding.Undecided, Level: finding.Warning, Object: "S1",
			Measure: &finding.Measure{Value: math.NaN(), Limit: 1.2, Unit: "T", Certainty: math.Inf(1)},
			Span:    sample.At(file, 30, 3, 2), Message: "wall flux density of an open channel is not computed yet",
		}, {
			Rule: "unknown-file", Verdict: finding.Fail, Level: finding.None, Message: "no layout in the directory",
		}},
		Permitted: []report.Permission{{
			Finding: finding.Finding{Rule: "stray-ratio", Verdict: finding.Permitted, Object: "SU", Cause: "duty full ahead",
				Measure: &finding.Measure{Value: 0.021, Limit: 0.02, Unit: "1", Certainty: 0.001},
				Span:    sample.At(file, 18, 9, 13), Message: "other bars move it by 2.10 %"},
			Was: finding.Fail, Level: finding.Error, Reason: "prototype", Until: policy.Day(2026, 12, 31),
			By: "Head of Design", Ticket: "FER-12",
			Span: sample.At("ferry/busgauss-deviations.yaml", 3, 5, 4),
		}, {
			Finding: finding.Finding{Rule: "bar-heating", Verdict: finding.Permitted, Object: "W",
				Span: sample.At(file, 8, 3, 1)},
			Reason: "recorded in the baseline", Baseline: true,
		}},
		Passed: []finding.Finding{{
			Rule: "linear-range", Verdict: finding.Pass, Object: "SU", Cause: "duty full ahead",
			Measure: &finding.Measure{Value: 0.00276, Limit: 0.008, Unit: "T", Certainty: 1e-9, Origin: "part EX-8"},
			Span:    sample.At(file, 18, 9, 13),
		}, {
			Rule: "polarity", Verdict: finding.Pass, Object: "SU", Span: sample.At(file, 18, 9, 13),
			Message: "positive current raises the output",
		}},
		NotApplicable: []finding.Finding{{
			Rule: "shield-sheet", Verdict: finding.NotApplicable, Object: "S1", Span: sample.At(file, 30, 3, 2),
			Message: "the shield is solid",
		}},
		Assumed: []finding.Assumption{
			{Span: sample.At(file, 6, 3, 1), Object: "U", Text: "temperature 20 °C"},
			{Span: sample.At(file, 1, 1, 1), Text: "currents sum to zero"},
		},
	}
}
