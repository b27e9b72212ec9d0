package text

import (
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules/report"
	"busgauss/rules/report/internal/sample"
)

// A place that is always shown stands under the finding without detail, once with it, and not where the lines of findings are wanted
// alone; others are detail.
func TestAlwaysShown(t *testing.T) {
	r := thruster()
	r.Findings = r.Findings[:1]
	f := &r.Findings[0]
	f.Related = append(f.Related, finding.Related{Span: sample.At("busgauss-deviations.yaml", 3, 6, 4), Message: "the deviation ended on 2026-06-30", Always: true})
	const line = "  see: busgauss-deviations.yaml:3:6: the deviation ended on 2026-06-30\n"
	for _, c := range []struct {
		o            Options
		shown, other int
	}{{Options{}, 1, 0}, {Options{Detail: true}, 1, 1}, {Options{Quiet: true}, 0, 0}} {
		got := written(t, &report.Result{Tool: r.Tool, Files: r.Files, Findings: r.Findings}, c.o)
		if strings.Count(got, line) != c.shown || strings.Count(got, "gives the larger share") != c.other {
			t.Errorf("%+v:\n%s", c.o, got)
		}
	}
}
