// Package engine runs rules over a layout: it checks the list of rules, gives
// each its limits, and sorts and de-duplicates what they say.
package engine

import (
	"fmt"
	"math"
	"regexp"

	"busgauss/model/finding"
	"busgauss/model/layout"
)

// Limit is a number that a rule compares with. Reason says why the default is
// what it is and names its published source, or "common practice".
type Limit struct {
	Key     string // words with hyphens
	Unit    string // SI unit text; "1" for a pure number
	Default float64
	AtLeast bool // a floor instead of a ceiling
	Reason  string
	// Of says what the number is a share of, where its unit is "1".
	Of finding.Share
	// Need picks the need of a layout that may tighten this limit; nil when
	// none does. NeedKey is its key in the file.
	Need    func(*layout.Need) layout.Num
	NeedKey string
}

// Rule is one design rule: a constant value. Its documentation is the comment
// on the variable that holds it.
type Rule struct {
	ID     string // words with hyphens, never renamed
	Title  string // lower case, no full stop: what a finding reports
	Level  finding.Level
	Limits []Limit
	// Needs are what else of a layout's needs the rule answers, beside those of Limits.
	Needs []Need
	Check func(*Run)
	// OfFields says that the bounds of its numbers are those of fields, so that an undecided
	// verdict names what in the layout widens them.
	OfFields bool
	// Pair says that object and cause of its findings are two objects whose order says nothing.
	Pair bool
	// NotOfChannels says that its limits are those of bars, shields or the whole layout, which no class of channels can set.
	NotOfChannels bool
	// AsBuilt says that the rule compares the layout with what was built and read: a change of the drawing that would mend
	// another rule is not held against it, since what is built by it will be read anew.
	AsBuilt bool
	// FaultsOnly says that the rule names each fault and not each thing that is in order: a failure or an open verdict that is not
	// there any more was mended, and no check was lost.
	FaultsOnly bool
	// Edition is that of the set of rules in which the rule came in. Default: 1. A rule that learns to find
	// more keeps it: under a standard that pins an older set its findings would become notes, those that it
	// always gave among them.
	Edition int
}

// Edition returns the newest edition of a set of rules. It moves when a rule is
// added that may fail a layout which passed before, never when one is mended.
func Edition(list []Rule) int {
	newest := 1
	for _, r := range list {
		newest = max(newest, r.Edition)
	}
	return newest
}

var word = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

// Validate returns the first mistake in a list of rules: an ID that is not
// words with hyphens or stands twice, a missing title, level or check, a limit
// without unit or reason, or a share of nothing, with a default that is no finite number, or with a
// need that has no key (or a key that has no need).
func Validate(rules []Rule) error {
	seen := map[string]bool{}
	for _, r := range rules {
		switch {
		case !word.MatchString(r.ID):
			return fmt.Errorf("rule %q: identifier is not words with hyphens", r.ID)
		case seen[r.ID]:
			return fmt.Errorf("rule %q stands twice", r.ID)
		case r.Title == "":
			return fmt.Errorf("rule %q has no title", r.ID)
		case r.Level == finding.None:
			return fmt.Errorf("rule %q has no level", r.ID)
		case r.Check == nil:
			return fmt.Errorf("rule %q computes nothing", r.ID)
		}
		seen[r.ID] = true
		keys := map[string]bool{}
		for _, l := range r.Limits {
			switch {
			case !word.MatchString(l.Key) || keys[l.Key]:
				return fmt.Errorf("rule %q: limit key %q is not words with hyphens or stands twice", r.ID, l.Key)
			case l.Unit == "":
				return fmt.Errorf("rule %q: limit %q has no unit", r.ID, l.Key)
			case l.Unit == "1" && l.Of.String() == "":
				return fmt.Errorf("rule %q: limit %q does not say what it is a share of", r.ID, l.Key)
			case l.Reason == "":
				return fmt.Errorf("rule %q: limit %q has no reason", r.ID, l.Key)
			case math.IsNaN(l.Default) || math.IsInf(l.Default, 0):
				return fmt.Errorf("rule %q: default of limit %q is not a finite number", r.ID, l.Key)
			case (l.Need == nil) != (l.NeedKey == ""):
				return fmt.Errorf("rule %q: limit %q has a need without its key, or a key without its need", r.ID, l.Key)
			}
			keys[l.Key] = true
		}
	}
	return nil
}
