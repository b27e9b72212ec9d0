package rules_test

import (
	"regexp"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/rules"
)

// zeroBar is a channel of 2.3 mV/A with 4.6 mV of offset, 2 A, and no drift.
func zeroBar(zeroing, rest string) string {
	return channelBar(2.3e-3, ", offset: {initial: 4.6 mV, drift: 0 V/K, life: 0 V}, hysteresis: 0 T, temperature: {from: 0 °C, to: 50 °C}",
		threeVolts+", zeroing: {"+zeroing+"}", amps("continuous", 300)+rest)
}

// A window of 5 A, 2 A of offset and the Earth's 65 uT over 27.68 uT/A: 9.35 A of 300 A.
func TestZeroingSwallows(t *testing.T) {
	earthA := 65e-6 / smallBarT(2.5)
	found := check(t, rules.Zeroing, zeroBar("window: 5 A", ""))
	f := of(t, found, "S", "")
	measured(t, f, finding.Pass, (5+2+earthA)/300, 5e-4)
	if !strings.Contains(f.Message, "swallows up to 3.12 % of 300 A, limit 5 %. It may take 9.35 A for none") {
		t.Error(f.Message)
	}
	measured(t, of(t, found, "S", "window"), finding.Pass, 2+earthA, 5e-4)
	measured(t, of(t, check(t, rules.Zeroing, zeroBar("window: 12 A", "")), "S", ""), finding.Fail, (12+2+earthA)/300, 5e-4)
}

// A window that does not hold offset, current and noise refuses a sound channel: 4.35 A +
// 0.5 A + 6 · 0.1 A = 5.45 A.
func TestZeroingRefuses(t *testing.T) {
	yaml := zeroBar("window: 5 A, current: 0.5 A, noise: 100 mA", "")
	f := of(t, check(t, rules.Zeroing, yaml), "S", "window")
	measured(t, f, finding.Fail, 2+65e-6/smallBarT(2.5)+0.5+0.6, 5e-4)
	m := regexp.MustCompile(`a window of ([\d.]+ A)`).FindStringSubmatch(f.Remedy)
	if m == nil {
		t.Fatal(f.Remedy)
	}
	for _, g := range check(t, rules.Zeroing, strings.Replace(yaml, "window: 5 A", "window: "+m[1], 1)) {
		if g.Verdict != finding.Pass {
			t.Errorf("%s gives %v %s", f.Remedy, g.Verdict, g.Message)
		}
	}
	// The narrower window of the other remedy passes both ways too.
	yaml = zeroBar("window: 12 A, current: 0.5 A, noise: 100 mA", "")
	f = of(t, check(t, rules.Zeroing, yaml), "S", "")
	m = regexp.MustCompile(`a window of ([\d.]+ A)`).FindStringSubmatch(f.Remedy)
	if f.Verdict != finding.Fail || m == nil {
		t.Fatal(f.Remedy)
	}
	for _, g := range check(t, rules.Zeroing, strings.Replace(yaml, "window: 12 A", "window: "+m[1], 1)) {
		if g.Verdict != finding.Pass {
			t.Errorf("%s gives %v %s", f.Remedy, g.Verdict, g.Message)
		}
	}
}

func TestZeroingNamesTheMissingKey(t *testing.T) {
	for _, c := range []struct{ from, key string }{
		{"initial: 4.6 mV, ", "add parts.plover.offset.initial"},
		{", drift: 0 V/K", "add parts.plover.offset.drift"},
		{", life: 0 V", "add parts.plover.offset.life"},
		{", hysteresis: 0 T", "add parts.plover.hysteresis"},
		{", temperature: {from: 0 °C, to: 50 °C}", "add parts.plover.temperature"},
	} {
		f := one(t, check(t, rules.Zeroing, strings.Replace(zeroBar("window: 5 A", ""), c.from, "", 1)), "S")
		if f.Verdict != finding.Undecided || !strings.Contains(f.Message, c.key) {
			t.Errorf("without %q: %v %s", c.from, f.Verdict, f.Message)
		}
		// 20 A of 300 A are too much whatever the offset is.
		f = one(t, check(t, rules.Zeroing, strings.Replace(zeroBar("window: 20 A", ""), c.from, "", 1)), "S")
		if f.Verdict != finding.Fail || !strings.Contains(f.Message, " at least ") {
			t.Errorf("without %q: %v %s", c.from, f.Verdict, f.Message)
		}
	}
	if f := one(t, check(t, rules.Zeroing, smallBar(2.5, "")), "S"); f.Verdict != finding.NotApplicable {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
}

// A heater at 25 mm that stays on while no own current flows: its 200 A shift the zero by
// their stray over the own field per ampere (closedform.RectangleB). The return of the own current and the
// other phases of its set carry nothing while it is none.
func TestZeroingCountsLiveNeighbours(t *testing.T) {
	lone := zeroBar("window: 5 A", "")
	beside := func(duty string) string {
		y := strings.Replace(lone, "metal: copper}}",
			"metal: copper}, H: {section: {width: 15 mm, thickness: 4 mm}, at: [25 mm, 0 mm], metal: copper}}", 1)
		i := strings.Index(y, "duties:")
		return y[:i] + "duties: {d: {kind: continuous, " + duty + "}}\n"
	}
	at := geom.Point{X: -25e-3, Y: 4.5e-3}
	perA := -closedform.RectangleB(at, 15e-3, 4e-3, 1).X / smallBarT(2.5)
	base := 5 + 2 + 65e-6/smallBarT(2.5)
	f := of(t, check(t, rules.Zeroing, beside("currents: {A: {dc: 300 A}, H: {dc: 200 A}}")), "S", "")
	measured(t, f, finding.Fail, (base+200*perA)/300, 5e-4)
	if !strings.Contains(f.Message, `most from bar "H"`) {
		t.Error(f.Message)
	}
	f = of(t, check(t, rules.Zeroing, beside("currents: {A: {dc: 300 A}, H: {dc: -300 A}}")), "S", "")
	measured(t, f, finding.Pass, base/300, 5e-4)
	// What alternates may be evened out by the mean that is taken: nobody says so, until its
	// noise is declared.
	alternating := beside("frequency: 1 Hz, currents: {A: {dc: 300 A}, H: {peak: 200 A}}")
	f = of(t, check(t, rules.Zeroing, alternating), "S", "")
	if f.Verdict != finding.Undecided || !strings.Contains(f.Message, "say zeroing.noise") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	f = of(t, check(t, rules.Zeroing, strings.Replace(alternating, "window: 5 A", "window: 5 A, noise: 10 mA", 1)), "S",
		"")
	measured(t, f, finding.Pass, base/300, 5e-4)
}
