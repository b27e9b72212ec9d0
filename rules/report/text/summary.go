package text

import (
	"fmt"

	"busgauss/rules/report"
)

// summary writes the closing lines: what was found, what was looked at, and
// how much rests on assumed defaults.
func (p *printer) summary(r *report.Result) {
	for _, line := range []string{report.Summary(r), report.ShortOfWork(r)} {
		switch {
		case line == "":
		case p.options.Width > 0:
			p.wrapped("", indent, styled{line, p.style.plain})
		default:
			fmt.Fprintln(&p.out, line)
		}
	}
	if n := len(r.Assumed); n > 0 {
		fmt.Fprintf(&p.out, "%s assumed%s\n", report.Count(n, "default"), p.hint())
	}
}

func (p *printer) hint() string {
	if p.options.Detail || p.options.DetailFlag == "" {
		return ""
	}
	return fmt.Sprintf(" (%s lists them)", p.options.DetailFlag)
}
