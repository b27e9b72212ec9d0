package laws

import (
	"fmt"
	"slices"
	"time"
)

// mostTries and longest bound what a shrink may cost; what is printed then is merely larger.
const (
	mostTries = 600
	longest   = 4 * time.Second
)

// shrunk returns a breach with the smallest layout found that shows it: objects go with all that
// refers to them, then keys, while the same law is broken by the same rule.
func shrunk(seed, k uint64, b *breach) string {
	root := generate(seed, k)
	breaks := func(n *node) (*breach, bool) {
		bed := lay(n)
		if !bed.base.loads() {
			return nil, false
		}
		var list []breach
		laws := all()
		if i := slices.IndexFunc(laws, func(l law) bool { return l.name == b.law }); i >= 0 {
			list, _ = bed.hold(&laws[i], lawDice(seed, k, i))
		} else {
			list = bed.others(seed, k, b.law)
		}
		for i := range list {
			if list[i].law == b.law && list[i].rule == b.rule {
				return &list[i], true
			}
		}
		return nil, false
	}
	best := b
	tries, start := 0, time.Now()
	for again := true; again && tries < mostTries; {
		again = false
		for _, smaller := range smallerOnes(root) {
			if tries++; tries > mostTries || time.Since(start) > longest {
				tries = mostTries
				break
			}
			if x, ok := breaks(smaller); ok {
				root, best, again = smaller, x, true
				break
			}
		}
	}
	return fmt.Sprintf("%v\n%s", best, yaml(root, nil))
}

// others are the laws that are no change of a layout.
func (b *bed) others(seed, k uint64, name string) []breach {
	switch name {
	case "limit", "value":
		return b.limits(lawDice(seed, k, limitDice))
	case "plain words":
		var out []breach
		for i := range b.base.found {
			if f := &b.base.found[i]; !plainWords(f.Message) {
				out = append(out, breach{law: name, rule: f.Rule, object: f.Object, text: lines(b.base.found[i : i+1])})
			}
		}
		return out
	case "oracle of a plain channel":
		return b.plainSecondValues(map[string]int{})
	case "same bytes":
		return b.sameBytes()
	}
	return b.secondValues(map[string]int{})
}

// smallerOnes returns copies of a layout that each lack one thing, the largest first.
func smallerOnes(root *node) []*node {
	var out []*node
	for _, path := range objectSections {
		for _, m := range root.section(path...) {
			c := root.clone()
			c.get(path...).drop(m.key)
			dropEmpty(c)
			forget(c, m.key)
			out = append(out, c)
		}
	}
	for i := range root.members {
		if root.members[i].key != "layout" {
			c := root.clone()
			c.drop(root.members[i].key)
			out = append(out, c)
		}
	}
	// Keys and items, each by its place in the walk.
	total := 0
	root.each(func(n *node) { total += len(n.members) + len(n.items) })
	for at := range total {
		c := root.clone()
		i := 0
		done := false
		c.each(func(n *node) {
			if done {
				return
			}
			if at < i+len(n.members) {
				n.members = slices.Delete(n.members, at-i, at-i+1)
				done = true
				return
			}
			i += len(n.members)
			if at < i+len(n.items) {
				n.items = slices.Delete(n.items, at-i, at-i+1)
				done = true
				return
			}
			i += len(n.items)
		})
		out = append(out, c)
	}
	return out
}

// dropEmpty takes sections away that hold nothing any more.
func dropEmpty(root *node) {
	for i := len(root.members) - 1; i >= 0; i-- {
		if v := root.members[i].value; v.kind == mapping && len(v.members) == 0 || v.kind == list && len(v.items) == 0 {
			root.drop(root.members[i].key)
		}
	}
}

// forget takes away all that refers to an object: sensors that read it, their needs, currents.
func forget(root *node, id string) {
	for _, c := range slices.Clone(root.section("circuits")) {
		if c.value.get("series", id) != nil || c.value.get("parallel", id) != nil || refers(c.value, id) {
			root.get("circuits").drop(c.key)
			forget(root, c.key)
		}
	}
	for _, m := range root.section("duties") {
		for _, s := range append(setsOf(m.value), m.value.get("ripple")) {
			if c := s.get("currents"); c.drop(id) && len(c.members) == 0 {
				s.drop("currents")
			}
		}
		if w := m.value.get("with"); w != nil {
			w.items = slices.DeleteFunc(w.items, func(s *node) bool {
				return s.get("currents") == nil && (s.get("three-phase") == nil || refers(s.get("three-phase"), id))
			})
			if len(w.items) == 0 {
				m.value.drop("with")
			}
		}
		if t := m.value.get("three-phase"); t != nil && refers(t, id) {
			m.value.drop("three-phase")
		}
		if !alternates(m.value) {
			m.value.drop("harmonics")
		}
	}
	for _, m := range slices.Clone(root.section("sensors")) {
		if m.value.str("reads") == id {
			root.get("sensors").drop(m.key)
			forget(root, m.key)
		} else if m.value.str("part") == id {
			m.value.drop("part")
		}
	}
	for _, section := range []string{"needs", "calibration"} {
		root.get(section).drop(id)
	}
	for _, section := range []string{"insulation", "phase-sums"} {
		if s := root.get(section); s != nil {
			s.items = slices.DeleteFunc(s.items, func(n *node) bool { return refers(n, id) })
		}
	}
	dropEmpty(root)
}

func refers(n *node, id string) bool {
	found := false
	n.each(func(m *node) { found = found || m.kind == name && m.text == id })
	return found
}
