package enforce

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/rules/engine"
)

// defaultSlack is the share of a limit by which a finding may be worse than
// recorded. Common practice: more than the bounds of a number move between two
// versions of a mesh, less than a change that somebody makes.
const defaultSlack = 0.01

// entryKey is what tells two findings apart: the identity that fingerprints
// have too, and the file. The two of a pair stand in the order of their names.
type entryKey struct{ file, rule, object, cause, others string }

func (e *Effective) keyOf(file, rule, object, cause string, others []string) entryKey {
	if first, second := e.known.pair(rule, object, cause); first != object {
		others = slices.Clone(others)
		for i := range others {
			if others[i] == cause {
				others[i] = object
			}
		}
		object, cause = first, second
	}
	return entryKey{file, rule, object, cause, joinNames(others)}
}

// pair returns object and cause of a finding, sorted where their order says nothing.
func (k Known) pair(rule, object, cause string) (string, string) {
	if r := k.rule(rule); r != nil && r.Pair && cause != "" && cause < object {
		return cause, object
	}
	return object, cause
}

// joinNames joins names, in any order, so that no two lists read alike.
func joinNames(names []string) string {
	sorted := slices.Sorted(slices.Values(names))
	var out strings.Builder
	for _, n := range sorted {
		fmt.Fprintf(&out, "%d:%s", len(n), n)
	}
	return out.String()
}

// worse says in which way a finding is worse than an entry records; empty when
// it is not. It is worse when its number is, or when its limit has become tighter
// and the number lies further beyond it, by more than the slack. What cannot be
// compared counts as worse.
func worse(f *finding.Finding, e *policy.Entry, slack float64) string {
	if e.Undecided && f.Verdict != finding.Undecided {
		return "the baseline records an undecided verdict"
	}
	if level, _ := finding.ParseLevel(e.Level); f.Level > level {
		return "the baseline records the level " + e.Level
	}
	m := f.Measure
	hasValue := m != nil && !math.IsNaN(m.Value) && !math.IsInf(m.Value, 0)
	if !hasValue && !e.HasValue {
		return ""
	}
	if !hasValue || !e.HasValue || m.Unit != e.Unit {
		return "the baseline records no number that could be compared"
	}
	by, tightened := m.Value-e.Value, e.Limit-m.Limit
	if m.AtLeast {
		by, tightened = -by, -tightened
	}
	scale := math.Abs(e.Limit)
	if scale == 0 {
		scale = math.Abs(e.Value)
	}
	// A record holds six digits.
	if !(by <= float64(slack*scale)+float64(1e-5*math.Abs(e.Value))) {
		return "the baseline records " + engine.Show(e.Value, e.Unit)
	}
	// Nor may a number stand further beyond its limit because more is asked.
	if tightened > 0 && !(by+tightened <= float64(slack*scale)+float64(1e-5*(math.Abs(e.Value)+math.Abs(e.Limit)))) {
		return fmt.Sprintf("the baseline records a limit of %s, which is %s now", engine.Show(e.Limit, e.Unit), engine.Show(m.Limit, m.Unit))
	}
	return ""
}

// Record returns what a baseline keeps of the findings of layouts: failures and
// undecided verdicts of rules, those that a deviation permits left out. old is
// the baseline that it replaces: its entries for layouts that were not checked
// now are kept, but for those of a layout that was moved and is checked under its new
// path. exists reports whether the root has a file; nil: all files that entries name.
// The result is sorted.
func (e *Effective) Record(checked []Checked, old []policy.Entry, exists func(string) bool) []policy.Entry {
	now := map[string]bool{}
	for _, from := range e.moves(checked, old, exists) {
		now[from] = true
	}
	var out []policy.Entry
	for i := range checked {
		c := &checked[i]
		if c.Broken {
			continue // no rule ran, so what is recorded stays
		}
		now[c.Layout] = true
		for k := range c.Findings {
			f := &c.Findings[k]
			if !e.recordable(f) {
				continue
			}
			entry := policy.Entry{
				File: c.Layout, Rule: f.Rule, Object: f.Object, Others: slices.Clone(f.Others), Cause: f.Cause,
				Undecided: f.Verdict == finding.Undecided, Level: f.Level.String(),
			}
			if m := f.Measure; m != nil && !math.IsNaN(m.Value) && !math.IsInf(m.Value, 0) && m.Unit != "" {
				entry.HasValue, entry.Value, entry.Limit, entry.Unit = true, rounded(m.Value), rounded(m.Limit), m.Unit
			}
			out = append(out, entry)
		}
	}
	for _, entry := range old {
		if !now[entry.File] {
			out = append(out, entry)
		}
	}
	SortEntries(out)
	return out
}

// SortEntries puts entries into the order in which a baseline is written.
func SortEntries(list []policy.Entry) { slices.SortStableFunc(list, compareEntries) }

// recordable reports whether a baseline keeps a finding.
func (e *Effective) recordable(f *finding.Finding) bool {
	return (f.Verdict == finding.Fail || f.Verdict == finding.Undecided) && f.Level != finding.None && e.judges(f.Rule)
}

// judges reports whether findings of a rule are judgements, not problems of a
// file: only those can be permitted or recorded.
func (e *Effective) judges(rule string) bool {
	return e.known.rule(rule) != nil || slices.ContainsFunc(e.houseRules,
		func(h houseRule) bool { return h.id == rule })
}

func compareEntries(a, b policy.Entry) int {
	return cmp.Or(
		cmp.Compare(a.File, b.File), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Object, b.Object),
		cmp.Compare(a.Cause, b.Cause), cmp.Compare(joinNames(a.Others), joinNames(b.Others)),
		cmp.Compare(a.Value, b.Value), cmp.Compare(a.Level, b.Level))
}

// rounded keeps six digits, the most that processors agree on.
func rounded(v float64) float64 {
	out, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 5, 64), 64) // text just made always parses
	return out
}

// WriteBaseline writes entries as a baseline file, one a line, in the order
// given. show gives the path that the file says for a layout. It returns the
// first error of w.
func WriteBaseline(w io.Writer, entries []policy.Entry, show func(string) string) error {
	var out strings.Builder
	out.WriteString("# Findings that stood when this was written. Remove lines, do not add any.\nbaseline: 1\nfindings:")
	if len(entries) == 0 {
		out.WriteString(" []")
	}
	out.WriteString("\n")
	for i := range entries {
		e := &entries[i]
		verdict := finding.Fail
		if e.Undecided {
			verdict = finding.Undecided
		}
		fmt.Fprintf(&out, "  - {file: %s, rule: %s, object: %s", text(show(e.File)), text(e.Rule), text(e.Object))
		if e.Cause != "" {
			out.WriteString(", cause: " + text(e.Cause))
		}
		if len(e.Others) > 0 {
			var names []string
			for _, n := range e.Others {
				names = append(names, text(n))
			}
			out.WriteString(", others: [" + strings.Join(names, ", ") + "]")
		}
		fmt.Fprintf(&out, ", verdict: %s, level: %s", verdict, e.Level)
		if e.HasValue {
			fmt.Fprintf(&out, ", value: %s, limit: %s, unit: %s", plain(e.Value), plain(e.Limit), text(e.Unit))
		}
		out.WriteString("}\n")
	}
	if _, err := io.WriteString(w, out.String()); err != nil {
		return fmt.Errorf("write baseline: %w", err)
	}
	return nil
}

// text writes a text in quotes as JSON does, which YAML reads the same way, and
// escapes what an editor does not show.
func text(s string) string {
	quoted, err := json.Marshal(s)
	if err != nil {
		panic("enforce: a text that JSON cannot say")
	}
	var out strings.Builder
	for _, r := range string(quoted) {
		if r >= 0x7f && !strconv.IsGraphic(r) {
			if r > 0xffff {
				fmt.Fprintf(&out, `\U%08x`, r)
			} else {
				fmt.Fprintf(&out, `\u%04x`, r)
			}
			continue
		}
		out.WriteRune(r)
	}
	return out.String()
}

// plain writes a number in the one form that the reader takes.
func plain(v float64) string {
	out, err := json.Marshal(v)
	if err != nil {
		panic("enforce: a number that is not finite")
	}
	return string(out)
}
