package cli

import (
	"cmp"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// settled is what is left of the verdicts on layouts once deviations and baselines
// are applied.
type settled struct {
	said      []finding.Finding // on layouts, all verdicts, those permitted among them
	about     []finding.Finding // on standards, deviations and baselines
	permitted []enforce.Permission
	baseline  *report.Baseline
	files     []report.File
	rules     []finding.Description
	kept      *keptVerdicts // what passed and what did not apply of layouts that are packed; nil: said holds it
}

// settle applies deviations and baselines to what layouts gave. Inputs that could
// not be read are left out. Problems of the sets in extra are reported even where no
// layout is judged by them.
func settle(inputs []input, standards []layoutStandard, outcomes []outcome, extra []*standardSet, o *standardOptions,
	strict bool) settled {
	var out settled
	g := out.group(inputs, standards, outcomes, extra)
	described := map[string]bool{}
	held := heldLines{}
	var recorded []applied
	trees := map[*standardTree]bool{}
	for _, set := range g.order {
		for _, one := range []*standardSet{set, set.head} {
			if one != nil && one.tree != nil && !trees[one.tree] {
				trees[one.tree] = true
				out.about = append(out.about, one.tree.nearNames()...)
			}
		}
		out.files = append(out.files, set.reportFiles()...)
		out.about = append(out.about, set.problems...)
		out.about = append(out.about, set.changes(o.from)...)
		remarks := set
		if set.head != nil {
			// Deviations and the baseline are mended in the work tree, so remarks
			// are on what stands there.
			remarks = set.head
			out.about = append(out.about, set.head.problems...)
		}
		if set.effective == nil {
			continue
		}
		for i, was := range set.renamed(inputs, standards, g.members[set]) {
			g.groups[set][slices.Index(g.members[set], i)].Was = was
		}
		options := enforce.Options{Day: o.day, Strict: strict, Exists: remarks.exists}
		got := set.effective.Apply(g.groups[set], options)
		held.note(got)
		for _, f := range got.Findings {
			switch {
			case !enforce.IsRemark(f.Rule):
				out.said = append(out.said, f)
			case remarks == set:
				out.about = append(out.about, f)
			}
		}
		out.permitted = append(out.permitted, got.Permitted...)
		if set.paths.Baseline != "" {
			recorded = append(recorded, applied{set, got})
		}
		if remarks != set && remarks.effective != nil {
			again := remarks.effective.Apply(g.groups[set], options)
			held.note(again)
			for _, f := range again.Findings {
				if enforce.IsRemark(f.Rule) {
					out.about = append(out.about, f)
				}
			}
		}
		for _, d := range set.effective.Descriptions() {
			if !described[d.ID] {
				described[d.ID] = true
				out.rules = append(out.rules, d)
			}
		}
	}
	for _, r := range recorded {
		out.addBaseline(r.set, r.got, g.shown, held)
	}
	out.about = slices.DeleteFunc(out.about, func(f finding.Finding) bool { return enforce.IsGone(f.Rule) && held[f.Span] })
	out.said, out.about, out.kept = engine.Sorted(out.said), engine.Sorted(out.about), newKept(outcomes)
	slices.SortStableFunc(out.permitted, func(a,
		b enforce.Permission) int {
		return engine.Compare(a.Finding, b.Finding)
	})
	return out
}

// groupedLayouts are the layouts that were judged, by the set that they were judged by.
type groupedLayouts struct {
	order   []*standardSet
	groups  map[*standardSet][]enforce.Checked
	members map[*standardSet][]int // places among the inputs, as in groups
	shown   map[string]string      // path that a layout was given by, by the one below its root
}

// group sorts what layouts gave by sets. What no usable set judges is said as it is.
func (s *settled) group(inputs []input, standards []layoutStandard, outcomes []outcome, extra []*standardSet) *groupedLayouts {
	g := &groupedLayouts{groups: map[*standardSet][]enforce.Checked{}, members: map[*standardSet][]int{}, shown: map[string]string{}}
	for i := range inputs {
		if inputs[i].err != nil {
			continue
		}
		set := standards[i].set
		if set == nil || set.effective == nil {
			s.said = append(s.said, outcomes[i].said...)
			if set == nil {
				continue
			}
		}
		if _, seen := g.groups[set]; !seen {
			g.order = append(g.order, set)
		}
		g.shown[standards[i].layout] = inputs[i].Path
		g.members[set] = append(g.members[set], i)
		g.groups[set] = append(g.groups[set], enforce.Checked{Layout: standards[i].layout, Findings: outcomes[i].said,
			Broken: !outcomes[i].understood})
	}
	for _, set := range extra {
		if _, seen := g.groups[set]; !seen {
			g.order = append(g.order, set)
			g.groups[set] = nil
		}
	}
	return g
}

// applied is what one set left of the findings.
type applied struct {
	set *standardSet
	got enforce.Outcome
}

// heldLines are the lines of baselines that a finding matches, under whichever standard: of two that share a baseline one
// may say that nothing matches a line, for the layout moved to where the other one governs.
type heldLines map[span.Span]bool

func (h heldLines) note(got enforce.Outcome) {
	for i := range got.Standing {
		if got.Standing[i].Holds {
			h[got.Standing[i].Entry.Span] = true
		}
	}
}

func (s *settled) addBaseline(set *standardSet, got enforce.Outcome, shown map[string]string, held heldLines) {
	if s.baseline == nil {
		s.baseline = &report.Baseline{}
	}
	s.baseline.Worse = append(s.baseline.Worse, got.Worse...)
	for i := range got.Absent {
		e := &got.Absent[i]
		if held[e.Span] {
			continue
		}
		at, ok := shown[e.File]
		if !ok {
			at = set.tree.show(e.File)
		}
		s.baseline.Absent = append(s.baseline.Absent, absent(e, at))
	}
	slices.SortStableFunc(s.baseline.Worse, engine.Compare)
	slices.SortStableFunc(s.baseline.Absent, engine.Compare)
}

// absent returns the finding that an entry of a baseline recorded.
func absent(e *policy.Entry, path string) finding.Finding {
	f := finding.Finding{
		Rule: e.Rule, Verdict: finding.Fail, Object: e.Object, Others: slices.Clone(e.Others), Cause: e.Cause,
		Span: span.Span{File: path, Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 1}},
	}
	if e.Undecided {
		f.Verdict = finding.Undecided
	}
	f.Level, _ = finding.ParseLevel(e.Level)
	return f
}

// permission turns a permission into what reports show.
func permission(p *enforce.Permission) report.Permission {
	return report.Permission{
		Finding: p.Finding, Was: p.Was, Level: p.Level, Reason: p.Reason, Until: p.Until, By: p.By, Ticket: p.Ticket,
		Span: p.Span, Baseline: p.InBase,
	}
}

// fill makes a result of what is settled: files by path, verdicts by place.
func (s *settled) fill(r *report.Result) {
	seen := map[string]bool{}
	for _, f := range s.files {
		if !seen[f.Path] {
			seen[f.Path] = true
			r.Files = append(r.Files, f)
		}
	}
	slices.SortStableFunc(r.Files, func(a, b report.File) int { return strings.Compare(a.Path, b.Path) })
	for _, f := range rules.Folded(s.said) {
		passes := f.Verdict == finding.Pass || f.Verdict == finding.NotApplicable
		switch {
		case passes && s.kept != nil:
			s.kept.folded = append(s.kept.folded, f)
		case f.Verdict == finding.Pass:
			r.Passed = append(r.Passed, f)
		case f.Verdict == finding.NotApplicable:
			r.NotApplicable = append(r.NotApplicable, f)
		case f.Verdict == finding.Permitted:
		default:
			r.Findings = append(r.Findings, f)
		}
	}
	if s.kept != nil {
		r.Kept = s.kept
	}
	r.Findings = engine.Sorted(append(r.Findings, s.about...))
	for i := range s.permitted {
		r.Permitted = append(r.Permitted, permission(&s.permitted[i]))
	}
	r.Baseline = s.baseline
	r.Rules = descriptions(rules.All(), s.rules, len(s.files) > 0 || len(s.about) > 0)
}

// paged says of problems with files where each is explained.
func paged(list []finding.Description) []finding.Description {
	for i := range list {
		list[i].Page = rules.ProblemPageOf(list[i].ID)
	}
	return list
}

// descriptions returns every rule that may report, those of a house standard among them,
// sorted by identifier. Rules about standards come in where there is one.
func descriptions(list []engine.Rule, houseRules []finding.Description, governed bool) []finding.Description {
	all := append(append(paged(load.Problems()), rules.Describe(list)...), houseRules...)
	if governed {
		all = append(append(all, paged(policyfile.Problems())...), paged(enforce.Problems())...)
	}
	slices.SortStableFunc(all, func(a, b finding.Description) int { return cmp.Compare(a.ID, b.ID) })
	return slices.CompactFunc(all, func(a, b finding.Description) bool { return a.ID == b.ID })
}
