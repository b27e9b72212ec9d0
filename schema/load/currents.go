package load

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// currents reads the currents of set out, which owner holds, one a circuit: the
// second of two bars of a series circuit must say the same again.
func (r *reader) currents(owner, section *spot, out *layout.Set) {
	type given struct {
		index int // in out.Currents
		name  string
	}
	first := map[layout.CircuitIndex]given{}
	for _, s := range section.members() {
		s.called("current of %s in %s", r.carrierWords(s.key), owner.label())
		c := r.current(owner, s, out)
		if c.Circuit == layout.None {
			continue
		}
		before, twice := first[c.Circuit]
		if !twice {
			first[c.Circuit] = given{len(out.Currents), s.key}
			out.Currents = append(out.Currents, c)
			continue
		}
		if !alike(&out.Currents[before.index], &c) {
			r.contradiction(s, &c, before.name, &out.Currents[before.index])
		}
	}
}

// contradiction reports a current that its series circuit carries otherwise.
func (r *reader) contradiction(s *spot, c *layout.Current, firstName string, first *layout.Current) {
	want := "the same"
	if c.Sign != first.Sign {
		want = "the negative"
	}
	f := s.problemAt(s.edit, ruleForm,
		"%s contradicts that of %s. One current flows through circuit %s, so give %s of it, or leave it out",
		s.label(), r.carrierWords(firstName), quote(r.out.Circuits[c.Circuit].ID), want)
	f.Related = []finding.Related{{Span: first.Span, Message: "current of " + r.carrierWords(firstName)}}
}

// current reads what flows in the circuit that the key of s names.
func (r *reader) current(owner, s *spot, set *layout.Set) layout.Current {
	c := layout.Current{Span: s.edit}
	c.Circuit, c.Sign = s.keyName().called("a current of %s", owner.label()).carries()
	c.Amount = s.noAmount()
	if s.n == nil {
		return c
	}
	if s.n.Kind != node.Map {
		s.wrongKind("a mapping such as {dc: 200 A}, {rms: 200 A} or {peak: 200 A}")
		return c
	}
	points, harmonics := s.at("points"), s.at("harmonics")
	c.PointsSpan, c.HarmonicsSpan = points.edit, harmonics.edit
	if points.present() {
		for _, k := range []string{"dc", "rms", "peak", "phase", "harmonics"} {
			if other := s.at(k); other.present() {
				s.problemAt(other.edit, ruleForm,
					"%s stands beside points. They say the whole period. Leave out one of them", other.label())
			}
		}
		c.Points = wavePoints(owner, s, points, set)
		return c
	}
	s.parts(&c.Amount)
	s.still(owner, set.FreqHz)
	if harmonics.present() && !c.Alternates() && !s.at("rms").present() && !s.at("peak").present() {
		harmonics.problemAt(harmonics.edit, ruleForm,
			"%s need an alternating current to be multiples of. Give rms or peak", harmonics.label())
	}
	c.Harmonics = harmonicsOf(owner, harmonics, set.FreqHz)
	return c
}

// parts reads a direct part, an alternating part, or both.
func (s *spot) parts(out *layout.Amount) {
	dc, rms, peak := s.at("dc"), s.at("rms"), s.at("peak")
	switch {
	case !dc.present() && !rms.present() && !peak.present():
		s.problemAt(s.edit, ruleMissing, "%s needs dc, rms or peak, or points of a period", s.label())
	case rms.present() && peak.present():
		s.problemAt(peak.edit, ruleForm, "%s has rms and peak. Give one of them", s.label())
	}
	out.DCA = dc.quantity(si.Current, bounds{})
	out.RMSA = rms.quantity(si.Current, amplitudes())
	out.PeakA = peak.quantity(si.Current, amplitudes())
	out.PhaseRad = s.phase()
}

// mostWavePoints keeps the series that stands for a waveform within reach.
const mostWavePoints = 2000

// wavePoints reads one period of a waveform.
func wavePoints(owner, s, points *spot, set *layout.Set) []layout.Point {
	items, ok := points.items()
	if !ok {
		return nil
	}
	switch {
	case set.FreqHz.V == 0:
		points.problemAt(points.edit, ruleForm,
			"%s need a period. Give %s a period, or a frequency", points.label(), owner.label())
		return nil
	case len(items) < 2:
		points.problem(ruleForm,
			"%s has %s. A waveform needs two or more. A steady current is said with dc",
			points.label(), count(len(items), "point"))
		return nil
	case len(items) > mostWavePoints:
		points.problem(ruleForm, "%s has %d points: %d at most", points.label(), len(items), mostWavePoints)
		return nil
	}
	out := make([]layout.Point, len(items))
	whole := true
	for i, item := range items {
		item.called("point %d of %s", i+1, points.label())
		pair, ok := item.items()
		if ok && len(pair) != 2 {
			item.problem(ruleForm, "%s must be [time, current], not a list of %d", item.label(), len(pair))
		}
		if !ok || len(pair) != 2 {
			whole = false
			continue
		}
		out[i] = layout.Point{
			TimeS:    pair[0].called("time of %s", item.label()).quantity(si.Time, notNegative()),
			CurrentA: pair[1].called("current of %s", item.label()).quantity(si.Current, bounds{}),
			Span:     item.n.Span,
		}
		whole = whole && out[i].TimeS.Set && out[i].CurrentA.Set
	}
	if whole && set.FreqHz.V > 0 {
		checkPoints(items, out, set)
	}
	return out
}

// checkPoints holds points to their period: from 0, rising, not beyond it, and closed.
func checkPoints(items []*spot, points []layout.Point, set *layout.Set) {
	period := 1 / set.FreqHz.V
	if set.PeriodS.Set {
		period = set.PeriodS.V
	}
	say := func(i int, format string, args ...any) {
		f := items[i].problem(ruleRange, format, args...)
		if at := set.FreqHz.Span; i > 0 && at.Valid() && points[i].TimeS.V > period {
			f.Related = []finding.Related{{Span: at, Message: "the period"}}
		}
	}
	text := func(i, part int) string { return clip(items[i].n.Items[part].Text) }
	if points[0].TimeS.V != 0 {
		say(0, "%s is at %s. The first point stands at time 0", items[0].label(), text(0, 0))
	}
	for i := 1; i < len(points); i++ {
		if !(points[i].TimeS.V > points[i-1].TimeS.V) {
			say(i, "%s is at %s, not after the %s before it. Times must rise", items[i].label(), text(i, 0),
				text(i-1, 0))
			return
		}
	}
	const round = 1e-9 // of a period given as a frequency
	last := len(points) - 1
	switch at := points[last].TimeS.V; {
	case at > period*(1+round):
		say(last, "%s is at %s, beyond the period of %s", items[last].label(), text(last, 0),
			si.FormatDigits(period, "s", 4))
	case at >= period*(1-round) && points[last].CurrentA.V != points[0].CurrentA.V:
		say(last,
			"%s is %s at the full period, not %s. Leave it out, or make it what the period starts with",
			items[last].label(), text(last, 1), text(0, 1))
	}
}

// alike reports whether two currents say one current of their circuit. What could
// not be read is reported, and differs from nothing.
func alike(a, b *layout.Current) bool {
	if len(a.Harmonics) != len(b.Harmonics) || len(a.Points) != len(b.Points) {
		return false
	}
	same := agree(a.Sign*orZero(a.DCA), b.Sign*orZero(b.DCA)) && agreeAC(fundamental(a), fundamental(b))
	for i := range a.Harmonics {
		g, h := &a.Harmonics[i], &b.Harmonics[i]
		same = same && g.Order.V == h.Order.V && agreeAC(overtone(a, g), overtone(b, h))
	}
	for i := range a.Points {
		p, q := &a.Points[i], &b.Points[i]
		same = same && agree(p.TimeS.V, q.TimeS.V) && agree(a.Sign*p.CurrentA.V, b.Sign*q.CurrentA.V)
	}
	return same
}

// agree and agreeAC allow for what is lost in writing a number out.
func agree(a, b float64) bool { return agreeAC(complex(a, 0), complex(b, 0)) }

func agreeAC(a, b complex128) bool {
	return !(portable.Abs(a-b) > 1e-6*max(portable.Abs(a), portable.Abs(b)))
}

func orZero(n layout.Num) float64 {
	if n.Set {
		return n.V
	}
	return 0
}

// fundamental returns the phasor of the alternating part in the circuit of c.
func fundamental(c *layout.Current) complex128 {
	return portable.Times(complex(c.Sign, 0), portable.Rect(c.Amount.AlternatingPeakA(), c.PhaseRad.V))
}

func overtone(c *layout.Current, h *layout.Harmonic) complex128 {
	size := h.Amount.AlternatingPeakA()
	if h.Share.Set {
		size = h.Share.V * c.Amount.AlternatingPeakA()
	}
	return portable.Times(complex(c.Sign, 0), portable.Rect(size, h.Amount.PhaseRad.V))
}
