package laws

import (
	"slices"
	"strings"

	"busgauss/model/finding"
)

// known are breaches of today that stand to be mended; each names the law, the rule and what
// must hold of it, as narrow as can be said. The list is meant to become empty.
var known = []struct {
	law, rules string // "*" for any
	when       func(b *breach) bool
	reason     string
}{
	{"idle bar far away", "*", func(b *breach) bool { return b.widened || b.is == finding.Undecided },
		"the allowance for surroundings grows with the width of the whole drawing, so that a bar which does nothing, two metres away, widens every bound"},
	{"idle bar far away", "channel-accuracy zeroing battery-view phase-sum", func(b *breach) bool { return b.apart > 0 && b.apart < 0.2 },
		"the same allowance enters the budget of a channel, and what foreign fields do to its zero"},
	{"*", "bar-heating channel-accuracy zeroing battery-view phase-sum response trip", func(b *breach) bool { return b.apart > 0 && b.apart < 1e-4 && strings.Contains(b.text, "± 0 of it") },
		"a number that comes out of a mesh is given as exact: another mesh gives another in its fifth digit"},
	{"ripple", "stray-ratio", func(b *breach) bool { return b.was == finding.Fail },
		"ripple adds to the own current that stray is a share of, and so dilutes the stray of the fundamental or of direct current"},
	{"one more need", "trip", func(b *breach) bool { return strings.Contains(b.text, "a need more: accuracy") },
		"a need for accuracy takes the place of the error of the chain, unknown or larger, and so loosens the trip"},
	{"value", "linear-range", func(b *breach) bool { return b.apart < 2e-3 },
		"the bound of a field at several frequencies of one duty is too narrow: the finest field lies outside by less than its own width"},
	{"*", "sensor-axis", alongAxis,
		"an axis along the field reads 1 of it less round-off: the bound then lies beside the value, which counts as not known"},
	{"*", "sensor-axis", acrossAxis,
		"an axis across the field reads nothing: fail or undecided by round-off, where the whole bound lies far below the limit"},
}

func alongAxis(b *breach) bool {
	return (b.is == finding.Undecided || b.was == finding.Undecided) && strings.Contains(b.text, "reads 100 % of the field")
}

func acrossAxis(b *breach) bool {
	return (b.is == finding.Undecided || b.was == finding.Undecided) && (strings.Contains(b.text, "reads 0 % of the field") || strings.Contains(b.text, "[0 ± +Inf"))
}

// isKnown returns the reason of a known breach.
func isKnown(b *breach) (string, bool) {
	for _, k := range known {
		if (k.law == "*" || k.law == b.law) && (k.rules == "*" || slices.Contains(strings.Fields(k.rules), b.rule)) && k.when(b) {
			return k.reason, true
		}
	}
	return "", false
}
