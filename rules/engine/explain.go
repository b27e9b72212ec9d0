package engine

import (
	"slices"

	"busgauss/model/finding"
)

// explanation gives finding number of further sentences: see Case.Explain.
type explanation struct {
	of        int
	sentences func() []string
}

// explain writes the further sentences of findings, which begin with what runs say, that are still failures or open.
func explain(runs []*Run, found []finding.Finding) {
	first := 0
	for _, r := range runs {
		for _, e := range r.toExplain {
			f := &found[first+e.of]
			if f.Verdict != finding.Fail && f.Verdict != finding.Undecided {
				continue
			}
			f.Message = sentences(f.Message, e.sentences()...)
		}
		first += len(r.out)
	}
}

// ofDrawing returns the rules that a change of the drawing is held against: see Rule.AsBuilt.
func ofDrawing(rules []Rule) []Rule {
	return slices.DeleteFunc(slices.Clone(rules), func(r Rule) bool { return r.AsBuilt })
}
