package text

import (
	"fmt"

	"busgauss/rules/report"
)

// summary writes the closing lines: what was found, what was looked at, and
// how much rests on assumed defaults.
func (p *printer) summary(r *report.Result) {
	if p.options.Width > 0 {
		p.wrapped("", indent, styled{report.Summary(r), p.style.plain})
	} else {
		fmt.Fprintln(&p.out, report.Summary(r))
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
