package report

import (
	"fmt"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/work"
)

// Summary says in one line what was found and what was looked at:
// "1 error, 0 warnings, 0 notes, 2 undecided; 57 checks passed in 3 files".
func Summary(r *Result) string {
	layouts := 0
	for i := range r.Files {
		if !r.Files[i].Governs {
			layouts++
		}
	}
	passed := fmt.Sprintf("%s passed in %s", Count(r.Count(finding.Pass), "check"), Count(layouts, "file"))
	if n := len(r.Permitted); n > 0 {
		passed += fmt.Sprintf(", %d permitted", n)
	}
	if n := r.Count(finding.NotApplicable); n > 0 {
		passed += fmt.Sprintf(", %d not applicable", n)
	}
	if len(r.Findings) == 0 {
		return "0 findings, " + passed
	}
	return tally(r.Findings) + "; " + passed
}

// ShortOfWork says how many layouts needed more work than they may take, and what to do; empty where none did.
func ShortOfWork(r *Result) string {
	short := map[string]bool{}
	for i := range r.Findings {
		if work.Says(r.Findings[i].Message) {
			short[r.Findings[i].Span.File] = true
		}
	}
	const what = "what is open says what raises that (1500 million steps are about a second of one processor)"
	switch len(short) {
	case 0:
		return ""
	case 1:
		return "1 layout needs more work than it may take: " + what
	}
	return fmt.Sprintf("%d layouts need more work than they may take: %s", len(short), what)
}

// tally counts findings by level, and those without a decision. An undecided
// verdict is counted as such and not with its level, so that nobody counts it
// twice.
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
		Count(byLevel[finding.Error], "error"),
		Count(byLevel[finding.Warning], "warning"),
		Count(byLevel[finding.Note], "note"),
		fmt.Sprintf("%d undecided", undecided),
	}
	if n := byLevel[finding.None]; n > 0 {
		parts = append(parts, fmt.Sprintf("%d without a level", n))
	}
	return strings.Join(parts, ", ")
}

// Count returns "1 check" or "2 checks".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
