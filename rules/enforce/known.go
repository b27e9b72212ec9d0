// Package enforce decides what a house standard means: it resolves the limits
// and levels of its files for each layout and channel, compiles the rules that a
// team writes as expressions, and applies deviations and a baseline to findings.
// It reads no file and no clock: the files come as data, the day from the caller.
package enforce

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Known is what the program has that a standard can speak of.
type Known struct {
	Rules []engine.Rule
	// Version is the version of the program, three numbers with points; anything
	// else is not comparable.
	Version string
	// Quantities is the catalogue for house rules.
	Quantities []Quantity
	// OfChanges are the rules about what a change takes from the checks of a layout, which deviations may name beside Rules.
	OfChanges []string
}

func (k *Known) rule(id string) *engine.Rule {
	for i := range k.Rules {
		if k.Rules[i].ID == id {
			return &k.Rules[i]
		}
	}
	return nil
}

func (k *Known) edition(rule string) int {
	if r := k.rule(rule); r != nil {
		return max(1, r.Edition)
	}
	return 1
}

func limitOf(r *engine.Rule, key string) *engine.Limit {
	for i := range r.Limits {
		if r.Limits[i].Key == key {
			return &r.Limits[i]
		}
	}
	return nil
}

// problems collects what is wrong with the files.
type problems struct{ list []finding.Finding }

func (p *problems) add(at span.Span, rule, remedy, format string, args ...any) *finding.Finding {
	p.list = append(p.list, finding.Finding{
		Rule: rule, Verdict: finding.Fail, Level: finding.Error, Span: at,
		Message: fmt.Sprintf(format, args...), Remedy: remedy,
	})
	return &p.list[len(p.list)-1]
}

// maxQuoted is the number of characters of a file that a message quotes.
const maxQuoted = 80

func quote(text string) string { return finding.Quote(text, maxQuoted) }

func clip(text string) string { return finding.Clip(text, maxQuoted) }

var versionForm = regexp.MustCompile(`^v?(\d{1,6})(?:\.(\d{1,6}))?(?:\.(\d{1,6}))?$`)

// version reads up to three numbers with points; ok is false for anything else.
func version(text string) (v [3]int, ok bool) {
	m := versionForm.FindStringSubmatch(text)
	if m == nil {
		return v, false
	}
	for i := range v {
		v[i], _ = strconv.Atoi(m[i+1]) // digits by the form; an absent one is 0
	}
	return v, true
}

// where names a place for people: path and line.
func where(s span.Span) string { return fmt.Sprintf("%s:%d", s.File, s.Start.Line) }

// because joins a place and the reason that stands there.
func because(at span.Span, reason string) string {
	if reason = strings.TrimSpace(reason); reason != "" {
		return where(at) + ": " + reason
	}
	return where(at)
}
