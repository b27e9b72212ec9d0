package laws

import (
	"math"
	"math/cmplx"
	"slices"
)

// setsOf are the sets of currents of a duty, itself first.
func setsOf(duty *node) []*node {
	out := []*node{duty}
	if w := duty.get("with"); w != nil {
		out = append(out, w.items...)
	}
	return out
}

// shiftTime lets every set begin later by a time that is an angle of the fundamental of its duty: the phase of
// order n of a set moves by n times the angle of that set, points move along the period. A ripple, whose
// phase against the rest nobody knows, moves as a whole by the angle of the fundamental, which some of its phases follow; but
// where it takes its phases from alternating
// currents in some bars and from the signs of direct ones in others, it would change, and such a duty stays.
func shiftTime(root *node, rad float64) bool {
	any := false
	for _, m := range root.section("duties") {
		hz := m.value.num(0, "frequency")
		if p := m.value.get("period"); p != nil {
			hz = 1 / p.value
		}
		if hz == 0 || m.value.get("ripple") != nil && mixed(m.value) {
			continue
		}
		if slices.ContainsFunc(setsOf(m.value), opposed) {
			continue // which of two goes out hangs on their phases
		}
		for _, s := range setsOf(m.value) {
			own := s.num(hz, "frequency")
			if s == m.value {
				own = hz
			}
			any = shiftSet(s, rad*own/hz) || any
		}
		for _, c := range m.value.get("ripple").section("currents") { // which stand beside those that follow the fundamental
			if p := c.value.get("phase"); p != nil {
				p.value = wrapped(p.value + rad)
			}
		}
	}
	return any
}

// mixed says that some currents of a duty alternate and others are direct alone.
func mixed(duty *node) bool {
	waves, direct := duty.get("three-phase") != nil, false
	for _, c := range duty.section("currents") {
		if c.value.get("rms") != nil || c.value.get("peak") != nil || c.value.get("points") != nil {
			waves = true
		} else {
			direct = true
		}
	}
	return waves && direct || duty.get("with") != nil
}

// opposed says that two currents of a set are the negatives of each other under its harmonics.
func opposed(set *node) bool {
	if set.get("harmonics") == nil {
		return false
	}
	var waves []complex128
	for _, c := range set.section("currents") {
		v := cmplx.Rect(peakOf(c.value), c.value.num(0, "phase"))
		for _, w := range waves {
			// Of either sign: a bar may be named that its circuit turns round.
			if v != 0 && (cmplx.Abs(v+w) <= 1e-9*cmplx.Abs(v) || cmplx.Abs(v-w) <= 1e-9*cmplx.Abs(v)) {
				return true
			}
		}
		waves = append(waves, v)
	}
	return false
}

func shiftSet(set *node, rad float64) bool {
	any := false
	move := func(n *node, by float64) {
		n.set("phase", q(wrapped(n.num(0, "phase")+by), angle))
		any = true
	}
	orders := func(list *node) {
		if list != nil {
			for _, h := range list.items {
				move(h, h.num(0, "order")*rad)
			}
		}
	}
	if t := set.get("three-phase"); t != nil {
		move(t, rad)
	}
	for _, c := range set.section("currents") {
		switch {
		case c.value.get("points") != nil:
			movePoints(c.value.get("points"), periodOf(set), rad)
			any = true
		case c.value.get("rms") != nil || c.value.get("peak") != nil:
			move(c.value, rad)
		}
		orders(c.value.get("harmonics"))
	}
	orders(set.get("harmonics"))
	return any
}

// movePoints lets a waveform begin where it was at an angle of its period.
func movePoints(points *node, period, rad float64) {
	wave := drawnThrough(points, period, 1)
	rad = math.Mod(rad+2*math.Pi, 2*math.Pi)
	start := rad / (2 * math.Pi) * period
	moved := []*node{seq(q(0, duration), q(wave(rad), current))}
	for _, p := range points.items {
		t := p.items[0].value
		if t >= period*(1-1e-9) {
			continue
		}
		if t -= start; t < 0 {
			t += period
		}
		if t > 1e-9*period && t < period*(1-1e-9) {
			moved = append(moved, seq(q(t, duration), p.items[1]))
		}
	}
	slices.SortFunc(moved, func(a, b *node) int {
		switch d := a.items[0].value - b.items[0].value; {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	points.items = moved
}

// spellPhases writes a three-phase set as three currents. A harmonic of the set is shifted by the time of its
// phase, one of a current by nothing, so each current gets harmonics of its own.
func spellPhases(root *node) bool {
	any := false
	if root.get("phase-sums") != nil {
		return false // a sum looks for the set by its key
	}
	for _, m := range root.section("duties") {
		for _, s := range setsOf(m.value) {
			t := s.get("three-phase")
			if t == nil {
				continue
			}
			any = true
			currents := s.under("currents")
			for k, b := range t.get("bars").items {
				c := t.clone()
				c.drop("bars")
				lag := float64(k) * 2 * math.Pi / 3
				c.set("phase", q(wrapped(t.num(0, "phase")-lag), angle))
				if h := s.get("harmonics").clone(); h != nil {
					for _, item := range h.items {
						item.set("phase", q(wrapped(item.num(0, "phase")-item.num(0, "order")*lag), angle))
					}
					c.set("harmonics", h)
				}
				currents.set(b.text, c)
			}
			s.drop("three-phase")
			if !slices.ContainsFunc(currents.members, func(c member) bool {
				return c.value.get("harmonics") == nil && peakOf(c.value) != 0
			}) {
				s.drop("harmonics")
			}
		}
	}
	return any
}
