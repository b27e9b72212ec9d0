package compare

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// TextOptions chooses how much is written. The zero value is usable.
type TextOptions struct {
	// Same adds the checks that are the same. Default: they are counted.
	Same bool
	// Level is the one from which on the summary counts findings that are new or
	// worse. Default: none are counted.
	Level finding.Level
}

// WriteText writes r for people and returns the first error of w.
func WriteText(w io.Writer, r *Report, o TextOptions) error {
	var out bytes.Buffer
	fmt.Fprintf(&out, "from %s to %s\n", r.Base.words(), r.Head.words())
	for i := range r.Weaker {
		f := &r.Weaker[i]
		fmt.Fprintf(&out, "%s: %s: %s [%s]\n", path(f.Span.File), f.Level, report.Line(f.Message), f.Rule)
		for _, d := range f.Details {
			fmt.Fprintf(&out, "  %s\n", report.Line(d))
		}
		fmt.Fprintf(&out, "  try: %s\n", report.Line(f.Remedy))
	}
	for i := range r.WeakerPermitted {
		f := &r.WeakerPermitted[i]
		fmt.Fprintf(&out, "%s: permitted by a deviation: %s [%s]\n", path(f.Span.File), strings.Join(lines(f.Details), "; "), f.Rule)
	}
	for i := range r.Pairs {
		p := &r.Pairs[i]
		fmt.Fprintf(&out, "%s: %s\n", path(p.Path()), p.words())
		for _, c := range p.Changes {
			fmt.Fprintf(&out, "  change: %s\n", report.Line(c.String()))
		}
		if p.Refused != "" || p.After == "" {
			continue // that all its checks are gone says no more than its line does
		}
		for k := range p.Objects {
			textObject(&out, p, &p.Objects[k], o)
		}
	}
	fmt.Fprintln(&out, r.summary(o.Level))
	_, err := out.WriteTo(w)
	return err
}

// lines returns texts fit to stand in a line.
func lines(texts []string) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = report.Line(t)
	}
	return out
}

func textObject(out *bytes.Buffer, p *Pair, o *Object, t TextOptions) {
	shown := false
	for i := range o.Checks {
		c := &o.Checks[i]
		if c.Class == Same && !t.Same || p.Broken && c.Class == Gone {
			continue
		}
		if !shown {
			shown = true
			fmt.Fprintf(out, "  %s\n", p.objectWords(o))
			if b := o.whatBecame(o.Class); b != "" {
				fmt.Fprintf(out, "    because: %s\n", b)
			}
		}
		fmt.Fprintf(out, "    %s: %s: %s\n", c.Class, c.about(), c.words())
	}
}
