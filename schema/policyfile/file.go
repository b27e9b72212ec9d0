package policyfile

import (
	"busgauss/model/policy"
	"busgauss/schema"
	"busgauss/schema/node"
)

// standard reads a standard file; name is its path below the root.
func (r *reader) standard(name string) *policy.File {
	r.shape(schema.Standard)
	f := &policy.File{
		Path:          name,
		Title:         text(r.root.Get("title")),
		Edition:       text(r.root.Get("edition")),
		LeastVersion:  text(r.root.Get("least-version")),
		Extends:       texts(r.root.Get("extends")),
		BaselineSlack: amount(r.root.Get("baseline-slack")),
		Rules:         r.rules(r.root.Get("rules")),
	}
	if n := r.root.Get("rules-edition"); n != nil {
		if v, ok := number(n); ok {
			f.RulesEdition, f.RulesEditionSpan = int(v), n.Span
		}
	}
	if n := r.root.Get("work"); n != nil {
		if v, ok := number(n); ok {
			f.Work = int(v)
		}
	}
	for _, n := range items(r.root.Get("paths")) {
		f.Paths = append(f.Paths, r.scope(policy.Text{}, n))
	}
	for _, m := range members(r.root.Get("classes")) {
		f.Classes = append(f.Classes, r.scope(key(m), m.Value))
	}
	for _, m := range members(r.root.Get("house-rules")) {
		f.HouseRules = append(f.HouseRules, r.houseRule(m))
	}
	return f
}

func (r *reader) scope(name policy.Text, n *node.Node) policy.Scope {
	return policy.Scope{
		Name:     name,
		Preset:   text(n.Get("preset")),
		Files:    r.layoutGlobs(n.Get("files")),
		Channels: r.nameGlobs(n.Get("channels")),
		Rules:    r.rules(n.Get("rules")),
	}
}

func (r *reader) rules(n *node.Node) []policy.RuleSetting {
	var out []policy.RuleSetting
	for _, m := range members(n) {
		s := policy.RuleSetting{
			Rule:   key(m),
			Level:  text(m.Value.Get("level")),
			Reason: r.said(m.Value.Get("reason"), "reason of "+clip(m.Key)),
		}
		for _, l := range members(m.Value.Get("limits")) {
			if a := amount(l.Value); a.Given() {
				s.Limits = append(s.Limits, policy.LimitSetting{Key: key(l), Amount: a})
			}
		}
		out = append(out, s)
	}
	return out
}

func (r *reader) houseRule(m node.Member) policy.HouseRule {
	return policy.HouseRule{
		ID:      key(m),
		Title:   text(m.Value.Get("title")),
		For:     text(m.Value.Get("for")),
		When:    r.placed(m.Value.Get("when")),
		Holds:   r.placed(m.Value.Get("holds")),
		Level:   text(m.Value.Get("level")),
		Message: r.placed(m.Value.Get("message")),
		Remedy:  r.placed(m.Value.Get("remedy")),
		Reason:  text(m.Value.Get("reason")),
	}
}

// deviations reads a file of deviations.
func (r *reader) deviations() []policy.Deviation {
	r.shape(schema.Deviations)
	var out []policy.Deviation
	for _, n := range items(r.root.Get("permits")) {
		d := policy.Deviation{
			Span:     n.Span,
			File:     r.layoutPath(n.Get("file")),
			Rule:     text(n.Get("rule")),
			Object:   text(n.Get("object")),
			Cause:    text(n.Get("cause")),
			Reason:   r.said(n.Get("reason"), "reason"),
			Approver: r.said(n.Get("approver"), "approver"),
			Ticket:   r.said(n.Get("ticket"), "ticket"),
			UpTo:     amount(n.Get("up-to")),
		}
		if u := n.Get("undecided"); u != nil && u.Kind == node.Bool {
			d.Undecided = u.Text == "true"
		}
		if until := text(n.Get("until")); until.Given() {
			day, err := policy.ParseDate(until.Value)
			if err != nil {
				r.problem(until.Span, ruleForm, "", "until: %v", err)
			}
			d.Until, d.UntilAt = day, until.Span
		}
		if len(n.Members) > 0 {
			d.Span = n.Members[0].KeySpan
		}
		out = append(out, d)
	}
	return out
}

// baseline reads a baseline.
func (r *reader) baseline() []policy.Entry {
	r.shape(schema.Baseline)
	var out []policy.Entry
	for _, n := range items(r.root.Get("findings")) {
		e := policy.Entry{
			Span:      n.Span,
			File:      r.layoutPath(n.Get("file")).Value,
			Rule:      text(n.Get("rule")).Value,
			Object:    text(n.Get("object")).Value,
			Cause:     text(n.Get("cause")).Value,
			Undecided: text(n.Get("verdict")).Value == "undecided",
			Level:     text(n.Get("level")).Value,
			Unit:      text(n.Get("unit")).Value,
		}
		for _, t := range texts(n.Get("others")) {
			e.Others = append(e.Others, t.Value)
		}
		have := 0
		for _, k := range []string{"value", "limit", "unit"} {
			if n.Get(k) != nil {
				have++
			}
		}
		if have != 0 && have != 3 {
			r.problem(n.Span, ruleForm, "", "value, limit and unit stand together or not at all")
		}
		v, okV := number(n.Get("value"))
		l, okL := number(n.Get("limit"))
		if okV && okL && e.Unit != "" {
			e.HasValue, e.Value, e.Limit = true, v, l
		}
		out = append(out, e)
	}
	return out
}
