package text

import (
	"fmt"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// summary writes the closing lines: what was found, what was looked at, and
// how much rests on assumed defaults. An undecided verdict is counted as such
// and not with its level, so that nobody counts it twice.
func (p *printer) summary(r *report.Result) {
	passed := fmt.Sprintf("%s passed in %s", count(len(r.Passed), "check"), count(len(r.Files), "file"))
	if n := len(r.NotApplicable); n > 0 {
		passed += fmt.Sprintf(", %d not applicable", n)
	}
	if len(r.Findings) == 0 {
		fmt.Fprintf(&p.out, "0 findings, %s\n", passed)
	} else {
		fmt.Fprintf(&p.out, "%s; %s\n", tally(r.Findings), passed)
	}
	if n := len(r.Assumed); n > 0 {
		fmt.Fprintf(&p.out, "%s assumed%s\n", count(n, "default"), p.hint())
	}
}

func (p *printer) hint() string {
	if p.options.Detail || p.options.DetailFlag == "" {
		return ""
	}
	return fmt.Sprintf(" (%s lists them)", p.options.DetailFlag)
}

// tally counts findings by level, and those without a decision.
func tally(findings []finding.Finding) string {
	var byLevel [finding.Error + 1]int
	undecided := 0
	for i := range findings {
		if findings[i].Verdict == finding.Fail {
			byLevel[min(findings[i].Level, finding.Error)]++
		} else {
			undecided++
		}
	}
	parts := []string{
		count(byLevel[finding.Error], "error"),
		count(byLevel[finding.Warning], "warning"),
		count(byLevel[finding.Note], "note"),
		fmt.Sprintf("%d undecided", undecided),
	}
	if n := byLevel[finding.None]; n > 0 {
		parts = append(parts, fmt.Sprintf("%d without a level", n))
	}
	return strings.Join(parts, ", ")
}

// count returns "1 check" or "2 checks".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
