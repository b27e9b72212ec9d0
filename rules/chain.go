package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// hasReadout reports whether the layout says anything of what stands behind the
// part of s.
func hasReadout(run *engine.Run, s *layout.Sensor) bool {
	return run.Layout.ReadoutOf(s).Given
}

// equipped reports whether a rule on what stands behind the field of s applies: with a part or a readout, or with a
// readout where the rule needs one. Otherwise it says why not.
func equipped(run *engine.Run, s *layout.Sensor, needsReadout bool) bool {
	switch {
	case run.Layout.PartOf(s) == nil && !hasReadout(run, s):
		run.Without(s.ID, s.Span, partKey(s)+" and readout", "names no part and has no readout")
		return false
	case needsReadout && !hasReadout(run, s):
		run.Without(s.ID, s.Span, "readout", "has no readout")
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
	run.Undecided(s.ID, at, cause, "%s cannot be judged. %s", what, engine.Sentence(channel.ToAdd(missing)))
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

// asks says what asks for a current: a duty, or what the layout claims.
func asks(d *layout.Duty) string {
	if d == nil {
		return "the range that is claimed"
	}
	return fmt.Sprintf("%s duty %q", d.Kind, d.ID)
}

// dutyName is the name of d, empty for none.
func dutyName(d *layout.Duty) string {
	if d == nil {
		return ""
	}
	return d.ID
}

// filled returns what s must carry over duties of the kinds given; false when it is not known, which it then says.
func filled(run *engine.Run, s *layout.Sensor, x *channel.Sensed, kinds ...layout.DutyKind) (channel.Filled, bool) {
	need, err := channel.FillOf(run.Model, s, x, kinds...)
	if err != nil {
		undecided(run, s, "", err)
		return need, false
	}
	return need, true
}

// usedA returns the largest current that s reads in a continuous or peak duty, where there is none the range that a need claims
// for it; false when it is not known, which it then says.
func usedA(run *engine.Run, s *layout.Sensor) (float64, bool) {
	_, top, err := run.Model.LargestOwn(s, layout.Continuous, layout.Peak)
	if err != nil {
		undecided(run, s, "", err)
		return top, false
	}
	if top == 0 {
		claim, _ := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA })
		top = claim.V
	}
	return top, true
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
	unit := portable.Pow(10, math.Floor(portable.Log10(math.Abs(v)))-2)
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
