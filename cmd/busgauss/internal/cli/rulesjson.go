package cli

import (
	"io"
	"slices"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// The JSON of rules: names and shapes are a contract.
type ruleReport struct {
	Edition int         `json:"edition"` // of the set of rules
	Rules   []ruleEntry `json:"rules"`
}

type ruleEntry struct {
	Rule  string `json:"rule"`
	About string `json:"about"` // layout: what is designed; file: whether files can be understood and agree
	Level string `json:"level"`
	Title string `json:"title"`
	// Edition is that of the set of rules in which the rule came in; 0 for one about files.
	Edition int          `json:"edition,omitempty"`
	Limits  []limitEntry `json:"limits"`
	Text    string       `json:"text"` // Markdown
	// Page explains the rule: a path below the root of the repository of this program, with the heading's anchor.
	Page string `json:"page"`
}

type limitEntry struct {
	Limit   string  `json:"limit"`
	Default float64 `json:"default"`
	Unit    string  `json:"unit"` // SI, "1" for a share
	Side    string  `json:"side"` // "at most" or "at least"
	Reason  string  `json:"reason"`
	// Need is the key of a layout's needs that tightens the limit.
	Need string `json:"need,omitempty"`
}

// rulesAsJSON prints all rules, or the one that is named.
func rulesAsJSON(s *Streams, args, ids []string) error {
	out := ruleReport{Edition: engine.Edition(rules.All())}
	for _, r := range rules.All() {
		e := ruleEntry{Rule: r.ID, About: "layout", Level: r.Level.String(), Title: r.Title, Edition: max(1, r.Edition),
			Limits: []limitEntry{}, Text: rules.HelpOf(r.ID), Page: rules.PageOf(r.ID)}
		for _, l := range r.Limits {
			side := "at most"
			if l.AtLeast {
				side = "at least"
			}
			e.Limits = append(e.Limits, limitEntry{l.Key, l.Default, l.Unit, side, l.Reason, l.NeedKey})
		}
		out.Rules = append(out.Rules, e)
	}
	for _, p := range fileProblems() {
		out.Rules = append(out.Rules, fileEntry(&p))
	}
	if len(args) == 1 {
		i := slices.IndexFunc(out.Rules, func(e ruleEntry) bool { return e.Rule == args[0] })
		if i < 0 {
			return unknownRule(args[0], ids)
		}
		out.Rules = out.Rules[i : i+1]
	}
	return writeFile(s, "-", func(w io.Writer) error { return report.EncodeJSON(w, out) })
}

func fileEntry(p *finding.Description) ruleEntry {
	return ruleEntry{Rule: p.ID, About: "file", Level: p.Level.String(), Title: p.Title, Limits: []limitEntry{}, Text: p.Full + "\n\n" + p.Help, Page: p.Page}
}
