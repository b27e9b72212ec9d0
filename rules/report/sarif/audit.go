package sarif

import (
	"busgauss/model/finding"
	"busgauss/rules/report"
)

// audited returns the results of the audit form: all that was judged, in the
// order failures and undecided verdicts, what is permitted, what passed, what did
// not apply, and what the baseline records and nobody found any more. Every
// result has suppressions, empty for those that are not permitted, for all
// results of a run carry them or none does (section 3.27.23).
func audited(r *report.Result, files *files, states *states) ([]result, catalogue) {
	var all []finding.Finding
	all = append(all, r.Findings...)
	for i := range r.Permitted {
		all = append(all, r.Permitted[i].Finding)
	}
	for _, v := range []finding.Verdict{finding.Pass, finding.NotApplicable} {
		for f := range r.Each(v) {
			all = append(all, *f)
		}
	}
	if r.Baseline != nil {
		all = append(all, r.Baseline.Absent...)
	}
	c := ordered(r.Rules, all, r.Tool.InformationURI)
	levels := make(map[string]finding.Level, len(r.Rules))
	for _, d := range r.Rules {
		levels[d.ID] = d.Level
	}
	prints := newFingerprints(files)
	out := make([]result, 0, len(all)) // never null
	add := func(f *finding.Finding, was finding.Verdict, level finding.Level, state string, suppressions ...suppression) {
		one := assemble(f, f.Rule, kindOf(was, level), level, c, files, prints)
		one.BaselineState = state
		one.Suppressions = &suppressions
		if suppressions == nil {
			one.Suppressions = &[]suppression{}
		}
		out = append(out, one)
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		add(f, f.Verdict, f.Level, states.of(f))
	}
	for i := range r.Permitted {
		p := &r.Permitted[i]
		was, level := p.Was, p.Level
		if was == 0 {
			was = finding.Fail
		}
		if level == finding.None {
			level = max(levels[p.Finding.Rule], finding.Note)
		}
		add(&p.Finding, was, level, states.permitted(p), suppressionOf(p, files))
	}
	for _, v := range []finding.Verdict{finding.Pass, finding.NotApplicable} {
		for f := range r.Each(v) {
			add(f, v, finding.None, states.of(f))
		}
	}
	if r.Baseline != nil {
		for i := range r.Baseline.Absent {
			f := r.Baseline.Absent[i]
			f.Message = firstOf(f.Message, withoutMessage(&f)+": recorded in the baseline and not found any more")
			add(&f, f.Verdict, f.Level, "absent")
		}
	}
	return out, c
}

// kindOf returns the kind of section 3.27.9 for a verdict.
func kindOf(v finding.Verdict, level finding.Level) string {
	switch {
	case v == finding.Pass:
		return "pass"
	case v == finding.NotApplicable:
		return "notApplicable"
	case v == finding.Undecided:
		// "open" is the word for too little information to decide.
		return "open"
	case level == finding.None:
		return "informational"
	}
	return "fail"
}

// suppressionOf returns the permission of a finding. It is external: it stands in
// a file of the house standard and not in the layout.
func suppressionOf(p *report.Permission, files *files) suppression {
	reason := p.Reason
	if reason == "" {
		reason = p.Words()
	}
	s := suppression{
		Kind:          "external",
		Status:        "accepted",
		Justification: report.Shorten(finding.Clean(reason), maxMessage),
		Location:      files.location(p.Span),
		Properties:    suppressionProperties{Approver: p.By, Ticket: p.Ticket, Baseline: p.Baseline},
	}
	if p.Until > 0 {
		s.Properties.Until = p.Until.String()
	}
	return s
}

// states says how a result stands to the baseline, section 3.27.24; nothing where
// no baseline was used. The baseline records failures and undecided verdicts
// only, so everything else is new to it.
type states struct {
	used  bool
	worse map[[2]string]bool // by path and identity
}

func newStates(b *report.Baseline) *states {
	s := &states{used: b != nil, worse: map[[2]string]bool{}}
	if b != nil {
		for i := range b.Worse {
			s.worse[[2]string{b.Worse[i].Span.File, report.Identity(&b.Worse[i])}] = true
		}
	}
	return s
}

func (s *states) of(f *finding.Finding) string {
	switch {
	case !s.used:
		return ""
	case s.worse[[2]string{f.Span.File, report.Identity(f)}]:
		return "updated"
	}
	return "new"
}

func (s *states) permitted(p *report.Permission) string {
	if s.used && p.Baseline {
		return "unchanged"
	}
	return s.of(&p.Finding)
}
