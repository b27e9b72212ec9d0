package audit

import (
	"strings"

	"busgauss/model/finding"
)

// notSeen returns what each rule that ran does not see, in the order of the rules: one that
// did not apply anywhere says nothing of this layout.
func (b *builder) notSeen() []NotSeen {
	var out []NotSeen
	for _, r := range b.spoke() {
		if text := lineOf(r.Help, "Not seen"); text != "" {
			out = append(out, NotSeen{Rule: r.ID, Text: text})
		}
	}
	return out
}

// spoke returns the descriptions of the rules that judged something.
func (b *builder) spoke() []finding.Description {
	seen := map[string]bool{}
	for i := range b.Findings {
		if b.Findings[i].Verdict != finding.NotApplicable {
			seen[b.Findings[i].Rule] = true
		}
	}
	for i := range b.Permitted {
		seen[b.Permitted[i].Finding.Rule] = true
	}
	var out []finding.Description
	for _, r := range b.Rules {
		if seen[r.ID] {
			out = append(out, r)
		}
	}
	return out
}

// lineOf returns the text of "- Key: text" in the help of a rule; empty when there
// is none.
func lineOf(help, key string) string {
	_, rest, ok := strings.Cut("\n"+help, "\n- "+key+": ")
	if !ok {
		return ""
	}
	text, _, _ := strings.Cut(rest, "\n- ")
	text, _, _ = strings.Cut(text, "\n\n")
	return strings.Join(strings.Fields(text), " ")
}

// sources returns every source, each once: of formulas worked on the page, of
// materials, of rules.
func (b *builder) sources(p *Page) []Source {
	var out []Source
	seen := map[Source]bool{}
	add := func(what, text string) {
		s := Source{what, text}
		if text != "" && !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	for i := range p.Channels {
		for _, s := range p.Channels[i].Worked {
			add(s.What, s.Source)
		}
		for _, h := range p.Channels[i].Hand {
			add("hand estimate: "+h.Name, h.Source)
		}
	}
	for i := range b.l.Materials {
		m := &b.l.Materials[i]
		if m.Source != "" {
			add("material "+m.ID, m.Source)
		}
	}
	for _, r := range b.spoke() {
		add("rule "+r.ID, lineOf(r.Help, "Source"))
	}
	return out
}
