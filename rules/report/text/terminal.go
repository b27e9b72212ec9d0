package text

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/report"
)

// leastWidth is the narrowest terminal that is wrapped for.
const leastWidth = 40

// indent stands before what belongs to a finding on a terminal.
const indent = "  "

// terminalFinding writes a finding for eyes: its first sentence, the line of the file with a mark under the
// token, what to do, where the same is so, and what explains it.
func (p *printer) terminalFinding(f *finding.Finding, alike []*finding.Finding) {
	first, more := finding.Sentences(report.Line(f.Message))
	var words []styled
	words = append(words, styled{report.PlaceText(f.Span, p.tool) + ":", p.style.path}, styled{f.Level.String() + ":", p.style.level(f.Level)})
	if f.Verdict != finding.Fail {
		words = append(words, styled{f.Verdict.String() + ":", p.style.verdict(f.Verdict)})
	}
	rules := []string{report.Line(f.Rule)}
	elsewhere := alike
	for len(elsewhere) > 0 && elsewhere[0].Object == f.Object && elsewhere[0].Span == f.Span {
		rules, elsewhere = append(rules, report.Line(elsewhere[0].Rule)), elsewhere[1:]
	}
	words = append(words, styled{first + " [" + strings.Join(rules, ", ") + "]", p.style.plain})
	p.wrapped("", indent+indent, words...)
	p.sourceLine(f.Span, p.style.level(f.Level))
	if f.Remedy != "" {
		p.wrapped(indent, indent+indent, styled{"try: " + report.Line(f.Remedy), p.style.plain})
	}
	for _, line := range p.alsoLines(f, elsewhere) {
		p.wrapped(indent, indent+indent, styled{line, p.style.plain})
	}
	if len(more) > 0 {
		p.wrapped(indent, indent, styled{strings.Join(more, ". ") + ".", p.style.plain})
	}
}

// alsoLines names what is like f: a line for each place, with the rules where they are not those of f alone.
func (p *printer) alsoLines(f *finding.Finding, alike []*finding.Finding) []string {
	var lines []string
	rules := map[string][]string{}
	for _, other := range alike {
		line := "also " + alsoText(f, other) + ": " + report.PlaceText(other.Span, p.tool)
		if rules[line] == nil {
			lines = append(lines, line)
		}
		rules[line] = append(rules[line], report.Line(other.Rule))
	}
	for i, line := range lines {
		if of := rules[line]; len(of) > 1 || of[0] != report.Line(f.Rule) {
			lines[i] += " [" + strings.Join(of, ", ") + "]"
		}
	}
	return lines
}

// alsoText says of a finding that is like the one before it what differs: object, value, and the limit if it is another.
func alsoText(f, other *finding.Finding) string {
	text := report.Line(other.Object)
	m := other.Measure
	if m == nil {
		return text
	}
	if !math.IsNaN(m.Value) {
		text += " " + quantity(m.Value, m.Unit)
	}
	if m.Limit != f.Measure.Limit {
		text += ", limit " + quantity(m.Limit, m.Unit)
	}
	return text
}

func quantity(v float64, unit string) string {
	if unit == "1" {
		return si.Percent(v)
	}
	return si.Format(v, report.Line(unit))
}

// grouped parts findings into those that are shown in full, in their order, and for each those that say the same of
// another object: of one rule, duty, verdict and level, in one file, with a remedy of the same kind. What hinders one rule
// hinders others: what stays open for the same reason is said once for all of them.
func grouped(list []finding.Finding) (shown []*finding.Finding, alike map[*finding.Finding][]*finding.Finding) {
	first := map[string]*finding.Finding{}
	alike = map[*finding.Finding][]*finding.Finding{}
	for i := range list {
		f := &list[i]
		key := kind(f)
		if g := first[key]; g != nil {
			alike[g] = append(alike[g], f)
			continue
		}
		first[key] = f
		shown = append(shown, f)
	}
	return shown, alike
}

// kind is equal for findings that say the same of two objects. Without a number the words must be the same.
func kind(f *finding.Finding) string {
	rule, cause := f.Rule, f.Cause
	if _, more := finding.Sentences(f.Message); f.Verdict == finding.Undecided && f.Measure == nil && len(more) > 0 {
		rule, cause = "", ""
	}
	parts := []string{rule, cause, f.Verdict.String(), f.Level.String(), f.Span.File, remedyKind(f)}
	if m := f.Measure; m != nil {
		parts = append(parts, m.Unit, fmt.Sprint(m.AtLeast))
	} else {
		parts = append(parts, strings.TrimPrefix(f.Message, f.Object+": "))
	}
	if f.Object == "" {
		parts = append(parts, f.Span.String()) // said of a whole file
	}
	return strings.Join(parts, "\x00")
}

// remedyKind is how a remedy begins, without the names of what it is about: "move from".
func remedyKind(f *finding.Finding) string {
	var words []string
	for _, w := range strings.Fields(f.Remedy) {
		if w != f.Object && !slices.Contains(f.Others, w) {
			words = append(words, w)
		}
		if len(words) == 2 {
			break
		}
	}
	return strings.Join(words, " ")
}

// sourceLine shows the line of a place with a mark under its token; nothing where the file is not at hand.
func (p *printer) sourceLine(s span.Span, mark painter) {
	line, ok := p.line(s)
	if !ok {
		return
	}
	number := fmt.Sprint(s.Start.Line)
	gutter := strings.Repeat(" ", len(number)+1) + "| "
	room := max(p.options.Width, leastWidth) - len(indent) - len(gutter)
	before, token, after := parted(line, s)
	// A long line is shown from a little before its token.
	const lead = 16
	if columns(before)+min(columns(token), room/2) > room {
		before = "…" + tail(before, lead)
	}
	token = head(token, room-columns(before))
	after = head(after, room-columns(before)-columns(token))
	under := strings.Repeat("^", max(1, columns(token)))
	fmt.Fprintf(&p.out, "%s%s | %s%s%s\n", indent, number, before, token, after)
	fmt.Fprintf(&p.out, "%s%s%s%s\n", indent, gutter, strings.Repeat(" ", columns(before)), mark.Sprint(under))
}

// line returns the line on which s starts, without its end.
func (p *printer) line(s span.Span) (string, bool) {
	if !s.Valid() {
		return "", false
	}
	lines, ok := p.lines[s.File]
	if !ok {
		for i := range p.files {
			if p.files[i].Path == s.File {
				lines = strings.Split(string(p.files[i].Data), "\n")
			}
		}
		p.lines[s.File] = lines
	}
	if s.Start.Line > len(lines) {
		return "", false
	}
	return strings.TrimSuffix(lines[s.Start.Line-1], "\r"), true
}

// parted cuts a line before and after the token of a span, each part fit to be shown.
func parted(line string, s span.Span) (before, token, after string) {
	runes := []rune(strings.ReplaceAll(line, "\t", " "))
	from := min(s.Start.Column-1, len(runes))
	to := len(runes)
	if s.End.Line == s.Start.Line {
		to = min(max(s.End.Column-1, from), len(runes))
	}
	return report.Line(string(runes[:from])), report.Line(string(runes[from:to])), strings.TrimRight(report.Line(string(runes[to:])), " ")
}
