package main

import (
	"bytes"
	"fmt"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/compare"
	"busgauss/rules/enforce"
	"busgauss/rules/report/sarif"
	"busgauss/schema/load"
	"busgauss/schema/policyfile"
)

// problems returns the Markdown of what is said of files, and of verdicts that are none.
func problems() []byte {
	var b bytes.Buffer
	b.WriteString("# What is said of files\n\nWritten by `go generate ./rules` from the descriptions beside the checks; edit those.\n")
	for _, group := range []struct {
		title string
		list  []finding.Description
	}{
		{"Verdicts", []finding.Description{sarif.Undecided()}},
		{"Layouts", load.Problems()},
		{"Standards, deviations and baselines", append(policyfile.Problems(), enforce.Problems()...)},
		{"Changes", compare.Problems()},
	} {
		fmt.Fprintf(&b, "\n## %s\n", group.title)
		for _, d := range group.list {
			fmt.Fprintf(&b, "\n### %s\n\n%s (%s). %s\n\n%s\n", d.ID, capital(d.Title), d.Level, d.Full, d.Help)
		}
	}
	return b.Bytes()
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
