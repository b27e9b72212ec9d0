package laws

import (
	"fmt"
	"math"
	"slices"
	"strings"
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
		{name: "turn by quarters", says: "a layout turned by quarters, tolerances with it, is the same layout",
			compare: same,
			change: func(d dice, root *node) *change {
				rad := pick(d, 1., 2, 3) * math.Pi / 2
				return changed(root, fmt.Sprintf("turned by %.0f deg", rad*180/math.Pi),
					func(n *node) bool { turnAll(n, rad); return true })
			}},
		{name: "turn", says: "a layout without tolerances of place, turned by any angle, is the same layout",
			compare: same,
			change: func(d dice, root *node) *change {
				rad := d.between(-170, 170, 7) * math.Pi / 180
				before := root.clone()
				for _, m := range before.section("sensors") {
					if p := m.value.get("placement"); p != nil {
						p.set("x", metres(0))
						p.set("y", metres(0))
						p.drop("yaw") // its box stands along the axes of the drawing
					}
				}
				for _, m := range slices.Concat(before.section("bars"), before.section("shields")) {
					m.value.drop("placement")
				}
				c := changed(before,
					fmt.Sprintf("x and y of placements set to 0, bars and shields without, then turned by %.0f deg",
						rad*180/math.Pi), func(n *node) bool { turnAll(n, rad); return true })
				c.before = before
				return c
			}},
		{name: "mirror", says: "a layout seen in a mirror at x = 0 is the same layout; currents along z and axes, which are axial, as they should", compare: same,
			change: func(_ dice, root *node) *change {
				return changed(root, "mirrored at x = 0", func(n *node) bool { mirror(n); return true })
			}},
		{name: "rename", says: "names mean nothing", compare: same,
			change: func(_ dice, root *node) *change {
				c := changed(root, `every name begins with "q"`,
					func(n *node) bool { renameAll(n, prefixed); return true })
				c.rename = prefixed
				return c
			}},
		{name: "reorder", says: "the order of objects means nothing", compare: same,
			spared: map[string]string{"geometry": "what overlaps is told once, at the later of the two"},
			change: func(d dice, root *node) *change {
				return changed(root, "objects shuffled", func(n *node) bool { shuffle(d, n); return true })
			}},
		{name: "units", says: "one quantity in another unit is the same quantity", compare: same,
			change: func(d dice, root *node) *change {
				c := changed(root, "units changed", func(*node) bool { return true })
				c.spell = func(n *node) spelling { return pick(d, spellings[n.dim]...) }
				return c
			}},
		{name: "rms for peak", says: "a sine is the same by its rms as by its peak",
			compare: func(c *change, before, after *checked) []breach {
				return slices.DeleteFunc(same(c, before, after), func(b breach) bool {
					return strings.Contains(b.text, "once as rms and once as peak") // spelling is what that speaks of
				})
			},
			change: func(_ dice, root *node) *change { return changed(root, "rms and peak exchanged", rmsForPeak) }},
		{name: "shift of time", says: "a duty that begins at another time is the same duty", compare: same,
			change: func(d dice, root *node) *change {
				rad := d.between(-175, 175, 5) * math.Pi / 180
				return changed(root, fmt.Sprintf("every duty begins %.0f deg of its fundamental later",
					rad*180/math.Pi), func(n *node) bool { return shiftTime(n, rad) })
			}},
		{name: "three currents", says: "a three-phase set is three currents a third of a period apart", compare: same,
			change: func(_ dice, root *node) *change {
				return changed(root, "three-phase written as currents", spellPhases)
			}},
		{name: "outline", says: "a rectangle is its outline", compare: same,
			change: func(_ dice, root *node) *change {
				return changed(root, "rectangles written as outlines", asOutlines)
			}},
		{name: "own parts", says: "a part under two names is one part", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "a part for each sensor", ownParts) }},
		{name: "own readouts", says: "a readout for all is that of each channel", compare: same,
			change: func(_ dice, root *node) *change {
				return changed(root, "a readout for each channel", ownReadouts)
			}},
		{name: "own needs", says: "a need of all is that of each channel", compare: same,
			change: func(_ dice, root *node) *change { return changed(root, "needs for each channel", ownNeeds) }},
		{name: "idle bar far away", says: "a bar without current, two metres away, changes nothing", compare: same,
			spared: map[string]string{"plane-validity": "it asks for every bar at equal currents, idle ones too"},
			change: func(_ dice, root *node) *change {
				if len(carriersOf(root)) < 2 {
					return nil // rules about other bars would begin to speak
				}
				return changed(root, "a bar at (1.6 m, 1.2 m)", func(n *node) bool {
					b := n.section("bars")[0].value.clone()
					b.set("at", place(1.6, 1.2))
					n.get("bars").set("far", b)
					return true
				})
			}},
		{name: "thin bars",
			says:   "far from a thin bar nobody sees whether it is round or square, but it itself cools otherwise",
			change: thinBars,
			compare: func(c *change, before, after *checked) []breach {
				return slices.DeleteFunc(same(c, before, after), func(b breach) bool { return b.object == "thin" })
			}},
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
	for _, path := range [][]string{{"bars"}, {"shields"}, {"sensors"}, {"surroundings", "wires"},
		{"surroundings", "magnets"}} {
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
	quarter := math.Abs(math.Sin(rad)) > 0.5
	for _, m := range slices.Concat(root.section("bars"), root.section("shields")) {
		more(m.value, "turn")
		if p := m.value.get("placement"); p != nil && quarter {
			x, y := p.get("x"), p.get("y")
			p.set("x", y)
			p.set("y", x)
		}
	}
	for _, m := range root.section("sensors") {
		more(m.value, "axis")
		if e := m.value.get("elements"); e != nil {
			for _, one := range e.items {
				more(one, "axis")
				one.get("at").setPoint(one.get("at").point().turned(rad))
			}
		}
		if p := m.value.get("pair"); p != nil {
			more(p, "along")
		}
		if p := m.value.get("placement"); p != nil && quarter {
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
		if e := m.value.get("elements"); e != nil {
			for _, one := range e.items {
				one.set("axis", q(wrapped(-one.num(0, "axis")), angle))
				at := one.get("at")
				at.setPoint(vec{-at.point().x, at.point().y})
			}
		}
	}
	if u := root.get("surroundings", "uniform", "direction"); u != nil {
		u.value = wrapped(-u.value)
	}
	for _, m := range root.section("surroundings", "magnets") {
		m.value.set("magnetised", q(wrapped(-m.value.num(0, "magnetised")), angle))
	}
}

// prefixed renames an object, or several that stand as one.
func prefixed(id string) string {
	if id == "" || id == "all" {
		return id
	}
	parts := strings.Split(id, " + ")
	for i := range parts {
		parts[i] = "q" + parts[i]
	}
	return strings.Join(parts, " + ")
}

// objectSections hold objects by name.
var objectSections = [][]string{{"bars"}, {"shields"}, {"materials"}, {"circuits"}, {"sensors"}, {"parts"}, {"duties"},
	{"needs"}, {"calibration"},
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
	for _, c := range everyCurrents(root) {
		rename(c)
	}
	for _, m := range root.section("circuits") {
		for _, key := range []string{"series", "parallel"} {
			if c := m.value.get(key); c != nil && c.kind == mapping {
				rename(c)
			}
		}
	}
	root.each(func(n *node) {
		if n.kind == name {
			n.text = f(n.text)
		}
	})
}

// everyCurrents are all mappings from bars or circuits to currents.
func everyCurrents(root *node) []*node {
	var out []*node
	for _, m := range root.section("duties") {
		for _, s := range setsOf(m.value) {
			if c := s.get("currents"); c != nil {
				out = append(out, c)
			}
		}
		if c := m.value.get("ripple", "currents"); c != nil {
			out = append(out, c)
		}
	}
	return out
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
		for _, s := range setsOf(m.value) {
			// Under harmonics of the set the first of two currents out and back is the one that is not turned round.
			if mix(s.get("harmonics")); s.get("harmonics") == nil {
				mix(s.get("currents"))
			}
		}
	}
	for _, m := range root.section("circuits") {
		mix(m.value.get("series"))
		mix(m.value.get("parallel"))
	}
	mix(root.get("insulation"))
	d.Shuffle(len(root.members)-1, func(i, j int) { // the version stays first
		root.members[i+1], root.members[j+1] = root.members[j+1], root.members[i+1]
	})
}

// rmsForPeak writes rms for peak and peak for rms: √2 apart in a sine, √3 in a triangle.
func rmsForPeak(root *node) bool {
	any := false
	var exchange func(n *node, factor float64)
	exchange = func(n *node, factor float64) {
		if n.kind != mapping {
			for _, item := range n.items {
				exchange(item, factor)
			}
			return
		}
		if n.str("shape") == "triangle" {
			factor = math.Sqrt(3)
		}
		for i := range n.members {
			m := &n.members[i]
			below := factor
			if m.key == "ripple" {
				below = math.Sqrt2
			}
			exchange(m.value, below)
			if m.value.kind != quantity || m.value.dim != current && m.value.dim != fieldStrength {
				continue
			}
			switch m.key {
			case "rms":
				m.key, m.value.value, any = "peak", m.value.value*factor, true
			case "peak":
				m.key, m.value.value, any = "rms", m.value.value/factor, true
			}
		}
	}
	exchange(root, math.Sqrt2)
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

// thinBars adds a foreign bar, round in one layout and square in the other, both of one area.
func thinBars(d dice, root *node) *change {
	at := place(d.between(-0.2, 0.4, 0.01), pick(d, -1., 1)*d.between(0.08, 0.2, 0.01))
	amps := d.times(5, 50)
	with := func(section *node) *node {
		n := root.clone()
		n.get("bars").set("thin", obj("section", section, "at", at.clone(), "metal", say("copper"), "temperature",
			q(20, temperature)))
		for _, m := range n.section("duties") {
			m.value.under("currents").set("thin", obj("dc", q(amps, current)))
		}
		return n
	}
	r := 0.2e-3
	c := &change{before: with(obj("diameter", metres(2*r))),
		after: with(obj("width", metres(r*math.Sqrt(math.Pi)), "thickness", metres(r*math.Sqrt(math.Pi))))}
	c.note = "  a thin bar of 0.4 mm, round, then square"
	return c
}
