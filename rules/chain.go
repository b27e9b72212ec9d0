package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// hasReadout reports whether the layout says anything of what stands behind the
// part of s.
func hasReadout(run *engine.Run, s *layout.Sensor) bool {
	return run.Layout.ReadoutOf(s).Given
}

// readable says why a rule on the channel of s does not apply: neither part nor
// readout, or no readout where one is asked for; true when it applies.
func readable(run *engine.Run, s *layout.Sensor) bool {
	switch {
	case run.Layout.PartOf(s) == nil && !hasReadout(run, s):
		run.Without(s.ID, s.Span, partKey(s)+" and readout", "sensor %q names no part and has no readout", s.ID)
		return false
	case !hasReadout(run, s):
		run.Without(s.ID, s.Span, "readout", "sensor %q has no readout", s.ID)
		return false
	}
	return true
}

// chainOf returns the channel of s; false when the field is not known, which it
// then says.
func chainOf(run *engine.Run, s *layout.Sensor) (*channel.Sensed, bool) {
	x, err := channel.Of(run.Model, s)
	if err != nil {
		undecided(run, s, "", err)
		return nil, false
	}
	return x, true
}

// withoutData says that s cannot be judged until the data that are missing are
// added. The finding points where the first of them could stand.
func withoutData(run *engine.Run, s *layout.Sensor, cause, what string, missing []channel.Missing) {
	at := s.Span
	if len(missing) > 0 && missing[0].Span.Valid() {
		at = missing[0].Span
	}
	run.Undecided(s.ID, at, cause, "%s of sensor %q cannot be judged: %s", what, s.ID, toAdd(missing))
}

// toAdd names data to be added, each once: one or two with what they mean, more by
// their keys alone, which say it shortly enough.
func toAdd(missing []channel.Missing) string {
	if len(missing) == 0 {
		return "some of its data are out of range"
	}
	var words, keys []string
	for _, m := range missing {
		if slices.Contains(keys, m.Key) {
			continue
		}
		keys = append(keys, m.Key)
		words = append(words, fmt.Sprintf("%s (add %s)", m.Text, m.Key))
	}
	if len(keys) <= 2 {
		return strings.Join(words, "; ")
	}
	return fmt.Sprintf("%d data are not known: add %s", len(keys), strings.Join(keys, ", "))
}

// beside prints a share with as many digits as tell it from its limit, so that no
// failure reads "100 %, limit 100 %".
func beside(share, limit float64) string {
	if share == limit || math.IsNaN(share) || si.Percent(share) != si.Percent(limit) {
		return si.Percent(share)
	}
	for digits := 4; digits < 8; digits++ {
		if text := si.FormatDigits(share*100, "", digits); text != si.FormatDigits(limit*100, "", digits) {
			return text + " %"
		}
	}
	return si.Percent(share)
}

// undecidedOnly returns the data that nothing is assumed for.
func undecidedOnly(list []channel.Missing) []channel.Missing {
	var out []channel.Missing
	for _, m := range list {
		if m.Undecided {
			out = append(out, m)
		}
	}
	return out
}

// bothWays are the currents that a channel must carry in either direction, in
// amperes without sign, and what asks for them.
type bothWays struct {
	positiveA, negativeA       float64
	positiveWhat, negativeWhat string
}

// largest is the larger of the two.
func (b *bothWays) largest() float64 { return math.Max(b.positiveA, b.negativeA) }

func (b *bothWays) ask(what string, lowA, highA float64) {
	// Written so that NaN counts as the most.
	if !(highA <= b.positiveA) && !math.IsNaN(b.positiveA) {
		b.positiveA, b.positiveWhat = highA, what
	}
	if !(-lowA <= b.negativeA) && !math.IsNaN(b.negativeA) {
		b.negativeA, b.negativeWhat = -lowA, what
	}
}

// currentsOf returns the largest currents that s reads over the duties of the
// given kinds, and over the range that the layout claims.
func currentsOf(m *probe.Model, s *layout.Sensor, kinds ...layout.DutyKind) bothWays {
	var out bothWays
	l := m.Layout
	for i := range l.Duties {
		d := &l.Duties[i]
		for _, k := range kinds {
			if d.Kind == k {
				low, high := channel.OwnSwing(m, s, d)
				out.ask(fmt.Sprintf("%s duty %q", d.Kind, d.ID), low, high)
			}
		}
	}
	if n, ok := l.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		out.ask("the range that is claimed", -n.V, n.V)
	}
	return out
}

// signedA prints a current with its sign.
func signedA(v float64) string {
	if v > 0 {
		return "+" + si.Format(v, "A")
	}
	return si.Format(v, "A")
}

// neat rounds v to three digits, up or down in size, so that what is printed is
// what is meant.
func neat(v float64, up bool) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	k := math.Abs(v) / unit
	if up {
		k = math.Ceil(k * (1 - 1e-9))
	} else {
		k = math.Floor(k * (1 + 1e-9))
	}
	return math.Copysign(k*unit, v)
}

// orWay joins ways out; empty ones are left out.
func orWay(ways ...string) string {
	var out []string
	for _, w := range ways {
		if w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, "; or ")
}
