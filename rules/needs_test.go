package rules_test

import (
	"reflect"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules"
	"busgauss/rules/engine"
)

// every is one need of each kind, by the key under which rules name it.
var every = map[string]string{
	"accuracy": "accuracy: 1 %", "smallest-current": "smallest-current: 1 A", "range": "range: 500 A",
	"bandwidth": "bandwidth: 10 kHz",
	"trip":      "trip: {current: 300 A, within: 100 us}", "lag": "lag: {angle: 5 deg, at: 100 Hz}",
	"battery": "battery: {charge: 100 Ah}",
	"stray":   "stray: 2 %", "ambient": "ambient: 1 A", "placement": "placement: 1 %", "range-use": "range-use: 30 %",
}

const needed = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [60 mm, 0 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg, part: p, placement: {x: 0 mm, y: 0 mm, tilt: 0 deg, yaw: 0 deg}}
parts:
  p: {linear-range: 10 mT, sensitivity: 100 mV/mT}
duties:
  run: {kind: continuous, currents: {A: {dc: 100 A}, B: {dc: -100 A}}}
readout: {converter: {low: 0 V, high: 5 V, bits: 12}}
needs: {S: {NEED}}
`

// Whatever is left out of a layout, no need goes unanswered: a rule that answers for it fails,
// passes or is undecided. Where the datum that it hangs on is missing it does not pass, and
// says what to add.
func TestEveryNeedIsAnswered(t *testing.T) {
	without := map[string]func(string) string{
		"nothing": func(s string) string { return s },
		"part":    func(s string) string { return strings.Replace(s, ", part: p", "", 1) },
		"readout": func(s string) string { return lines(s, "readout:") },
		"placement": func(s string) string {
			return s[:strings.Index(s, ", placement:")] + s[strings.Index(s, "}}\nparts")+1:]
		},
		"duties":  func(s string) string { return lines(s, "duties:", "  run:") },
		"loads":   func(s string) string { return strings.Replace(s, "A: {dc: 100 A}, ", "", 1) },
		"amperes": func(s string) string { return strings.ReplaceAll(s, "100 A}", "0 A}") },
		"all but faults": func(s string) string {
			return strings.Replace(s, "kind: continuous", "kind: fault", 1)
		},
	}
	// What must not pass without what.
	hangs := map[string][]string{
		"part":           {"accuracy", "smallest-current", "range", "bandwidth", "trip", "lag", "battery", "range-use"},
		"readout":        {"accuracy", "smallest-current", "bandwidth", "trip", "lag", "battery"},
		"placement":      {"accuracy", "battery", "placement"},
		"duties":         {"accuracy", "battery", "stray", "placement", "range-use"},
		"loads":          {"stray", "placement", "range-use"},
		"amperes":        {"stray", "placement", "range-use"},
		"all but faults": {"accuracy", "battery", "stray", "placement", "range-use"},
	}
	for what, strip := range without {
		for key, need := range every {
			found := engine.Check(mustLoad(t, strip(strings.Replace(needed, "NEED", need, 1))), rules.All(),
				engine.Options{NoRemedies: true})
			answered, passes, says := false, true, false
			for _, f := range found {
				if f.Object != "S" || !answersFor(f.Rule, key) || f.Verdict == finding.NotApplicable {
					continue
				}
				answered = true
				passes = passes && f.Verdict == finding.Pass
				says = says || f.Verdict == finding.Fail || strings.Contains(strings.ToLower(f.Message), "add ") ||
					strings.Contains(f.Message, "Name a part")
			}
			if !answered {
				t.Errorf("without %s nothing answers need %q", what, key)
			}
			for _, k := range hangs[what] {
				if k == key && (passes || !says) {
					t.Errorf("without %s need %q: passes %v, says what to add %v\n%s", what, key, passes, says,
						printed(found))
				}
			}
		}
	}
}

// lines leaves out the lines that begin so.
func lines(yaml string, starts ...string) string {
	var out []string
	for _, line := range strings.Split(yaml, "\n") {
		keep := true
		for _, s := range starts {
			keep = keep && !strings.HasPrefix(line, s)
		}
		if keep {
			out = append(out, line)
		}
	}
	return strings.Join(out, "\n")
}

func answersFor(rule, key string) bool {
	for _, r := range rules.All() {
		if r.ID != rule {
			continue
		}
		for _, n := range r.Answers() {
			if n.Key == key {
				return true
			}
		}
	}
	return false
}

// Every number of a need is answered for by a rule, or belongs to one that is.
func TestNoNeedWithoutARule(t *testing.T) {
	belongs := map[string]string{
		"TripWithinS": "trip", "TripSwitchingS": "trip", "TripSupplyV": "trip", "TripInductanceH": "trip",
		"LagAtHz": "lag", "BatteryPerDay": "battery",
	}
	kind := reflect.TypeFor[layout.Need]()
	for i := range kind.NumField() {
		if kind.Field(i).Type != reflect.TypeFor[layout.Num]() {
			continue
		}
		var n layout.Need
		reflect.ValueOf(&n).Elem().Field(i).Set(reflect.ValueOf(layout.Num{V: 1, Set: true}))
		found := belongs[kind.Field(i).Name] != ""
		for _, r := range rules.All() {
			for _, a := range r.Answers() {
				found = found || a.Of(&n).Set
			}
		}
		if !found {
			t.Errorf("no rule answers for need %s", kind.Field(i).Name)
		}
	}
}
