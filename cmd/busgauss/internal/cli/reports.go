package cli

import (
	"fmt"
	"io"

	"busgauss/model/finding"
	"busgauss/rules/report"
	"busgauss/rules/report/codequality"
	"busgauss/rules/report/github"
	"busgauss/rules/report/json"
	"busgauss/rules/report/junit"
	"busgauss/rules/report/markdown"
	"busgauss/rules/report/sarif"
	"busgauss/rules/report/text"
)

// checkFormats are the formats of findings.
var checkFormats = []string{"text", "json", "sarif", "sarif-audit", "github", "junit", "codequality", "markdown"}

// look is how text is written for who looks at it; the zero value is for files.
type look struct {
	color bool
	width int // columns of the terminal; 0: none
}

// writeReport writes r in one of checkFormats. The level is the one that the exit
// status goes by.
func writeReport(w io.Writer, format string, r *report.Result, o *checkOptions, level finding.Level, status int, on look) error {
	switch format {
	case "text":
		return text.Write(w, r, text.Options{Color: on.color, Width: on.width, Detail: o.detail, Passes: o.passes, Quiet: o.quiet})
	case "json":
		return json.Write(w, r, json.Options{})
	case "sarif", "sarif-audit":
		return sarif.Write(w, r, sarif.Options{ExitCode: status, Audit: format == "sarif-audit"})
	case "github":
		return github.Write(w, r, github.Options{})
	case "junit":
		return junit.Write(w, r, junit.Options{FailLevel: level})
	case "codequality":
		return codequality.Write(w, r, codequality.Options{})
	case "markdown":
		return markdown.Write(w, r, markdown.Options{Passes: o.passes})
	}
	return fmt.Errorf("no writer of %q", format)
}
