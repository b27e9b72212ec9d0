package laws

import "busgauss/model/finding"

// known are breaches of today that stand to be mended; each names the law, the rule and what
// must hold of it, as narrow as can be said. The list is meant to become empty.
var known = []struct {
	law, rule string
	when      func(b *breach) bool
	reason    string
}{
	{"idle bar far away", "*", func(b *breach) bool { return b.widened || b.is == finding.Undecided },
		"the allowance for surroundings grows with the width of the whole drawing, so that a bar which does nothing, two metres away, widens every bound"},
}

// isKnown returns the reason of a known breach.
func isKnown(b *breach) (string, bool) {
	for _, k := range known {
		if (k.law == "*" || k.law == b.law) && (k.rule == "*" || k.rule == b.rule) && (k.when == nil || k.when(b)) {
			return k.reason, true
		}
	}
	return "", false
}
