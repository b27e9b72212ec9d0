package laws

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/finding"
)

// spellingLaws are two ways to draw or write one thing.
func spellingLaws() []law {
	return []law{
		{name: "two halves", says: "a bar is two halves that touch and are joined at both ends", compare: ofSensors,
			change: twoHalves,
			spared: map[string]string{"geometry": "bars that touch are told",
				"calibration":      "what a coil stands in for is another thing",
				"channel-accuracy": "the certainty of the field is a line of the budget, and halves have one of their own",
				"zeroing":          "the least that foreign fields hide is told, by the bound of the own field, which halves have of their own"}},
		{name: "two plates", says: "a plate is two that touch", compare: ofSensors, change: twoPlates,
			spared: map[string]string{"geometry": "pieces that touch are told"}},
		{name: "wire for a thin bar",
			says:   "a foreign wire fills a range as a thin round bar does, and its sign is taken at its worst",
			change: wireForBar,
			compare: func(c *change, before, after *checked) []breach {
				list := onlyOf(worse(c, before, after), "linear-range", "output-chain")
				return slices.DeleteFunc(list, func(b breach) bool { return b.is == finding.NotApplicable }) // nothing flows in the own bar
			}},
		{name: "series spelled out",
			says:   "a series circuit is two currents, though what is own field and what is stray changes",
			change: seriesSpelled,
			compare: func(c *change, before, after *checked) []breach {
				return onlyOf(same(c, before, after), "linear-range", "return-path", "bar-heating", "clearance",
					"creepage")
			}},
		{name: "declared shares",
			says: "bars of one section, metal and temperature, joined at both ends, share direct current evenly", compare: same,
			change: declaredShares},
		{name: "pair by elements", says: "a pair is an array of two with weights 1 and -1", compare: same,
			change: pairByElements,
			spared: map[string]string{"sensor-axis": "axes and weights of an array are told apart"}},
		{name: "axis as a vector", says: "an angle is a vector", compare: same, change: axisVectors},
		{name: "range by its ends", says: "a symmetric range is one with a low and a high end", compare: same,
			change: rangeByEnds},
		{name: "kappa for R/X", says: "r-over-x is the peak factor that IEC 60909-0 gives for it", compare: same,
			change: kappaForRatio},
	}
}

// onlyOf keeps what speaks of some rules.
func onlyOf(list []breach, rules ...string) []breach {
	return slices.DeleteFunc(list, func(b breach) bool { return !slices.Contains(rules, b.rule) })
}

// ofSensors is same for what is said of sensors.
func ofSensors(c *change, before, after *checked) []breach {
	return slices.DeleteFunc(same(c, before, after),
		func(b breach) bool { return c.after.get("sensors", b.object) == nil })
}

// twoHalves cuts a flat bar along its middle. The circuit takes the name of the bar, so that all that named it
// names both.
func twoHalves(d dice, root *node) *change {
	var flat []string
	for _, c := range carriersOf(root) {
		if len(c.bars) == 1 && root.get("bars", c.id, "section", "width") != nil {
			flat = append(flat, c.id)
		}
	}
	if len(flat) == 0 || root.get("insulation") != nil {
		return nil
	}
	id := pick(d, flat...)
	before := root.clone()
	before.get("bars", id).drop("placement")
	c := changed(before, fmt.Sprintf("bar %s cut in two that are joined", id), func(n *node) bool {
		bar := n.get("bars", id)
		w := bar.num(0, "section", "width")
		along := direction(bar.turn()).times(w / 4)
		at := bar.get("at").point()
		n.get("bars").drop(id)
		for k, sign := range []float64{-1, 1} {
			half := bar.clone()
			half.get("section").set("width", metres(w/2))
			half.get("at").setPoint(at.plus(along.times(sign)))
			n.get("bars").set(fmt.Sprintf("%shalf%d", id, k+1), half)
		}
		n.under("circuits").set(id, obj("parallel", names(id+"half1", id+"half2")))
		return true
	})
	c.before = before
	return c
}

// twoPlates cuts a plate of iron across its width, where nothing flows in it.
func twoPlates(d dice, root *node) *change {
	if !still(withoutShields(root)) {
		return nil
	}
	for _, m := range root.section("shields") {
		if m.value.get("form", "plate") == nil {
			continue
		}
		before := root.clone()
		for _, s := range before.section("shields") {
			s.value.drop("placement")
		}
		c := changed(before, "plate "+m.key+" cut in two", func(n *node) bool {
			plate := n.get("shields", m.key)
			w := plate.num(0, "form", "plate", "width")
			along := direction(plate.turn()).times(w / 4)
			at := plate.get("at").point()
			n.get("shields").drop(m.key)
			for k, sign := range []float64{-1, 1} {
				half := plate.clone()
				half.get("form", "plate").set("width", metres(w/2))
				half.get("at").setPoint(at.plus(along.times(sign)))
				n.get("shields").set(fmt.Sprintf("%shalf%d", m.key, k+1), half)
			}
			return true
		})
		c.before = before
		return c
	}
	return nil
}

func withoutShields(root *node) *node {
	n := root.clone()
	n.drop("shields")
	return n
}

// wireForBar puts a foreign wire where a thin round bar was, with the same direct current in every duty.
func wireForBar(d dice, root *node) *change {
	if !root.hasSection("duties") {
		return nil
	}
	at := place(d.between(-0.2, 0.4, 0.01), pick(d, -1., 1)*d.between(0.08, 0.2, 0.01))
	amps := d.times(5, 200)
	before := root.clone()
	before.get("bars").set("thin", obj("section", obj("diameter", metres(0.4e-3)), "at", at.clone(), "metal",
		say("copper"), "temperature", q(20, temperature)))
	for _, m := range before.section("duties") {
		if m.value.get("ripple") != nil && m.value.get("ripple", "currents") == nil {
			return nil // it would flow in the thin bar too
		}
		m.value.under("currents").set("thin", obj("dc", q(amps, current)))
	}
	c := changed(root, fmt.Sprintf("a wire of %g A in place of a thin bar", amps), func(n *node) bool {
		n.under("surroundings").under("wires").set("Wthin", obj("at", at, "dc", q(amps, current)))
		return true
	})
	c.before = before
	return c
}

// seriesSpelled gives each bar of a series circuit its own current, and each sensor the bar that it stands at.
func seriesSpelled(_ dice, root *node) *change {
	for _, m := range root.section("circuits") {
		series := m.value.get("series")
		if series == nil {
			continue
		}
		for _, duty := range root.section("duties") {
			for _, s := range setsOf(duty.value) {
				if t := s.get("three-phase"); t != nil && refers(t, m.key) {
					return nil
				}
				i := s.get("currents", m.key)
				if s.get("harmonics") != nil && i != nil && !leads(cmplx.Rect(1, i.num(0, "phase"))) {
					return nil // of two bars the other would go out
				}
			}
		}
		for _, n := range root.section("needs") {
			if n.value.get("range") != nil {
				return nil // a claim is of the own current
			}
		}
		return changed(root, "circuit "+m.key+" written as currents of its bars", func(n *node) bool {
			for _, list := range everyCurrents(n) {
				i := list.get(m.key)
				if i == nil {
					continue
				}
				list.drop(m.key)
				for _, b := range series.members {
					list.set(b.key, negated(i, b.value.value < 0))
				}
			}
			for _, s := range n.section("sensors") {
				if s.value.str("reads") == m.key {
					s.value.set("reads", ref("B"+s.key[1:2]))
				}
			}
			n.get("circuits").drop(m.key)
			dropEmpty(n)
			return true
		})
	}
	return nil
}

// negated is a current the other way: its direct part, its phases and its points turn round. A current with the
// harmonics of its duty needs no more: what returns another is its negative throughout.
func negated(i *node, other bool) *node {
	c := i.clone()
	if !other {
		return c
	}
	for _, key := range []string{"dc"} {
		if v := c.get(key); v != nil {
			v.value = -v.value
		}
	}
	if peakOf(c) != 0 {
		c.set("phase", q(wrapped(c.num(0, "phase")+math.Pi), angle))
	}
	if h := c.get("harmonics"); h != nil {
		for _, item := range h.items {
			item.set("phase", q(wrapped(item.num(0, "phase")+math.Pi), angle))
		}
	}
	if p := c.get("points"); p != nil {
		for _, item := range p.items {
			item.items[1].value = -item.items[1].value
		}
	}
	return c
}

func declaredShares(_ dice, root *node) *change {
	if !still(root) {
		return nil
	}
	return changed(root, "shares of joined bars declared", func(n *node) bool {
		any := false
		for _, m := range n.section("circuits") {
			if p := m.value.get("parallel"); p != nil && p.kind == list {
				shares := obj()
				first := n.get("bars", p.items[0].text)
				for _, b := range p.items { // of one resistance: equal shares
					leg := n.get("bars", b.text)
					if leg.num(20, "temperature") != first.num(20, "temperature") || leg.num(0, "length") != first.num(0, "length") {
						return false
					}
					shares.set(b.text, q(1/float64(len(p.items)), share))
				}
				m.value.set("parallel", shares)
				any = true
			}
		}
		return any
	})
}

func pairByElements(_ dice, root *node) *change {
	return changed(root, "pairs written as elements", func(n *node) bool {
		any := false
		for _, m := range n.section("sensors") {
			p := m.value.get("pair")
			if p == nil {
				continue
			}
			h := direction(p.num(0, "along")).times(p.num(0, "spacing") / 2)
			axis := m.value.get("axis")
			m.value.drop("pair")
			m.value.set("elements", seq(
				obj("at", place(h.x, h.y), "axis", axis.clone(), "weight", num(1)),
				obj("at", place(-h.x, -h.y), "axis", axis.clone(), "weight", num(-1))))
			any = true
		}
		return any
	})
}

func axisVectors(_ dice, root *node) *change {
	return changed(root, "axes written as vectors", func(n *node) bool {
		for _, m := range n.section("sensors") {
			a := direction(m.value.num(0, "axis")).times(3)
			m.value.set("axis", seq(num(a.x), num(a.y), num(0)))
		}
		return true
	})
}

func rangeByEnds(_ dice, root *node) *change {
	return changed(root, "ranges written by their ends", func(n *node) bool {
		any := false
		for _, m := range n.section("parts") {
			if r := m.value.get("linear-range"); r != nil {
				m.value.set("linear-range", obj("low", q(-r.value, fluxDensity), "high", q(r.value, fluxDensity)))
				any = true
			}
		}
		return any
	})
}

func kappaForRatio(_ dice, root *node) *change {
	return changed(root, "r-over-x written as peak factor", func(n *node) bool {
		any := false
		for _, m := range n.section("duties") {
			if x := m.value.get("asymmetry", "r-over-x"); x != nil {
				m.value.set("asymmetry", obj("peak-factor", num(1.02+0.98*math.Exp(-3*x.value))))
				any = true
			}
		}
		return any
	})
}
