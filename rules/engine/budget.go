package engine

import (
	"busgauss/model/finding"
	"busgauss/model/work"
)

// over returns what did not fit into the work of the layout while the rule ran, nil where all did.
func (r *Run) over() *work.Over {
	b := r.Model.Work()
	if b.Denied() == r.denied {
		return nil
	}
	return b.Over()
}

// keep keeps a finding. Where something did not fit into the work of the layout before, it is open, and says so.
func (r *Run) keep(f finding.Finding) {
	r.out = append(r.out, f)
	if over := r.over(); over != nil {
		endedWith(over, r.rule.Level, r.out[len(r.out)-1:])
	}
}

// endedWith makes what is said undecided, where something did not fit into the work of the layout meanwhile: a number may be
// missing in it. A failure with a number stays. What the end of the work leaves open has the level of its rule: else a layout that
// takes all of it would hide errors of others from who asks for errors alone.
func endedWith(over *work.Over, level finding.Level, found []finding.Finding) {
	for i := range found {
		f := &found[i]
		if f.Verdict == finding.Pass || f.Verdict == finding.NotApplicable || f.Verdict == finding.Fail && f.Measure == nil {
			f.Verdict, f.Measure, f.Remedy = finding.Undecided, nil, ""
			f.Message = Named(f.Object, "cannot be judged")
		}
		if f.Verdict == finding.Undecided {
			f.Level = max(level, finding.Warning)
		}
		if f.Verdict == finding.Undecided && !work.Says(f.Message) {
			f.Message = sentences(f.Message, Sentence(over.Error()))
		}
	}
}

// open says in the findings that smaller bounds may decide why those are not had.
func (r *Run) open(over *work.Over) {
	for _, u := range r.unsure {
		f := &r.out[u.of]
		f.Message = sentences(f.Message, Sentence(over.Error()))
	}
}

// atEnd is the remedy of what is not searched for since the work of the layout has ended.
const atEnd = "no further changes are tried: the work that this layout may take is used up (--work raises it)"
