package compare

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// MarkdownOptions chooses how much is written. The zero value is usable.
type MarkdownOptions struct {
	// Level is the one from which on findings that are new or worse stand in a
	// table of their own. Default: none do.
	Level finding.Level
	// Limit is the most bytes to write. Default: 1,000,000, for hosts refuse a
	// whole summary beyond 1 MiB.
	Limit int
}

// WriteMarkdown writes r for the summary that build hosts show of a step, and
// returns the first error of w. What stands in the way comes first; what would go
// beyond the limit is counted.
//
// Text from files stands in tables of HTML, inside code elements: a block of HTML
// runs to the next empty line (CommonMark 0.31, section 4.6) and nothing in it is
// read as Markdown, and no host looks for mentions, links or emoji in code.
func WriteMarkdown(w io.Writer, r *Report, o MarkdownOptions) error {
	if o.Limit <= 0 {
		o.Limit = 1_000_000
	}
	p := page{limit: o.Limit - 2000} // room for heads and ends of tables
	fmt.Fprintf(&p.out, "### What the change did to the margins\n\n<p>from %s to %s</p>\n\n%s\n", code(r.Base.words()), code(r.Head.words()), r.summary(o.Level))
	var first [][]string
	for i := range r.Weaker {
		f := &r.Weaker[i]
		first = append(first, []string{code(path(f.Span.File)), code(report.Line(f.Object)), code(report.Line(f.Message) + " [" + f.Rule + "]"),
			code(strings.Join(lines(f.Details), "; ")), "worse"})
	}
	for i := range r.WeakerPermitted {
		f := &r.WeakerPermitted[i]
		first = append(first, []string{code(path(f.Span.File)), code(report.Line(f.Object)), code(strings.Join(lines(f.Details), "; ") + " [" + f.Rule + "]"),
			"", "permitted"})
	}
	for i := range r.Pairs {
		q := &r.Pairs[i]
		if q.Fails(o.Level) {
			first = append(first, []string{code(path(q.Path())), "", code(q.words()), "", "worse"})
		}
		for k := range q.Objects {
			for c := range q.Objects[k].Checks {
				if q.Objects[k].Checks[c].Fails(o.Level) {
					first = append(first, append([]string{code(path(q.Path()))}, row(q, &q.Objects[k], &q.Objects[k].Checks[c])...))
				}
			}
		}
	}
	p.table("", []string{"layout", "object", "check", "because", "class"}, first)
	for i := range r.Pairs {
		q := &r.Pairs[i]
		var rows [][]string
		if q.Refused == "" && q.After != "" {
			for k := range q.Objects {
				for c := range q.Objects[k].Checks {
					if class := q.Objects[k].Checks[c].Class; class != Same && !(q.Broken && class == Gone) {
						rows = append(rows, row(q, &q.Objects[k], &q.Objects[k].Checks[c]))
					}
				}
			}
		}
		title := code(path(q.Path())) + " " + code(q.words())
		if len(rows) == 0 {
			p.line("<p>" + title + "</p>\n")
			continue
		}
		p.table(title, []string{"object", "check", "because", "class"}, rows)
	}
	if p.left > 0 {
		fmt.Fprintf(&p.out, "\n<p>%d more lines are in the log</p>\n", p.left)
	}
	_, err := p.out.WriteTo(w)
	return err
}

func row(p *Pair, o *Object, c *Check) []string {
	return []string{code(p.objectWords(o)), code(c.about() + ": " + c.words()), code(o.whatBecame(c.Class)), c.Class.String()}
}

// page collects tables up to a limit.
type page struct {
	out         bytes.Buffer
	limit, left int
}

// line writes a block of its own, if there is room.
func (p *page) line(text string) {
	if p.out.Len()+len(text) > p.limit {
		p.left++
		return
	}
	p.out.WriteString("\n" + text)
}

func (p *page) table(title string, head []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	open := "\n"
	if title != "" {
		open += "<details><summary>" + title + "</summary>\n"
	}
	open += "<table>\n<tr><th>" + strings.Join(head, "</th><th>") + "</th></tr>\n"
	for i, cells := range rows {
		line := "<tr><td>" + strings.Join(cells, "</td><td>") + "</td></tr>\n"
		if i == 0 {
			line = open + line // no head without a row
		}
		if p.out.Len()+len(line) > p.limit {
			if p.left += len(rows) - i; i == 0 {
				return
			}
			break
		}
		p.out.WriteString(line)
	}
	p.out.WriteString("</table>\n")
	if title != "" {
		p.out.WriteString("</details>\n")
	}
}

// code returns text as a code element, empty where there is none.
func code(s string) string {
	if strings.TrimSpace(s) == "" {
		return ""
	}
	s = strings.NewReplacer("\ufffe", `\ufffe`, "\uffff", `\uffff`).Replace(report.Shorten(s, 2000))
	return "<code>" + html.EscapeString(s) + "</code>"
}
