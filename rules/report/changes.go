package report

import (
	"cmp"
	"slices"

	"busgauss/model/finding"
)

// Clearing is a change of one layout and how many findings it clears.
type Clearing struct {
	Change *finding.Change
	Of     *finding.Finding // the first finding that offers it
	Clears int
}

// MostClearing returns the changes that clear two findings or more of a layout, the most first and at most as many as
// said; each change once.
func MostClearing(findings []finding.Finding, most int) []Clearing {
	var out []Clearing
	seen := map[[2]string]bool{}
	for i := range findings {
		f := &findings[i]
		for k := range f.Changes {
			c := &f.Changes[k]
			if key := [2]string{f.Span.File, c.Title}; len(c.Clears) > 0 && !seen[key] {
				seen[key] = true
				out = append(out, Clearing{c, f, 1 + len(c.Clears)})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Clearing) int { return cmp.Compare(b.Clears, a.Clears) })
	return out[:min(len(out), most)]
}
