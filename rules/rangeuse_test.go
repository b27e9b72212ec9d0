package rules_test

import (
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

func TestRangeUse(t *testing.T) {
	f := one(t, check(t, rules.RangeUse, smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 100 A}}}}\n")), "S")
	measured(t, f, finding.Pass, 2.768e-3/8e-3, 2e-4) // 2.768 mT: common practice, recomputed
	// A peak duty does not count: the rule asks for the continuous one.
	f = one(t, check(t, rules.RangeUse, smallBar(2.5, `duties:
  d: {kind: continuous, currents: {A: {dc: 50 A}}}
  p: {kind: peak, currents: {A: {dc: 250 A}}}
`)), "S")
	measured(t, f, finding.Fail, 50*smallBarT(2.5)/8e-3, 1e-4)
	// The nearer end of the range counts.
	yaml := strings.Replace(smallBar(2.5, "duties: {d: {kind: continuous, currents: {A: {dc: 50 A}}}}\n"), "linear-range: 8 mT", "linear-range: {low: -4 mT, high: 8 mT}", 1)
	measured(t, one(t, check(t, rules.RangeUse, yaml), "S"), finding.Pass, 50*smallBarT(2.5)/4e-3, 1e-4)
}

func TestRangeUseNeedsCurrent(t *testing.T) {
	f := one(t, check(t, rules.RangeUse, smallBar(2.5, "duties: {d: {kind: fault, currents: {A: {dc: 100 A}}}}\n")), "S")
	if f.Verdict != finding.NotApplicable {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

// A fault that fills the range leaves no smaller part and no closer place: the
// rule must not advise what linear-range would then refuse.
func TestRangeUseAdvisesNothingThatClips(t *testing.T) {
	f := one(t, check(t, rules.RangeUse, smallBar(2.5, `duties:
  d: {kind: continuous, currents: {A: {dc: 55 A}}}
  f: {kind: fault, currents: {A: {dc: 285 A}}}
`)), "S")
	if f.Verdict != finding.Fail || f.Remedy != "no single change of place, pitch or axis passes" {
		t.Errorf("%v, remedy %q", f.Verdict, f.Remedy)
	}
}

// Above a laminated pair three quarters of the own field are hidden by the other
// bar (fixtures/failing/laminated-pair.yaml); a part must hold the own field alone.
func TestRangeUseCountsTheHiddenField(t *testing.T) {
	f := one(t, check(t, rules.RangeUse, `layout: 1
bars:
  plus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 2 mm], metal: copper}
  minus: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, -2 mm], metal: copper}
sensors: {S: {reads: plus, at: [0 mm, 7.5 mm], axis: 180 deg, part: linnet}}
parts: {linnet: {linear-range: 25 mT}}
duties: {d: {kind: continuous, currents: {plus: {dc: 230 A}, minus: {dc: -230 A}}}}
`), "S")
	measured(t, f, finding.Fail, 230*flatPerA/25e-3, 3e-4)
	if !strings.HasSuffix(f.Remedy, "; or a part linear to 5.00 mT") { // the next step above 4.92 mT
		t.Errorf("remedy %q", f.Remedy)
	}
}
