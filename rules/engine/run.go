package engine

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/span"
)

// Run is one rule at work on one layout. A rule writes to its own Run only.
type Run struct {
	Layout *layout.Layout
	Model  *probe.Model
	// AllRemedies asks remedies for changes that cost a solution of the field a step.
	AllRemedies bool
	rule        *Rule
	limit       func(rule, key, channel string) (float64, string, span.Span, bool)
	out         []finding.Finding
	adds        map[int]string // by index of out: see Without
	asked       []ask          // remedies that the verdicts of out call for
	toExplain   []explanation  // of findings of out
	unsure      []open         // see order.go
	finer       bool           // see Finer
	denied      int            // how often work was denied before
}

// ask is a remedy that finding number of needs. It is searched when no smaller bound
// will be tried any more.
type ask struct {
	of   int
	ways func() remedy.Ways
}

// Bound is the limit that holds for one object and where it comes from.
type Bound struct {
	Value   float64
	Unit    string
	AtLeast bool
	Origin  string
	Span    span.Span // of the need that set it; not valid for a default
	Of      finding.Share
}

// Limit returns the limit called key for the channel of a sensor; channel may be
// empty. What the house standard sets takes the place of the default. A need of
// the layout counts where it is tighter than either.
func (r *Run) Limit(key, channel string) Bound {
	for i := range r.rule.Limits {
		if r.rule.Limits[i].Key == key {
			return BoundOf(r.rule, &r.rule.Limits[i], channel, r.Layout, r.limit)
		}
	}
	panic("engine: rule asks for a limit it does not declare")
}

// BoundOf returns what a limit of a rule is in a layout, as Limit does; set gives what a house standard sets, in the form of
// Options.Limit, and is nil where there is none.
func BoundOf(rule *Rule, l *Limit, channel string, in *layout.Layout,
	set func(rule, key, channel string) (float64, string, span.Span, bool)) Bound {
	b := Bound{Value: l.Default, Unit: l.Unit, AtLeast: l.AtLeast, Origin: defaultOrigin + l.Reason, Of: l.Of}
	if set != nil {
		if v, origin, at, ok := set(rule.ID, l.Key, channel); ok {
			b.Value, b.Origin, b.Span = v, origin, at
		}
	}
	if l.Need == nil || channel == "" {
		return b
	}
	if n, ok := in.NeedFor(channel, l.Need); ok {
		if tighter(n.V, b) {
			b.Value, b.Span = n.V, n.Span
			b.Origin = fmt.Sprintf("need %q of the layout", l.NeedKey)
		} else if !math.IsNaN(n.V) && n.V != b.Value {
			b.Origin += fmt.Sprintf("; the need %q of the layout, %s, is looser and does not count", l.NeedKey, Show(n.V, l.Unit))
		}
	}
	return b
}

func tighter(v float64, b Bound) bool {
	if b.AtLeast {
		return v > b.Value
	}
	return v < b.Value
}

// Case is one comparison: what was found for one object, against what. Its first sentence is
//
//	OBJECT: SAYS VALUE REST, limit LIMIT, in "IN": between LOW and HIGH
//
// with the bounds only where the verdict is open, and the sentences of Why come after it.
type Case struct {
	Object string
	Others []string
	Cause  string
	Span   span.Span
	Found  bounded.Estimate
	Limit  Bound
	WholeA float64  // see finding.Measure
	Says   string   // what is judged, up to its value: "neighbours move the reading"
	Rest   string   // what follows the value: "of the linear range"; may be empty
	In     string   // the duty, may be empty
	Why    []string // what explains it: sentences with a capital and without their full stop; empty ones are left out
	// Explain returns further sentences, as those of Why. It is asked only when the case fails or stays open and no smaller
	// bound will be tried, since it may cost more than the verdict.
	Explain func() []string
	// Ways, or where nothing in the file mends it Remedy, is asked only when the case fails.
	Ways    func() remedy.Ways
	Remedy  func() string
	Related []finding.Related
	Details []string      // see finding.Finding
	Level   finding.Level // None: the rule's own; a Note stays one when undecided
}

// Judge compares and keeps the verdict: pass or fail where the whole bound lies
// on one side of the limit, undecided otherwise. NaN is undecided.
func (r *Run) Judge(c Case) finding.Verdict {
	f := finding.Finding{
		Rule: r.rule.ID, Object: c.Object, Others: c.Others, Cause: c.Cause, Span: c.Span,
		Related: c.Related, Details: c.Details,
		Measure: &finding.Measure{
			Value: c.Found.Value, Limit: c.Limit.Value, Unit: c.Limit.Unit, AtLeast: c.Limit.AtLeast,
			Certainty: c.Found.Certainty(), Origin: c.Limit.Origin, Of: c.Limit.Of, WholeA: c.WholeA,
		},
	}
	if c.Limit.Span.Valid() {
		f.Related = append(f.Related, finding.Related{Span: c.Limit.Span, Message: "the limit is set here"})
	}
	f.Verdict = Decide(c.Found, c.Limit.Value, c.Limit.AtLeast)
	why := c.Why
	switch f.Verdict {
	case finding.Fail:
		f.Level = r.level(c.Level)
		if c.Ways == nil && c.Remedy != nil {
			c.Ways = func() remedy.Ways { return remedy.Words(c.Remedy()) }
		}
		if c.Ways != nil {
			r.asked = append(r.asked, ask{len(r.out), c.Ways})
		}
	case finding.Undecided:
		f.Level = finding.Warning
		if c.Level == finding.Note {
			f.Level = finding.Note
		}
		if !finite(c.Found.Value) && sentences("", why...) == "" && r.over() == nil {
			why = append(slices.Clip(why), "A number that it rests on is zero, or too large or too small to be computed with")
		}
		if !math.IsNaN(c.Found.Low) && !math.IsNaN(c.Found.High) {
			r.unsure = append(r.unsure, open{len(r.out), c.Found})
			why = append(slices.Clip(why), r.widened(c)...)
		}
	}
	if c.Explain != nil && f.Verdict != finding.Pass {
		r.toExplain = append(r.toExplain, explanation{len(r.out), c.Explain})
	}
	f.Message = sentences(c.first(f.Verdict), why...)
	r.keep(f)
	return r.out[len(r.out)-1].Verdict
}

// roundOff is the share of a limit that arithmetic may take from a value which is
// drawn equal to it: a gap of 23 mm less 20 mm is as long as 3 mm.
const roundOff = 1e-12

// Decide returns the verdict for an estimate against a limit. Anything that is
// not a number, and bounds that do not hold the value, are undecided.
func Decide(e bounded.Estimate, limit float64, atLeast bool) finding.Verdict {
	if !(e.Low <= e.Value && e.Value <= e.High) {
		return finding.Undecided
	}
	v := sideOf(e, limit, atLeast)
	if v == finding.Fail && (atLeast && math.IsInf(e.High, -1) || !atLeast && math.IsInf(e.Low, 1)) {
		return finding.Undecided // infinite for certain is no failure but a number that cannot be computed
	}
	return v
}

func sideOf(e bounded.Estimate, limit float64, atLeast bool) finding.Verdict {
	slack := float64(roundOff * math.Abs(limit))
	if atLeast {
		switch {
		case e.Low >= limit-slack:
			return finding.Pass
		case e.High < limit-slack:
			return finding.Fail
		}
		return finding.Undecided
	}
	switch {
	case e.High <= limit+slack:
		return finding.Pass
	case e.Low > limit+slack:
		return finding.Fail
	}
	return finding.Undecided
}

func (r *Run) level(l finding.Level) finding.Level {
	if l != finding.None {
		return l
	}
	return r.rule.Level
}

// Ways gives the failure that was kept last its ways out, which are searched when they are needed.
func (r *Run) Ways(ways func() remedy.Ways) { r.asked = append(r.asked, ask{len(r.out) - 1, ways}) }

// Fail keeps a failure that has no number. Here and below the format is what is said of
// the object, whose name is put in front: a short sentence, then what explains it.
func (r *Run) Fail(object string, at span.Span, others []string, remedy, format string, args ...any) {
	r.FailFor("", r.rule.Level, object, at, others, remedy, format, args...)
}

// FailFor is Fail with a cause, and with a level in place of the rule's own.
func (r *Run) FailFor(cause string, level finding.Level, object string, at span.Span, others []string, remedy,
	format string, args ...any) {
	r.keep(finding.Finding{
		Rule: r.rule.ID, Verdict: finding.Fail, Level: level, Object: object, Others: others, Cause: cause,
		Span: at, Message: Named(object, fmt.Sprintf(format, args...)), Remedy: remedy,
	})
}

// Undecided keeps a verdict that could not be reached, with the reason.
func (r *Run) Undecided(object string, at span.Span, cause, format string, args ...any) {
	r.keep(finding.Finding{
		Rule: r.rule.ID, Verdict: finding.Undecided, Level: finding.Warning, Object: object, Cause: cause,
		Span: at, Message: Named(object, fmt.Sprintf(format, args...)),
	})
}

// Finer asks for the rule to be run again with a smaller bound, where there is one:
// for numbers in which the doubt of the field model has too large a part.
func (r *Run) Finer() { r.finer = true }

// Over puts a number that the layout itself demands in the place of a default, which
// is no limit of a house standard, and in the place of a looser one.
func (b Bound) Over(n layout.Num, key string) Bound {
	if n.Set && (strings.HasPrefix(b.Origin, defaultOrigin) || tighter(n.V, b)) {
		b.Value, b.Span, b.Origin = n.V, n.Span, fmt.Sprintf("%q of the layout", key)
	}
	return b
}

// IsDefault reports whether neither a house standard nor the layout set the limit.
func (b Bound) IsDefault() bool { return strings.HasPrefix(b.Origin, defaultOrigin) }

// defaultOrigin begins the origin of a limit that nobody set.
const defaultOrigin = "default: "

// UndecidedTable is Undecided with the lines of a table; see finding.Finding.
func (r *Run) UndecidedTable(object string, at span.Span, cause string, details []string, format string, args ...any) {
	r.Undecided(object, at, cause, format, args...)
	r.out[len(r.out)-1].Details = details
}

// Pass keeps a pass that has no number.
func (r *Run) Pass(object string, at span.Span, format string, args ...any) {
	r.plain(finding.Pass, object, at, format, args...)
}

// NotApplicable keeps the reason why the rule does not ask about an object.
func (r *Run) NotApplicable(object string, at span.Span, format string, args ...any) {
	r.plain(finding.NotApplicable, object, at, format, args...)
}

func (r *Run) plain(v finding.Verdict, object string, at span.Span, format string, args ...any) {
	r.keep(finding.Finding{
		Rule: r.rule.ID, Verdict: v, Object: object, Span: at, Message: Named(object, fmt.Sprintf(format, args...)),
	})
}
