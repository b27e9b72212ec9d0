package laws

import (
	"fmt"
	"strings"
)

// lessLaws take data away: what was not a pass must not become one.
func lessLaws() []law {
	return []law{{name: "a datum less",
		says: "taking a datum away makes a pass undecided at most, and nothing else a pass", compare: nothingPasses,
		change: dropDatum}}
}

// datum is a place of which a value may be absent.
type datum struct {
	holder *node
	key    string
	path   string
}

// data lists what describes things, as against what is asked of them: a duty, a need, a foreign
// source that goes away may of course turn a failure into a pass.
func data(root *node) []datum {
	var out []datum
	var walk func(n *node, path string)
	walk = func(n *node, path string) {
		if n == nil || n.kind != mapping {
			return
		}
		for i := range n.members {
			p := path + "." + n.members[i].key
			out = append(out, datum{n, n.members[i].key, p})
			walk(n.members[i].value, p)
		}
	}
	for _, s := range []string{"parts", "materials"} {
		for _, m := range root.section(s) {
			walk(m.value, s)
		}
	}
	walk(root.get("readout"), "readout")
	for _, m := range root.section("calibration") {
		walk(m.value, "calibration")
	}
	for _, s := range []string{"bars", "shields", "sensors"} {
		for _, m := range root.section(s) {
			for _, key := range []string{"temperature", "length", "depth", "part", "placement"} {
				if m.value.get(key) != nil {
					out = append(out, datum{m.value, key, s + "." + key})
				}
			}
		}
	}
	if in := root.get("insulation"); in != nil {
		for _, item := range in.items {
			for _, key := range []string{"working", "supply", "category", "impulse", "creepage", "pollution-degree",
				"material-group", "altitude"} {
				if item.get(key) != nil {
					out = append(out, datum{item, key, "insulation." + key})
				}
			}
		}
	}
	return out
}

func dropDatum(d dice, root *node) *change {
	at, path := -1, ""
	c := changed(root, "", func(n *node) bool {
		list := data(n)
		if len(list) == 0 {
			return false
		}
		at = d.IntN(len(list))
		path = list[at].path
		return list[at].holder.drop(list[at].key)
	})
	if c != nil {
		c.note = fmt.Sprintf("  without %s", path)
	}
	return c
}

// nothingPasses holds that what failed or was undecided does not pass without a datum, unless the
// datum was itself the cause.
func nothingPasses(c *change, before, after *checked) []breach {
	if !after.loads() {
		return nil // a datum that must be there
	}
	var out []breach
	was, is := before.grouped(nil), after.grouped(nil)
	for _, k := range sortedKeys(was) {
		a, b := was[k], is[k]
		if badness(a[0].Verdict) < 2 || len(b) == 0 || badness(b[0].Verdict) != 1 ||
			causes(strings.TrimPrefix(c.note, "  without "), k.rule) {
			continue
		}
		out = append(out, breach{rule: k.rule, object: k.object,
			text: fmt.Sprintf("  %s became pass without %s\n  before:\n%s  after:\n%s", a[0].Verdict,
				strings.TrimPrefix(c.note, "  without "), lines(a), lines(b))})
	}
	return out
}

// cause says that a datum may itself be what a rule fails for: a stage that clips, a tolerance.
var cause = []struct{ path, rules, reason string }{
	{"sensors.placement", "*",
		"a sensor without tolerances stands exactly where it is drawn, which is listed as assumed"},
	{"bars.placement", "*", "a bar without tolerances stands exactly where it is drawn"},
	{"shields.placement", "*", "a shield without tolerances stands exactly where it is drawn"},
	{"readout.filter", "response trip phase-sum", "a filter is late"},
	{"readout.sampling", "response trip", "a sampled number is late"},
	{"readout.converter", "output-chain channel-accuracy", "a converter has ends and steps"},
	{"readout.number", "resolution output-chain channel-accuracy battery-view phase-sum",
		"a number has a width and steps"},
	{"readout.divider", "output-chain resolution", "a divider puts the zero elsewhere, and a step of the converter is more behind it"},
	{"insulation.", "clearance creepage", "a voltage, height or path that is not given is not asked for or stands at its usual value, which is listed as assumed"},
	{"calibration", "calibration channel-accuracy phase-sum battery-view output-chain",
		"a calibration has errors of its own"},
	{"parts.body", "geometry", "a part without a body is its element, whose distance geometry tells"},
	{"bars.temperature", "*", "conductivity at 20 °C, by which legs share too, is listed as assumed"},
	{"bars.length", "plane-validity clearance geometry", "a bar without length is long, which is listed as assumed"},
}

func causes(path, rule string) bool {
	for _, c := range cause {
		if strings.HasPrefix(path, c.path) && (c.rules == "*" || strings.Contains(" "+c.rules+" ", " "+rule+" ")) {
			return true
		}
	}
	return false
}
