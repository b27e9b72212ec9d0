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
	{"pair by elements", "range-use", func(b *breach) bool { return b.apart > 0.4 && b.apart < 0.6 },
		"a pair is held against the range of one element, an array of two against both"},
	{"plain words", "response", func(b *breach) bool { return strings.Contains(b.text, "in amplitude") },
		"what a fast chain takes from a current of millihertz is told to its last digit"},
	{"rms for peak", "plausibility", sayRoot2, "how a duty is spelled is what the finding speaks of"},
	{"three currents", "plausibility", sayRoot2, "three-phase currents are named by their first circuit alone"},
	{"two halves", "plane-validity", func(b *breach) bool { return strings.Contains(b.text, "[0 ± +Inf of it") },
		"beside a circuit of several bars what the plane section is off by is told as 0, and the circuit's own number beside it is not"},
	{"two halves", "*", func(b *breach) bool { return strings.Contains(b.text, "lies across the field of") },
		"a blind pair that round-off leaves a reading of is judged by it"},
	{"two halves", "zeroing channel-accuracy battery-view phase-sum",
		func(b *breach) bool { return b.apart > 0 && b.apart < 1e-3 },
		"the allowance for surroundings counts each half by itself, and enters what foreign fields do to a zero"},
	{"plain words", "plane-validity", func(b *breach) bool { return true },
		"a pair that is blind to its own bar is compared with nothing, and not a number is printed"},
	{"*", "stray-ratio", func(b *breach) bool {
		return b.was == finding.Fail && strings.Contains(b.text, "of full scale")
	},
		"the stray of an idle channel is held against its full scale, which a ripple or a larger current in another duty makes larger"},
	{"*", "bar-heating", func(b *breach) bool { return b.apart > 0 && b.apart < 0.05 },
		"a neighbour at just twice the longer side of a bar counts as in front of it or not by round-off, and its radiation with it"},
	{"*", "bar-heating channel-accuracy zeroing battery-view phase-sum response trip",
		func(b *breach) bool { return b.apart > 0 && b.apart < 1e-4 && strings.Contains(b.text, "± 0 of it") },
		"a number that comes out of a mesh is given as exact: another mesh gives another in its fifth digit"},
	{"value", "linear-range", func(b *breach) bool { return b.apart < 2e-3 },
		"the bound of a field at several frequencies of one duty is too narrow: the finest field lies outside by less than its own width"},
}

func sayRoot2(b *breach) bool { return strings.Contains(b.text, "once as rms and once as peak") }

// isKnown returns the reason of a known breach.
func isKnown(b *breach) (string, bool) {
	for _, k := range known {
		if (k.law == "*" || k.law == b.law) && (k.rules == "*" || slices.Contains(strings.Fields(k.rules), b.rule)) &&
			k.when(b) {
			return k.reason, true
		}
	}
	return "", false
}
