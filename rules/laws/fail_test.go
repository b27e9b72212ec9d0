package laws

import (
	"math"
	"slices"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

// A law that cannot fail holds nothing. TestEveryLawCanFail spoils what each law compares and
// asks that it notices: values a hundredth off, a verdict turned round.
func TestEveryLawCanFail(t *testing.T) {
	asked(t)
	laws := all()
	noticed := map[string]bool{}
	// First those that cost little, then those that alternate, for the laws of phases, then those
	// with shields, for the law of plates, which one layout in four hundred has alone.
	kinds := []string{"steady", "alternating", "shielded"}
	drawn := []uint64{400, 400, 2000}
	for k := range drawn[0] + drawn[1] + drawn[2] {
		kind, at := 0, k
		for at >= drawn[kind] {
			at -= drawn[kind]
			kind++
		}
		root := generate(11, at)
		if kindOf(root) != kinds[kind] {
			continue
		}
		var b *bed
		for i := range laws {
			l := &laws[i]
			if noticed[l.name] {
				continue
			}
			c := l.change(lawDice(11, k, i), root)
			if c == nil {
				continue
			}
			if b == nil {
				b = lay(root)
			}
			if spoiled(l, c, b) {
				noticed[l.name] = true
			}
		}
		if len(noticed) == len(laws) {
			return
		}
	}
	for _, l := range laws {
		if !noticed[l.name] {
			t.Errorf("law %q noticed nothing that was spoiled", l.name)
		}
	}
}

// asked skips what takes half a minute, unless more layouts than usual are asked for.
func asked(t *testing.T) {
	if *layouts < many {
		t.Skip("runs with -layouts 50 or more")
	}
}

// spoiled says whether a law notices what is done to a check after its change: numbers move by a
// hundredth where they must stay, failures become passes where nothing may get better.
func spoiled(l *law, c *change, b *bed) bool {
	before := b.base
	if c.before != nil {
		before = check(yaml(c.before, nil), engine.Options{})
	}
	after := check(yaml(c.after, c.spell), engine.Options{})
	if !before.loads() || !after.loads() {
		return false
	}
	honest := len(l.compare(c, &before, &after))
	after.found = slices.Clone(after.found)
	for i := range after.found {
		f := &after.found[i]
		if f.Measure != nil {
			m := *f.Measure
			m.Value *= 1.01
			f.Measure = &m
		}
		if badness(f.Verdict) >= 2 {
			f.Verdict = finding.Pass
		}
	}
	return len(l.compare(c, &before, &after)) > honest
}

// Each oracle notices a number that is a twentieth off, a limit or a verdict that is another.
func TestEveryOracleCanFail(t *testing.T) {
	asked(t)
	noticed := map[string]bool{}
	for k := range uint64(1500) {
		root := generate(12, k)
		if kindOf(root) != "steady" {
			continue
		}
		b := lay(root)
		b.base.found = slices.Clone(b.base.found)
		before := map[string]int{}
		for _, x := range b.secondValues(map[string]int{}) {
			before[x.rule]++
		}
		for i := range b.base.found {
			f := &b.base.found[i]
			if f.Measure != nil {
				m := *f.Measure
				m.Value *= 1.05
				m.Limit *= 1.05
				m.Certainty = math.Min(m.Certainty, 0.02)
				f.Measure = &m
				continue
			}
			if f.Verdict == finding.Pass {
				f.Verdict = finding.Fail
			}
		}
		for _, x := range b.secondValues(map[string]int{}) {
			if before[x.rule]--; before[x.rule] < 0 {
				noticed[x.rule] = true
			}
		}
		if len(noticed) == len(oracles) {
			return
		}
	}
	for _, o := range oracles {
		if !noticed[o.rule] {
			t.Errorf("the oracle of %q noticed nothing that was spoiled", o.rule)
		}
	}
}

// A limit that stands on the wrong side of a value must be noticed.
func TestLimitLawCanFail(t *testing.T) {
	for k := range uint64(40) {
		root := generate(13, k)
		if kindOf(root) != "steady" {
			continue
		}
		b := lay(root)
		for i := range b.base.found {
			if f := &b.base.found[i]; f.Measure != nil {
				m := *f.Measure
				m.Value *= 1.1
				f.Measure = &m
			}
		}
		if len(b.limits(lawDice(13, k, limitDice))) > 0 {
			return
		}
	}
	t.Error("values a tenth off were not noticed")
}
