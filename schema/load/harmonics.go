package load

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// harmonicsOf reads the harmonics of a set, or of one current of it; owner has the
// frequency.
func harmonicsOf(owner, s *spot, frequencyHz layout.Num) []layout.Harmonic {
	items, ok := s.items()
	if !ok {
		return nil
	}
	if frequencyHz.V == 0 && len(items) > 0 {
		s.problemAt(s.edit, ruleForm, "%s need a frequency. Give one to %s", s.label(), owner.label())
	}
	var out []layout.Harmonic
	first := map[float64]*spot{}
	for i, h := range items {
		h.called("harmonic %d of %s", i+1, s.up.label())
		out = append(out, harmonic(h, frequencyHz))
		order := out[i].Order
		if before, twice := first[order.V]; twice && order.Set {
			f := h.at("order").problem(ruleForm, "order %g stands twice in %s", order.V, s.label())
			f.Related = []finding.Related{{Span: before.n.Span, Message: "first harmonic of this order"}}
		} else if order.Set {
			first[order.V] = h.at("order")
		}
	}
	return out
}

func harmonic(h *spot, frequencyHz layout.Num) layout.Harmonic {
	out := layout.Harmonic{Span: h.edit, Order: h.at("order").unset(0), Share: h.none()}
	out.Amount = h.amount("share", "rms", "peak")
	if h.n.Kind != node.Map {
		return out
	}
	order := h.at("order").need()
	out.Order = order.whole(atLeast(2))
	out.Share = h.at("share").share(
		bounds{kind: moreThanLoToHi, hi: 10, why: "a share of the fundamental; ten per cent is 10 % or 0.1"})
	if f := out.Order.V * frequencyHz.V; out.Order.Set && f > highestFrequencyHz {
		order.problem(ruleRange, "%s is %s, which is %s. Fields are computed up to 1 MHz",
			order.label(), clip(order.n.Text), si.Format(f, "Hz"))
	}
	return out
}

// ripple reads a current at the carrier.
func (r *reader) ripple(duty, s *spot, d *layout.Duty) *layout.Ripple {
	if !s.mapping() {
		return nil
	}
	out := &layout.Ripple{Span: s.edit}
	out.FreqHz = s.at("frequency").need().quantity(si.Frequency, ripple())
	out.Amount = s.amount("rms", "peak")
	out.Shape = choice(s.at("shape"), layout.Sine, layout.Triangle)
	bars := s.at("bars")
	if items, ok := bars.items(); ok {
		if len(items) == 0 {
			bars.problem(ruleForm, "%s is empty. Name a bar, or leave it out for every bar of the duty", bars.label())
		}
		out.Circuits, _ = distinctCircuits(items)
	}
	out.Currents = r.rippleCurrents(s)
	if !bars.present() && !s.at("currents").present() && len(d.Currents) == 0 && d.ThreePhase == nil &&
		len(d.With) == 0 {
		s.problemAt(s.edit, ruleForm, "%s has no bar to flow in. Name bars, or give %s a current", s.label(),
			duty.label())
	}
	shape := ""
	if !out.Shape.Set {
		shape = " is a sine and"
	}
	phases := "the phases of the fundamental"
	if len(out.Currents) > 0 {
		phases += ", or its own where it has currents of its own,"
	}
	r.assume(s.edit, d.ID, "ripple of duty %s%s has %s and any phase against it", quote(d.ID), shape, phases)
	return out
}

// rippleCurrents reads what differs from circuit to circuit in ripple s.
func (r *reader) rippleCurrents(s *spot) []layout.Current {
	var out []layout.Current
	first := map[layout.CircuitIndex]*spot{}
	for _, c := range s.at("currents").members() {
		c.called("current of %s in %s", r.carrierWords(c.key), s.label())
		one := layout.Current{Span: c.edit}
		one.Circuit, one.Sign = c.keyName().called("a current of %s", s.label()).carries()
		one.Amount = c.amount("rms", "peak")
		if one.Circuit == layout.None {
			continue
		}
		before := first[one.Circuit]
		if before == nil {
			first[one.Circuit] = c
			out = append(out, one)
			continue
		}
		for i := range out {
			if out[i].Circuit == one.Circuit && !alike(&out[i], &one) {
				r.contradiction(c, &one, before.key, &out[i])
			}
		}
	}
	return out
}
