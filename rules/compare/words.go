package compare

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/rules/engine"
	"busgauss/rules/report"
)

// All text of this file is fit to stand in a line.

// path returns a path that no build host takes for a command at the start of a
// line.
func path(p string) string {
	p = report.Line(p)
	if strings.HasPrefix(strings.TrimLeftFunc(p, unicode.IsSpace), "::") {
		return "./" + p
	}
	return p
}

// words returns a side as a sentence has it: "main at 0123456789ab, where the
// other side parted from it".
func (s Side) words() string {
	text := report.Line(s.Name)
	if s.Commit != "" && s.Commit != s.Name {
		text += " at " + s.Commit[:min(12, len(s.Commit))]
	}
	if s.MergeBase {
		text += " (where the two part)"
	}
	return text
}

// objectWords returns the name of an object with its kind, and how it differs from
// what it was where both sides are known.
func (p *Pair) objectWords(o *Object) string {
	if o.Name() == "" {
		return "the whole layout"
	}
	text := `"` + report.Line(o.Name()) + `"`
	if o.Kind != "" {
		text = o.Kind + " " + text
	}
	if o.Before != "" && o.After != "" && o.Before != o.After {
		text += ` (was "` + report.Line(o.Before) + `")`
	}
	switch {
	case o.Kind == "", p.Broken, p.WasBroken:
	case o.Before == "":
		text += ", which is new"
	case o.After == "":
		text += ", which is gone"
	case !o.Own:
		text += ", itself unchanged"
	}
	return text
}

// whatBecame returns the causes where an object is on both sides and differs.
func (o *Object) whatBecame(c Class) string {
	if c == Same || o.Before == "" || o.After == "" {
		return ""
	}
	return o.because()
}

// because returns what can have moved the numbers of an object, at most four
// changes of it.
func (o *Object) because() string {
	const most = 4
	var parts []string
	for i, c := range o.Causes {
		if i == most {
			parts = append(parts, fmt.Sprintf("%d more", len(o.Causes)-most))
			break
		}
		parts = append(parts, report.Line(c.String()))
	}
	return strings.Join(parts, "; ")
}

// about returns the rule of a check and what it is about, such as a duty.
func (c *Check) about() string {
	text := report.Line(c.Rule)
	if cause := c.cause(); cause != "" {
		text += ", " + report.Line(cause)
	}
	return text
}

// words returns what became of a check: "pass to fail, margin 12.2 % to -4.40 %
// of the limit (4.39 % to 5.22 %, at most 5.00 %)".
func (c *Check) words() string {
	var parts []string
	verdict := func(f *finding.Finding) string { return f.Verdict.String() }
	switch {
	case c.Before == nil:
		parts = append(parts, verdict(c.After))
	case c.After == nil:
		parts = append(parts, "was "+verdict(c.Before))
	case c.Before.Verdict != c.After.Verdict:
		parts = append(parts, verdict(c.Before)+" to "+verdict(c.After))
	default:
		parts = append(parts, verdict(c.After))
	}
	if m := c.margins(); m != "" {
		parts = append(parts, m)
	} else if f := c.After; f != nil && f.Verdict != finding.Pass {
		first, _ := finding.Sentences(f.Message)
		parts = append(parts, report.Line(first))
	}
	if c.Was != "" {
		parts = append(parts, "the limit was "+report.Line(c.Was))
	}
	return strings.Join(parts, ", ")
}

// margins returns the margins of a check with the values behind them; empty where
// there is no number.
func (c *Check) margins() string {
	var margins, values, spare []string
	var last *finding.Measure
	for _, f := range []*finding.Finding{c.Before, c.After} {
		if f == nil || f.Measure == nil {
			continue
		}
		last = f.Measure
		margins = append(margins, marginText(last))
		values = append(values, show(last.Value, last.Unit))
		if last.Unit == "A" {
			spare = append(spare, show(slack(last), last.Unit))
		}
	}
	if last == nil {
		return ""
	}
	word := "at most"
	if last.AtLeast {
		word = "at least"
	}
	text := fmt.Sprintf("margin %s of the limit (%s, %s %s", strings.Join(apart(margins), " to "), strings.Join(apart(values), " to "), word, show(last.Limit, last.Unit))
	if len(spare) > 0 {
		text += "; " + strings.Join(apart(spare), " to ") + " to spare"
	}
	return text + ")"
}

// apart drops the second of two texts that read alike.
func apart(texts []string) []string {
	if len(texts) == 2 && texts[0] == texts[1] {
		return texts[:1]
	}
	return texts
}

func marginText(m *finding.Measure) string {
	v := m.Margin()
	if m.Limit == 0 {
		return "unknown" // a margin of nothing is no share
	}
	if math.IsNaN(v) {
		return "unknown"
	}
	return si.Percent(v)
}

func show(v float64, unit string) string {
	if math.IsNaN(v) {
		return "no value"
	}
	return engine.Show(v, report.Line(unit))
}

// slack returns how far a value lies on the good side of its limit, in its unit.
func slack(m *finding.Measure) float64 {
	if m.AtLeast {
		return m.Value - m.Limit
	}
	return m.Limit - m.Value
}

// words returns where a layout was and what became of it.
func (p *Pair) words() string {
	var parts []string
	switch {
	case p.Before == "":
		parts = append(parts, "new layout")
	case p.After == "":
		parts = append(parts, "layout is gone")
	case p.Before != p.After:
		how := map[Match]string{ByContent: "same content", ByGit: "git takes it to be renamed", ByObjects: "most objects are the same"}[p.Match]
		parts = append(parts, fmt.Sprintf("was %s (%s)", report.Line(p.Before), how))
	}
	switch {
	case p.Refused != "":
		parts = append(parts, "not read: "+report.Line(p.Refused))
	case p.Broken:
		parts = append(parts, "cannot be understood, so its checks are not made")
	case p.WasBroken:
		parts = append(parts, "could not be understood before, so its checks are new")
	}
	if t := tally(p.counts()); t != "" {
		parts = append(parts, t)
	}
	if len(parts) == 0 {
		return "no verdict differs"
	}
	return strings.Join(parts, "; ")
}

func (p *Pair) counts() (out [Worse + 1]int) {
	for i := range p.Objects {
		for _, c := range p.Objects[i].Checks {
			out[c.Class]++
		}
	}
	return out
}

// tally returns the classes that occur, the worst first.
func tally(n [Worse + 1]int) string {
	var parts []string
	for c := Worse; c > Same; c-- {
		if n[c] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[c], c))
		}
	}
	if n[Same] > 0 {
		parts = append(parts, fmt.Sprintf("%d the same", n[Same]))
	}
	return strings.Join(parts, ", ")
}

// summary returns one line on the whole.
func (r *Report) summary(level finding.Level) string {
	changed := 0
	for i := range r.Pairs {
		p := &r.Pairs[i]
		if p.Class != Same || len(p.Changes) > 0 || p.Before != p.After || p.Refused != "" || len(p.Weaker) > 0 {
			changed++
		}
	}
	text := fmt.Sprintf("%s changed, %d unchanged", count(changed, "layout"), r.Unchanged)
	if t := tally(r.Counts()); t != "" {
		text += "; checks: " + t
	}
	if level == finding.None {
		return text
	}
	return text + "; " + count(r.Failures(level), "new or worse finding") + " at level " + level.String() + " or above"
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Since returns what a change did to a check, for a report that has the finding
// itself: `worse than before the change, 4.39 %, for bar "V" moved from ...`.
func (c *Check) Since(o *Object) string {
	text := ""
	switch c.Class {
	case New:
		text = "new with the change"
	case Gone:
		return "not checked any more"
	case Same:
		return "as before the change"
	default:
		text = c.Class.String() + " than before the change, "
		if m := c.Before.Measure; m != nil {
			text += show(m.Value, m.Unit)
			if c.Was != "" {
				text += " of " + show(m.Limit, m.Unit)
			}
		} else {
			text += c.Before.Verdict.String()
		}
	}
	if b := o.whatBecame(c.Class); b != "" {
		text += ", for " + b
	}
	return text
}
