package rules

import (
	_ "embed"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

// catalogueText is rules/README.md, which cmd/rulebook writes from the comments
// on the rules and from their limits.
//
//go:embed README.md
var catalogueText string

// HelpOf returns the section of the catalogue on the rule called id, without its
// heading; empty when there is none.
func HelpOf(id string) string {
	_, rest, ok := strings.Cut(catalogueText, "\n## "+id+"\n")
	if !ok {
		return ""
	}
	if i := strings.Index(rest, "\n## "); i >= 0 {
		rest = rest[:i]
	}
	return strings.TrimSpace(rest)
}

// PageOf returns where the rule called id is explained; ProblemPageOf does of a problem with a file.
func PageOf(id string) string        { return "rules/README.md#" + id }
func ProblemPageOf(id string) string { return "rules/problems.md#" + id }

// Describe returns what writers print of each rule.
func Describe(list []engine.Rule) []finding.Description {
	var out []finding.Description
	for _, r := range list {
		help := HelpOf(r.ID)
		full, _, _ := strings.Cut(help, "\n\n")
		out = append(out, finding.Description{
			ID: r.ID, Title: r.Title, Level: r.Level,
			Full: strings.Join(strings.Fields(full), " "), Help: help, Page: PageOf(r.ID),
		})
	}
	return out
}
