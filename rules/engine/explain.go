package engine

import (
	"slices"

	"busgauss/model/finding"
	"busgauss/model/probe"
)

// explanation gives finding number of further sentences: see Case.Explain.
type explanation struct {
	of        int
	sentences func() []string
}

// explain writes the further sentences of findings, which begin with what runs say, that are still failures or open.
func explain(model *probe.Model, runs []*Run, found []finding.Finding) {
	first := 0
	for _, r := range runs {
		for _, e := range r.toExplain {
			f := &found[first+e.of]
			if f.Verdict != finding.Fail && f.Verdict != finding.Undecided {
				continue
			}
			denied := model.Work().Denied()
			if said := e.sentences(); model.Work().Denied() == denied { // else numbers may be missing
				f.Message = sentences(f.Message, said...)
			}
		}
		first += len(r.out)
	}
}

// ofDrawing returns the rules that a change of the drawing is held against: see Rule.AsBuilt.
func ofDrawing(rules []Rule) []Rule {
	return slices.DeleteFunc(slices.Clone(rules), func(r Rule) bool { return r.AsBuilt })
}
