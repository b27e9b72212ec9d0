// Package finding holds what a check has to say: data only, no decisions.
package finding

import (
	"math"

	"busgauss/model/span"
)

// Verdict is the outcome of one rule for one object.
type Verdict uint8

// The five verdicts. The zero value is none of them, so a verdict that nobody
// set can never read as a pass.
const (
	Pass Verdict = iota + 1
	Fail
	Undecided
	NotApplicable
	Permitted
)

// String returns the word for v that every output uses.
func (v Verdict) String() string {
	switch v {
	case Pass:
		return "pass"
	case Fail:
		return "fail"
	case Undecided:
		return "undecided"
	case NotApplicable:
		return "not applicable"
	case Permitted:
		return "permitted"
	}
	return "no verdict"
}

// Level says how much a finding matters, in the words of SARIF 2.1.0,
// section 3.27.10. Levels are ordered: a higher one matters more.
type Level uint8

// The levels from none upward.
const (
	None Level = iota
	Note
	Warning
	Error
)

// String returns the SARIF word for l.
func (l Level) String() string {
	switch l {
	case None:
		return "none"
	case Note:
		return "note"
	case Warning:
		return "warning"
	case Error:
		return "error"
	}
	return "none"
}

// ParseLevel returns the level named by text, and false for any other word.
func ParseLevel(text string) (Level, bool) {
	for _, l := range []Level{None, Note, Warning, Error} {
		if l.String() == text {
			return l, true
		}
	}
	return None, false
}

// Measure is the number behind a verdict. Value and Limit are in Unit, which is
// an SI unit text ("T", "A", "m", "A/m2", "1" for pure numbers). AtLeast says
// that the limit is a floor; otherwise it is a ceiling. Certainty is the half
// width of the numerical bound relative to Value; NaN says that it is unknown.
// Origin says where the limit comes from, in words for people. Of says what a pure number is
// a share of, and WholeA what that is in amperes; where it is 0 the whole of Of counts.
type Measure struct {
	Value, Limit float64
	Unit         string
	AtLeast      bool
	Certainty    float64
	Origin       string
	Of           Share
	WholeA       float64
}

// Margin returns how far the value lies on the good side of the limit, as a
// share of the limit: 0.2 means twenty per cent to spare, a negative number a
// miss. A zero limit gives the margin in units of the value.
func (m Measure) Margin() float64 {
	d := m.Limit - m.Value
	if m.AtLeast {
		d = -d
	}
	if m.Limit == 0 {
		return d
	}
	return d / math.Abs(m.Limit)
}

// Related is another place that matters to a finding.
type Related struct {
	Span    span.Span
	Message string
}

// Edit puts Text in the place of what stands at Span. An empty span is a place to insert at.
type Edit struct {
	Span span.Span
	Text string
}

// Change is one way to mend a finding: all its edits together. Title says what is altered,
// Effect what comes of it in numbers. Clears names the other findings that it clears too, by Name,
// in a fixed order. Safe says that it mends a slip of writing and alters nothing else.
type Change struct {
	Title, Effect string
	Edits         []Edit
	Clears        []string
	Safe          bool
}

// Finding is what one rule says of one object, good or bad.
type Finding struct {
	Rule    string // identifier of the rule, words with hyphens
	Verdict Verdict
	Level   Level     // none unless the verdict is fail or undecided
	Object  string    // name of the object judged, such as a sensor; may be empty for a whole file
	Others  []string  // names of the other objects in it, in a fixed order
	Cause   string    // what tells two findings of one rule on one object apart, such as a duty; may be empty
	Measure *Measure  // nil when the rule has no number
	Span    span.Span // the token to edit; its File is the layout's path
	Message string    // one line: a first sentence that stands alone, then what explains it; no full stop at the end, see Sentences
	Remedy  string    // one line; empty when nothing is proposed
	Related []Related
	Changes []Change // what may be done to the file; the first is the one that Remedy names
	// Details are lines of a table behind the number, such as the budget of a
	// channel, in columns that stand below one another; empty for most findings.
	Details []string
}

// Name is what changes call the finding: "stray-ratio of SV".
func (f *Finding) Name() string {
	if f.Object == "" {
		return f.Rule
	}
	return f.Rule + " of " + f.Object
}

// Assumption is a default that the layout left open.
type Assumption struct {
	Span   span.Span
	Object string // name of the object, may be empty
	Text   string // lower case, one line: what is assumed
}

// Description is what writers need to know about a rule.
type Description struct {
	ID    string // words with hyphens
	Title string // one line, lower case, no full stop: what it reports
	Full  string // one paragraph of plain text
	Help  string // plain text: quantity, formula, validity, source, not seen
	Level Level  // level of a failing finding unless the standard says otherwise
}
