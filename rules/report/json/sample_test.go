package json

import (
	"math"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/rules/report"
	"busgauss/rules/report/internal/sample"
)

// battery is an invented outcome for a battery container with two poles laid
// over each other. It sets every field of a finding.
func battery() *report.Result {
	const file = "container/main bars.yaml"
	return &report.Result{
		Tool:  report.Tool{Name: "busgauss", Version: "0.1.0"},
		Files: []report.File{{Path: file, RootPath: file}},
		Findings: []finding.Finding{{
			Rule: "ambient-field", Verdict: finding.Fail, Level: finding.Error,
			Object: "SP", Others: []string{"cable feed", "cable return"}, Cause: "duty charge",
			Measure: &finding.Measure{Value: 2.3412345678, Limit: 1.5, Unit: "A", Certainty: 1.0 / 3000, Origin: "needs.SP.accuracy"},
			Span:    sample.At(file, 12, 9, 11), Message: `foreign cables move sensor "SP" by 2.34 A, budget 1.5 A`,
			Remedy:  "cable feed from 120 to 190 mm away from SP: 2.34 A to 1.48 A",
			Related: []finding.Related{{Span: sample.At(file, 30, 5, 10), Message: "the nearer cable"}},
			Details: []string{"  amount  line", "  2.34 A  cable feed"},
		}, {
			Rule: "clearance", Verdict: finding.Fail, Level: finding.Note, Object: "P",
			Measure: &finding.Measure{Value: 0.0055, Limit: 0.008, Unit: "m", AtLeast: true, Certainty: math.NaN(), Origin: "IEC 60664-1"},
			Span:    sample.At(file, 3, 3, 1),
			Message: "distance is below the reminder's value; consult the applicable standard",
		}, {
			Rule: "shield-saturation", Verdict: finding.Undecided, Level: finding.Warning, Object: "S1",
			Measure: &finding.Measure{Value: math.Inf(1), Limit: math.NaN(), Unit: "T", Certainty: math.Inf(1)},
			Span:    sample.At(file, 40, 3, 2), Message: "the field of a shield is not computed yet",
		}, {
			Rule: "no-layout", Verdict: finding.Fail, Level: finding.Error, Message: "no layout in the directory",
		}},
		Permitted: []report.Permission{{
			Finding: finding.Finding{Rule: "stray-ratio", Verdict: finding.Permitted, Object: "SQ", Cause: "duty charge",
				Measure: &finding.Measure{Value: 0.021, Limit: 0.02, Unit: "1", Certainty: 0.001, Origin: "standard busgauss-standard.yaml:7"},
				Span:    sample.At(file, 14, 9, 11), Message: "other bars move it by 2.10 %"},
			Was: finding.Undecided, Level: finding.Warning, Reason: "prototype\n", Until: policy.Day(2026, 12, 31),
			By: "Head of Design", Ticket: "BAT-4",
			Span: sample.At("busgauss-deviations.yaml", 3, 5, 4),
		}, {
			Finding: finding.Finding{Rule: "bar-heating", Verdict: finding.Permitted, Object: "P",
				Span: sample.At(file, 3, 3, 1), Message: "as it was"},
			Was: finding.Fail, Level: finding.Error, Reason: "recorded in the baseline", Baseline: true,
			Span: sample.At("busgauss-baseline.yaml", 4, 5, 4),
		}},
		Passed: []finding.Finding{{
			Rule: "linear-range", Verdict: finding.Pass, Object: "SP", Cause: "duty charge",
			Measure: &finding.Measure{Value: -0.00276, Limit: 0, Unit: "T", Certainty: 1e-9, Origin: "part EX-8"},
			Span:    sample.At(file, 12, 9, 11),
		}},
		NotApplicable: []finding.Finding{{
			Rule: "shield-sheet", Verdict: finding.NotApplicable, Object: "S1", Span: sample.At(file, 40, 3, 2),
			Message: "the shield is solid",
		}},
		Assumed: []finding.Assumption{{Span: sample.At(file, 3, 3, 1), Object: "P", Text: "temperature 20 °C"}},
	}
}
