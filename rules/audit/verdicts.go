package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/report"
)

// verdicts returns a row for every verdict, those to look at first.
func (b *builder) verdicts() []Verdict {
	titles := map[string]string{}
	for i := range b.Rules {
		titles[b.Rules[i].ID] = b.Rules[i].Title
	}
	var out []Verdict
	for i := range b.Findings {
		f := &b.Findings[i]
		v := b.verdict(f, titles[f.Rule])
		v.Was = f.Verdict
		out = append(out, v)
	}
	for i := range b.Permitted {
		p := &b.Permitted[i]
		v := b.verdict(&p.Finding, titles[p.Finding.Rule])
		v.Verdict, v.Was, v.Permission = finding.Permitted, p.Was, p.Words()
		if v.Was == 0 {
			v.Was = finding.Fail
		}
		if p.Level != finding.None {
			v.Level = p.Level
		}
		out = append(out, v)
	}
	slices.SortStableFunc(out, func(x, y Verdict) int {
		return cmp.Or(cmp.Compare(x.rank(), y.rank()), -cmp.Compare(x.Level, y.Level), margins(x, y))
	})
	return out
}

// margins puts the smaller margin first; a verdict without one comes after.
func margins(x, y Verdict) int {
	switch {
	case math.IsNaN(x.MarginShare) && math.IsNaN(y.MarginShare):
		return 0
	case math.IsNaN(x.MarginShare):
		return 1
	case math.IsNaN(y.MarginShare):
		return -1
	}
	return cmp.Compare(x.MarginShare, y.MarginShare)
}

func (b *builder) verdict(f *finding.Finding, title string) Verdict {
	start, _ := report.Place(f.Span)
	v := Verdict{
		Rule: f.Rule, Title: title, Object: f.Object, Cause: f.Cause, About: report.About(f), Verdict: f.Verdict, Level: f.Level,
		Message: f.Message, Remedy: f.Remedy, Path: f.Span.File, Line: start.Line, Column: start.Column,
		Details: f.Details, MarginShare: math.NaN(),
	}
	if s := b.sensorOf(f); s != nil {
		v.Channel = s.ID
	}
	m := f.Measure
	if m == nil {
		return v
	}
	v.Number, v.Origin = true, m.Origin
	v.Value = show(m.Value, m.Unit)
	v.Limit = map[bool]string{false: "at most ", true: "at least "}[m.AtLeast] + show(m.Limit, m.Unit)
	if n := report.Number(m.Margin()); n != nil && m.Limit != 0 {
		v.MarginShare, v.Margin = *n, si.Percent(*n)
	}
	v.Certainty = "not known"
	if c := report.Number(m.Certainty); c != nil {
		v.Certainty = "±" + si.Percent(*c)
	}
	v.Amperes, v.Percent = b.meaning(f)
	v.MarginAmount = b.marginAmount(f)
	return v
}

// marginAmount is what is left to the limit in amperes of the channel, or in the unit of the rule
// where it means none; empty where that is not known.
func (b *builder) marginAmount(f *finding.Finding) string {
	m := f.Measure
	left := m.Limit - m.Value
	if m.AtLeast {
		left = -left
	}
	unit := m.Unit
	if unit == "1" {
		whole := b.wholeA(f, b.sensorOf(f))
		if !(whole > 0) {
			return ""
		}
		left, unit = left*whole, "A"
	}
	if math.IsNaN(left) || math.IsInf(left, 0) {
		return ""
	}
	return show(left, unit)
}

// show prints a value in its unit, shares as per cent; what is not known says so.
func show(v float64, unit string) string {
	switch {
	case math.IsNaN(v):
		return "not known"
	case unit == "1":
		return si.Percent(v)
	}
	return si.Format(v, unit)
}

// meaning says what the number of a finding means in amperes of its channel and in
// per cent, as its rule says what it is a share of; empty where it has no such meaning (a
// distance, a current density).
func (b *builder) meaning(f *finding.Finding) (amperes, percent string) {
	m := f.Measure
	s := b.sensorOf(f)
	switch {
	case m.Unit == "A":
		if s != nil {
			if full := b.Model.FullScaleA(s); full > 0 {
				percent = si.Percent(m.Value/full) + " of full scale"
			}
		}
		return show(m.Value, "A"), percent
	case m.Unit != "1" || math.IsNaN(m.Value):
		return "", ""
	}
	percent = strings.TrimSpace(si.Percent(m.Value) + " " + m.Of.String())
	whole := b.wholeA(f, s)
	if !(whole > 0) || math.IsInf(whole, 0) {
		return "", percent
	}
	return fmt.Sprintf("%s of %s", si.Format(m.Value*whole, "A"), si.Format(whole, "A")), percent
}

// wholeA is the current that the number of a finding about s is a share of, A; 0 or NaN
// where there is none.
func (b *builder) wholeA(f *finding.Finding, s *layout.Sensor) float64 {
	if f.Measure.WholeA != 0 {
		return f.Measure.WholeA
	}
	if s == nil {
		return 0
	}
	switch f.Measure.Of.Whole {
	case finding.OwnCurrent:
		if own := b.ownIn(s, f.Cause); own > 0 {
			return own
		}
		return b.Model.FullScaleA(s)
	case finding.FullScale:
		return b.Model.FullScaleA(s)
	case finding.LinearRange:
		return b.rangeA(s)
	}
	return 0
}

// sensorOf returns the sensor that a finding is about, or the one among the other
// objects; nil when there is none.
func (b *builder) sensorOf(f *finding.Finding) *layout.Sensor {
	for _, name := range append([]string{f.Object}, f.Others...) {
		if i, ok := b.l.Sensor(name); ok {
			return &b.l.Sensors[i]
		}
	}
	return nil
}

// ownIn returns the largest own current of s in the duty that a cause names, A peak.
func (b *builder) ownIn(s *layout.Sensor, cause string) float64 {
	for i := range b.l.Duties {
		if d := &b.l.Duties[i]; cause == d.ID || strings.HasPrefix(cause, d.ID+",") {
			return b.Model.OwnPeakA(s, d)
		}
	}
	return 0
}

// rangeA returns the own current at which the nearer end of the linear range is
// reached, by the element with the largest own field, in amperes; NaN where that is not known.
func (b *builder) rangeA(s *layout.Sensor) float64 {
	part := b.l.PartOf(s)
	perA, err := b.Model.OwnPerAmpere(s)
	if part == nil || err != nil || !(perA.Value > 0) {
		return math.NaN()
	}
	most := perA.Value
	if len(s.Elements()) > 1 {
		f, err := b.Model.Field(0)
		if err != nil {
			return math.NaN()
		}
		most = 0
		for _, e := range f.ElementOwn(s) {
			most = math.Max(most, e.Abs().Value)
		}
	}
	return math.Min(part.LinearHighT.V, -part.LinearLowT.V) / most
}

func (b *builder) assumed() []Assumed {
	var out []Assumed
	for _, a := range b.Input.Assumed {
		start, _ := report.Place(a.Span)
		out = append(out, Assumed{Object: a.Object, Text: a.Text, Line: start.Line})
	}
	return out
}
