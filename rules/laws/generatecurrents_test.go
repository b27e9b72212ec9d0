package laws

import (
	"fmt"
	"math"
	"slices"
)

// drawCircuits joins bars in series or in parallel; what is left carries a current of its own.
func drawCircuits(d *draft) {
	rest := slices.Clone(d.bars)
	if len(rest) >= 2 && d.chance(0.2) {
		pair := obj()
		two := slices.Clone(rest[:2])
		id := "loop"
		switch {
		case d.chance(0.6):
			pair.set("series", obj(two[0], num(1), two[1], num(pick(d.dice, -1., -1, 1))))
		case d.chance(0.6):
			id = "both"
			for _, b := range two[1:] { // of one section, as people join them
				d.root.get("bars", b).set("section", d.root.get("bars", two[0], "section").clone())
			}
			if overlap(d.root) {
				return
			}
			pair.set("parallel", names(two...))
		default:
			id = "both"
			share1 := d.between(0.3, 0.7, 0.05)
			pair.set("parallel", obj(two[0], q(share1, share), two[1], q(1-share1, share)))
		}
		d.root.under("circuits").set(id, pair)
		d.carriers = append(d.carriers, id)
		rest = rest[2:]
	}
	d.carriers = append(d.carriers, rest...)
}

// overlap says that two bars may touch: their circles meet.
func overlap(root *node) bool {
	list := root.section("bars")
	for i := range list {
		_, a := sectionOf(list[i].value)
		for k := range i {
			_, b := sectionOf(list[k].value)
			d := list[i].value.get("at").point().minus(list[k].value.get("at").point())
			if math.Abs(d.x) < a.x+b.x+1e-3 && math.Abs(d.y) < a.y+b.y+1e-3 || list[i].value.turn() != 0 ||
				list[i].value.get("section", "outline") != nil {
				return true
			}
		}
	}
	return false
}

// drawSlowness chooses a frequency at which the largest bar is thin against the skin depth, twelve times
// as high too: its field keeps the closed form, with a bound that seldom holds a limit.
func drawSlowness(d *draft) {
	if !d.slow {
		return
	}
	largest := 0.0
	for _, id := range d.bars {
		largest = math.Max(largest, areaM2(d.root.get("bars", id)))
	}
	const copper = 58e6
	r := d.times(0.03, 0.3) // √area over skin depth, at twelve times the frequency
	d.hz = digits(r*r/(math.Pi*mu0*copper*largest)/12, 2)
}

// drawCurrents gives the bars currents that come back, and duties of every kind.
func drawCurrents(d *draft) {
	least := math.Inf(1)
	for _, id := range d.bars {
		least = math.Min(least, areaM2(d.root.get("bars", id)))
	}
	base := digits(least*1e6*d.times(0.2, 5), 2) // 0.2 to 5 A/mm²
	kinds := []string{"continuous"}
	for _, k := range []string{"continuous", "peak", "fault"} {
		if d.chance(0.5) {
			kinds = append(kinds, k)
		}
	}
	if d.chance(0.05) {
		kinds = kinds[1:]
	}
	duties := d.root.under("duties")
	for i, kind := range kinds {
		a := base
		switch kind {
		case "peak":
			a *= d.between(1.2, 2.5, 0.1)
		case "fault":
			a *= d.between(2, 6, 0.5)
		}
		duties.set(fmt.Sprintf("D%d", i+1), duty(d, kind, digits(a, 3)))
	}
	for _, id := range slices.Concat(d.bars, d.carriers) {
		d.ratedA[id] = base * math.Sqrt2
	}
	if d.chance(0.85) || len(d.carriers) == 1 {
		d.root.under("surroundings").set("return", say("far"))
	}
}

// duty draws currents of about amps rms.
func duty(d *draft, kind string, amps float64) *node {
	out := obj("kind", say(kind))
	hz := d.hz
	if kind == "fault" && d.chance(0.3) {
		hz = 0
	}
	if hz > 0 {
		out.set("frequency", q(digits(hz, 3), frequency))
	}
	carriers := slices.Clone(d.carriers)
	if hz > 0 && len(carriers) >= 3 && d.chance(0.6) {
		three := obj("bars", names(carriers[:3]...), pick(d.dice, "rms", "peak"), q(amps, current))
		if d.chance(0.3) {
			three.set("phase", q(d.between(-170, 180, 5)*math.Pi/180, angle))
		}
		if d.chance(0.1) {
			three.set("dc", q(digits(amps*d.times(0.01, 0.3), 2), current))
		}
		out.set("three-phase", three)
		carriers = carriers[3:]
	}
	if currents := singles(d, carriers, amps, hz, out.get("three-phase") != nil); len(currents.members) > 0 {
		out.set("currents", currents)
	}
	if alternates(out) && d.chance(0.25) {
		out.set("harmonics", harmonics(d, amps, hz))
	}
	ripple := 0.0
	switch {
	case d.slow:
		ripple = digits(d.hz*d.times(4, 12), 3)
	case hz > 0 && d.chance(0.5), d.chance(0.03):
		ripple = pick(d.dice, 4e3, 8e3, 16e3, 20e3)
	}
	if ripple > 0 && d.chance(0.25) && (out.get("currents") != nil || out.get("three-phase") != nil) {
		out.set("ripple", obj("frequency", q(ripple, frequency), "rms", q(digits(amps*d.times(0.01, 0.1), 2), current)))
	}
	return out
}

// singles gives carriers currents of their own, in pairs that cancel where there are two.
func singles(d *draft, carriers []string, amps, hz float64, other bool) *node {
	out := obj()
	for i := 0; i < len(carriers); i += 2 {
		if (i > 0 || other) && d.chance(0.3) {
			continue // idle
		}
		a := digits(amps*d.times(0.6, 1), 3)
		phase := d.between(-170, 180, 5) * math.Pi / 180
		direct := hz == 0 || d.chance(0.2)
		both := !direct && d.chance(0.15)
		key := pick(d.dice, "rms", "peak")
		var own *node
		if !direct && d.chance(0.1) {
			own = harmonics(d, amps, hz)
		}
		for k, sign := range []float64{1, -1} {
			if i+k >= len(carriers) {
				break
			}
			if direct {
				out.set(carriers[i+k], obj("dc", q(sign*a, current)))
				continue
			}
			c := obj(key, q(a, current))
			if both {
				c.set("dc", q(sign*digits(a/3, 2), current))
			}
			if p := phase + float64(k)*math.Pi; p != 0 {
				c.set("phase", q(wrapped(p), angle))
			}
			if own != nil {
				h := own.clone()
				for _, item := range h.items {
					item.set("phase", q(wrapped(item.num(0, "phase")+float64(k)*math.Pi), angle))
				}
				c.set("harmonics", h)
			}
			out.set(carriers[i+k], c)
		}
	}
	return out
}

// wrapped returns an angle within half a turn to either side.
func wrapped(rad float64) float64 {
	if deg := math.Remainder(rad, 2*math.Pi) * 180 / math.Pi; deg > -180 {
		return math.Round(deg*1e9) / 1e9 * (math.Pi / 180)
	}
	return math.Pi
}

// alternates says whether a duty has a current that alternates with its frequency.
func alternates(duty *node) bool {
	if duty.get("frequency") == nil {
		return false
	}
	if duty.get("three-phase") != nil {
		return true
	}
	return slices.ContainsFunc(duty.section("currents"), func(m member) bool {
		return m.value.get("rms") != nil || m.value.get("peak") != nil
	})
}

func harmonics(d *draft, amps, hz float64) *node {
	out := seq()
	for _, order := range []float64{3, 5, 7, 11} {
		if order*hz > 2e5 || d.chance(0.5) {
			continue
		}
		h := obj("order", num(order))
		if d.chance(0.7) {
			h.set("share", q(digits(d.times(0.01, 0.2), 2), share))
		} else {
			h.set("peak", q(digits(amps*d.times(0.01, 0.1), 2), current))
		}
		if d.chance(0.5) {
			h.set("phase", q(d.between(-170, 180, 10)*math.Pi/180, angle))
		}
		out.items = append(out.items, h)
	}
	if len(out.items) == 0 {
		out.items = append(out.items, obj("order", num(2), "share", q(0.02, share)))
	}
	return out
}

// drawPoints draws the currents of one duty by points in place of phasors: a trapezium out and
// back, its negative in the other carrier.
func drawPoints(d *draft) {
	if !d.slow || !d.root.hasSection("duties") || !d.chance(0.12) {
		return
	}
	m := pick(d.dice, d.root.section("duties")...)
	hz := m.value.num(d.hz, "frequency")
	period := digits(1/hz, 3)
	a := digits(d.ratedA[d.bars[0]]*d.times(0.3, 1), 3)
	rise := d.between(0.05, 0.2, 0.05)
	flat := d.between(0.1, 0.25, 0.05)
	currents := obj()
	for k, sign := range []float64{1, -1} {
		if k >= len(d.carriers) {
			break
		}
		points := seq()
		for _, p := range [][2]float64{{0, 0}, {rise, 1}, {rise + flat, 1}, {2*rise + flat, 0}, {0.5, 0},
			{0.5 + rise, -0.6}, {0.5 + rise + flat, -0.6}, {0.5 + 2*rise + flat, 0}} {
			if n := len(points.items); n > 0 && p[0]*period <= points.items[n-1].items[0].value*(1+1e-9) {
				continue
			}
			if p[0] < 1-1e-9 {
				points.items = append(points.items, seq(q(p[0]*period, duration), q(sign*p[1]*a, current)))
			}
		}
		currents.set(d.carriers[k], obj("points", points))
	}
	d.root.get("duties").set(m.key, obj("kind", m.value.get("kind"), "period", q(period, duration), "currents",
		currents))
}

// drawWith lets a further set flow in a duty, unrelated in phase.
func drawWith(d *draft) {
	for _, m := range d.root.section("duties") {
		if !d.slow || !alternates(m.value) || !d.chance(0.12) {
			continue
		}
		hz := digits(m.value.num(0, "frequency")*pick(d.dice, 1.41421, 2.71828, 0.61803), 6)
		a := digits(d.ratedA[d.bars[0]]*d.times(0.02, 0.4), 2)
		set := obj("frequency", q(hz, frequency))
		if len(d.carriers) >= 3 && d.chance(0.5) {
			set.set("three-phase", obj("bars", names(d.carriers[0], d.carriers[2], d.carriers[1]), "rms",
				q(a, current)))
		} else {
			out := obj() // no direct part: that belongs to no set, and may stand once
			for k, id := range d.carriers[:min(2, len(d.carriers))] {
				out.set(id, obj("peak", q(a, current), "phase", q(float64(k)*math.Pi, angle)))
			}
			set.set("currents", out)
		}
		m.value.set("with", seq(set))
	}
}

// drawRippleShape gives a ripple a shape and currents of its own.
func drawRippleShape(d *draft) {
	for _, m := range d.root.section("duties") {
		r := m.value.get("ripple")
		if r == nil || !d.slow && !d.chance(0.3) {
			continue
		}
		if d.chance(0.3) {
			r.set("shape", say(pick(d.dice, "triangle", "triangle", "sine")))
		}
		if d.chance(0.3) {
			own := obj()
			for k, id := range d.carriers[:min(2, len(d.carriers))] {
				own.set(id, obj("peak", q(r.num(0, "rms"), current), "phase", q(float64(k)*math.Pi, angle)))
			}
			r.set("currents", own)
		}
	}
}

// drawAsymmetry gives a fault a decaying direct component.
func drawAsymmetry(d *draft) {
	for _, m := range d.root.section("duties") {
		if m.value.str("kind") != "fault" || !alternates(m.value) || m.value.get("with") != nil || !d.chance(0.4) {
			continue
		}
		if d.chance(0.5) {
			m.value.set("asymmetry", obj("peak-factor", num(d.between(1.1, 1.9, 0.1))))
		} else {
			m.value.set("asymmetry", obj("r-over-x", num(d.between(0.05, 0.6, 0.05))))
		}
	}
}
