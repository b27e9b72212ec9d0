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

// MostClearing returns the changes that clear two or more of the findings, the most first, each once and at most as many
// as said. Only what is among the findings counts: a change may clear others that a deviation or a baseline leaves out.
func MostClearing(findings []finding.Finding, most int) []Clearing {
	var out []Clearing
	seen, open := map[[2]string]bool{}, map[[2]string]bool{}
	for i := range findings {
		open[[2]string{findings[i].Span.File, findings[i].Name()}] = true
	}
	for i := range findings {
		f := &findings[i]
		for k := range f.Changes {
			c := &f.Changes[k]
			clears := 1
			for _, name := range c.Clears {
				if open[[2]string{f.Span.File, name}] {
					clears++
				}
			}
			if key := [2]string{f.Span.File, c.Title}; clears > 1 && !seen[key] {
				seen[key] = true
				out = append(out, Clearing{c, f, clears})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Clearing) int { return cmp.Compare(b.Clears, a.Clears) })
	return out[:min(len(out), most)]
}
