package laws

import (
	"fmt"
	"math"
	"slices"
)

// sameLaws are changes that leave every verdict and every value as it is.
func sameLaws() []law {
	return []law{
		{name: "move", says: "a layout that stands elsewhere is the same layout", compare: same,
			change: func(d dice, root *node) *change {
				by := vec{d.between(-0.5, 0.5, 0.013), d.between(-0.5, 0.5, 0.017)}
				return changed(root, fmt.Sprintf("moved by %v m", by), func(n *node) bool {
					everyPlace(n, func(p vec) vec { return p.plus(by) })
					return true
				})
			}},
		{name: "turn by quarters", says: "a layout turned by quarters, tolerances with it, is the same layout", compare: same,
			change: func(d dice, root *node) *change {
				rad := pick(d, 1., 2, 3) * math.Pi / 2
				return changed(root, fmt.Sprintf("turned by %.0f deg", rad*180/math.Pi), func(n *node) bool { turnAll(n, rad); return true })
			}},
		{name: "turn", says: "a layout without tolerances of place, turned by any angle, is the same layout", compare: same,
			change: func(d dice, root *node) *change {
				rad := d.between(-170, 170, 7) * math.Pi / 180
				before := root.clone()
				for _, m := range before.section("sensors") {
					if p := m.value.get("placement"); p != nil {
						p.set("x", metres(0))
						p.set("y", metres(0))
					}
				}
				c := changed(before, fmt.Sprintf("x and y of placements set to 0, then turned by %.0f deg", rad*180/math.Pi), func(n *node) bool { turnAll(n, rad); return true })
				c.before = before
				return c
			}},
		{name: "mirror", says: "a layout seen in a mirror at x = 0 is the same layout; currents along z and axes, which are axial, as they should", compare: same,
			change: func(_ dice, root *node) *change {
				return changed(root, "mirrored at x = 0", func(n *node) bool { mirror(n); return true })
			}},
		{name: "rename", says: "names mean nothing", compare: same,
			change: func(_ dice, root *node) *change {
				c := changed(root, `every name begins with "q"`, func(n *node) bool { renameAll(n, prefixed); return true })
				c.rename = prefixed
				return c
			}},
		{name: "reorder", says: "the order of objects means nothing", compare: same,
			change: func(d dice, root *node) *change {
				return changed(root, "objects shuffled", func(n *node) bool { shuffle(d, n); return true })
			}},
		{name: "units", says: "one quantity in another unit is the same quantity", compare: same,
			change: func(d dice, root *node) *change {
				c := changed(root, "units changed", func(*node) bool { return true })
				c.spell = func(n *node) spelling { return pick(d, spellings[n.dim]...) }
				return c
			}},
		{name: "rms for peak", says: "a sine is the same by its rms as by its peak", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "rms and peak exchanged", rmsForPeak) }},
		{name: "shift of time", says: "a duty that begins at another time is the same duty", compare: same,
			change: func(d dice, root *node) *change {
				rad := d.between(-175, 175, 5) * math.Pi / 180
				return changed(root, fmt.Sprintf("phases of every duty moved by %.0f deg", rad*180/math.Pi), func(n *node) bool { return shiftTime(n, rad) })
			}},
		{name: "three currents", says: "a three-phase set is three currents a third of a period apart", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "three-phase written as currents", spellPhases) }},
		{name: "outline", says: "a rectangle is its outline", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "rectangles written as outlines", asOutlines) }},
		{name: "own parts", says: "a part under two names is one part", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "a part for each sensor", ownParts) }},
		{name: "own readouts", says: "a readout for all is that of each channel", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "a readout for each channel", ownReadouts) }},
		{name: "own needs", says: "a need of all is that of each channel", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "needs for each channel", ownNeeds) }},
		{name: "idle bar far away", says: "a bar without current, two metres away, changes nothing", compare: same,
			spared: map[string]string{"plane-validity": "it asks for every bar at equal currents, idle ones too"},
			change: func(_ dice, root *node) *change {
				if len(root.section("bars")) < 2 {
					return nil // rules about other bars would begin to speak
				}
				return changed(root, "a bar at (1.6 m, 1.2 m)", func(n *node) bool {
					b := n.section("bars")[0].value.clone()
					b.set("at", place(1.6, 1.2))
					n.get("bars").set("far", b)
					return true
				})
			}},
		{name: "thin bars", says: "far from a thin bar nobody sees whether it is round or square", compare: same,
			change: thinBars},
		{name: "duty twice", says: "a duty that stands twice says nothing new", compare: same,
			change: func(d dice, root *node) *change {
				m, ok := someDuty(d, root)
				if !ok {
					return nil
				}
				return changed(root, "duty "+m.key+" stands twice", func(n *node) bool {
					n.get("duties").set(m.key+"again", m.value.clone())
					return true
				})
			}},
	}
}

// everyPlace moves the places of all objects.
func everyPlace(root *node, f func(vec) vec) {
	for _, path := range [][]string{{"bars"}, {"shields"}, {"sensors"}, {"surroundings", "wires"}, {"surroundings", "magnets"}} {
		for _, m := range root.section(path...) {
			at := m.value.get("at")
			at.setPoint(f(at.point()))
		}
	}
}

// turnAll turns places, sections, axes and fields; a box of tolerances follows quarters.
func turnAll(root *node, rad float64) {
	everyPlace(root, func(p vec) vec { return p.turned(rad) })
	more := func(n *node, key string) {
		n.set(key, q(wrapped(n.num(0, key)+rad), angle))
	}
	for _, m := range slices.Concat(root.section("bars"), root.section("shields")) {
		more(m.value, "turn")
	}
	for _, m := range root.section("sensors") {
		more(m.value, "axis")
		if p := m.value.get("pair"); p != nil {
			more(p, "along")
		}
		if p := m.value.get("placement"); p != nil && math.Abs(math.Sin(rad)) > 0.5 {
			x, y := p.get("x"), p.get("y")
			p.set("x", y)
			p.set("y", x)
		}
	}
	if u := root.get("surroundings", "uniform", "direction"); u != nil {
		u.value = wrapped(u.value + rad)
	}
	for _, m := range root.section("surroundings", "magnets") {
		more(m.value, "magnetised")
	}
}

// mirror puts x in place of -x. A flux density is an axial vector: its x stays, its y turns round,
// and so do axes and magnets; a current along z stays; a pair's direction is a polar vector.
func mirror(root *node) {
	everyPlace(root, func(p vec) vec { return vec{-p.x, p.y} })
	for _, m := range slices.Concat(root.section("bars"), root.section("shields")) {
		if t := m.value.get("turn"); t != nil {
			t.value = -t.value
		}
		if o := m.value.get("section", "outline"); o != nil {
			slices.Reverse(o.items)
			for _, c := range o.items {
				c.setPoint(vec{-c.point().x, c.point().y})
			}
		}
	}
	for _, m := range root.section("sensors") {
		m.value.set("axis", q(wrapped(-m.value.num(0, "axis")), angle))
		if a := m.value.get("pair", "along"); a != nil {
			a.value = wrapped(math.Pi - a.value)
		}
	}
	if u := root.get("surroundings", "uniform", "direction"); u != nil {
		u.value = wrapped(-u.value)
	}
	for _, m := range root.section("surroundings", "magnets") {
		m.value.set("magnetised", q(wrapped(-m.value.num(0, "magnetised")), angle))
	}
}

func prefixed(id string) string {
	if id == "" || id == "all" {
		return id
	}
	return "q" + id
}

// objectSections hold objects by name.
var objectSections = [][]string{{"bars"}, {"shields"}, {"materials"}, {"sensors"}, {"parts"}, {"duties"}, {"needs"}, {"calibration"},
	{"readout", "channels"}, {"surroundings", "wires"}, {"surroundings", "magnets"}}

func renameAll(root *node, f func(string) string) {
	rename := func(n *node) {
		for i := range n.members {
			n.members[i].key = f(n.members[i].key)
		}
	}
	for _, path := range objectSections {
		if s := root.get(path...); s != nil {
			rename(s)
		}
	}
	for _, m := range root.section("duties") {
		if c := m.value.get("currents"); c != nil {
			rename(c)
		}
	}
	root.each(func(n *node) {
		if n.kind == name {
			n.text = f(n.text)
		}
	})
}

func shuffle(d dice, root *node) {
	mix := func(n *node) {
		if n != nil {
			d.Shuffle(len(n.members), func(i, j int) { n.members[i], n.members[j] = n.members[j], n.members[i] })
			d.Shuffle(len(n.items), func(i, j int) { n.items[i], n.items[j] = n.items[j], n.items[i] })
		}
	}
	for _, path := range objectSections {
		mix(root.get(path...))
	}
	for _, m := range root.section("duties") {
		mix(m.value.get("currents"))
		mix(m.value.get("harmonics"))
	}
	mix(root.get("insulation"))
	d.Shuffle(len(root.members)-1, func(i, j int) { // the version stays first
		root.members[i+1], root.members[j+1] = root.members[j+1], root.members[i+1]
	})
}

func rmsForPeak(root *node) bool {
	any := false
	root.each(func(n *node) {
		if n.kind != mapping || n.get("kind") == nil && n.get("working") != nil {
			return
		}
		for i := range n.members {
			m := &n.members[i]
			if m.value.kind != quantity || m.value.dim != current && m.value.dim != fieldStrength {
				continue
			}
			switch m.key {
			case "rms":
				m.key, m.value.value, any = "peak", m.value.value*math.Sqrt2, true
			case "peak":
				m.key, m.value.value, any = "rms", m.value.value/math.Sqrt2, true
			}
		}
	})
	return any
}

// shiftTime moves the phase of every alternating current. Harmonics follow the phase of their
// fundamental as often as their order says, so theirs stay as they are.
func shiftTime(root *node, rad float64) bool {
	any := false
	move := func(n *node) {
		n.set("phase", q(wrapped(n.num(0, "phase")+rad), angle))
		any = true
	}
	for _, m := range root.section("duties") {
		if m.value.get("frequency") == nil {
			continue
		}
		if t := m.value.get("three-phase"); t != nil {
			move(t)
		}
		for _, c := range m.value.section("currents") {
			if c.value.get("dc") == nil {
				move(c.value)
			}
		}
	}
	return any
}

func spellPhases(root *node) bool {
	any := false
	for _, m := range root.section("duties") {
		t := m.value.get("three-phase")
		if t == nil || root.get("phase-sums") != nil {
			continue // a sum looks for the set by its key
		}
		any = true
		currents := m.value.under("currents")
		for k, b := range t.get("bars").items {
			c := t.clone()
			c.drop("bars")
			c.set("phase", q(wrapped(t.num(0, "phase")-float64(k)*2*math.Pi/3), angle))
			currents.set(b.text, c)
		}
		m.value.drop("three-phase")
	}
	return any
}

func asOutlines(root *node) bool {
	any := false
	for _, m := range root.section("bars") {
		s := m.value.get("section")
		if w, t := s.num(0, "width")/2, s.num(0, "thickness")/2; w > 0 {
			m.value.set("section", obj("outline", seq(place(-w, -t), place(w, -t), place(w, t), place(-w, t))))
			any = true
		}
	}
	return any
}

func ownParts(root *node) bool {
	any := false
	for _, m := range root.section("sensors") {
		p := root.get("parts", m.value.str("part"))
		if p == nil {
			continue
		}
		id := "own" + m.key
		root.get("parts").set(id, p.clone())
		m.value.set("part", ref(id))
		any = true
	}
	return any
}

func ownReadouts(root *node) bool {
	r := root.get("readout")
	if r == nil || r.get("channels") != nil {
		return false
	}
	channels := obj()
	for _, m := range root.section("sensors") {
		channels.set(m.key, r.clone())
	}
	root.set("readout", obj("channels", channels))
	return true
}

func ownNeeds(root *node) bool {
	common := root.get("needs", "all")
	if common == nil {
		return false
	}
	needs := root.get("needs")
	needs.drop("all")
	for _, m := range root.section("sensors") {
		n := common.clone()
		for _, own := range needs.section(m.key) {
			n.set(own.key, own.value)
		}
		needs.set(m.key, n)
	}
	return true
}

// thinBars adds a foreign bar, round in one layout and square in the other, both of one area.
func thinBars(d dice, root *node) *change {
	at := place(d.between(-0.2, 0.4, 0.01), pick(d, -1., 1)*d.between(0.08, 0.2, 0.01))
	amps := d.times(5, 50)
	with := func(section *node) *node {
		n := root.clone()
		n.get("bars").set("thin", obj("section", section, "at", at.clone(), "metal", say("copper"), "temperature", q(20, temperature)))
		for _, m := range n.section("duties") {
			m.value.under("currents").set("thin", obj("dc", q(amps, current)))
		}
		return n
	}
	r := 0.2e-3
	c := &change{before: with(obj("diameter", metres(2*r))), after: with(obj("width", metres(r*math.Sqrt(math.Pi)), "thickness", metres(r*math.Sqrt(math.Pi))))}
	c.note = "  a thin bar of 0.4 mm, round, then square"
	return c
}
