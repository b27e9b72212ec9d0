package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

const degree = math.Pi / 180

// quickBar is channelBar with a bar of hardly any conductivity, so that the field
// comes in phase, and a sampler that costs no time.
func quickBar(part, readout, rest string) string {
	return strings.Replace(channelBar(10e-3, part, threeVolts+", sampling: {rate: 100 MHz, delay: 0 s, hold: false}"+readout, rest), "metal: copper", "metal: dull", 1) +
		"materials: {dull: {conductivity: 1 S/m}}\n"
}

const quickPart = ", bandwidth: 1 GHz, delay: 0 s"

func lagNeed(deg float64, at string) string {
	return fmt.Sprintf("needs: {S: {lag: {angle: %g deg, at: %s}}}\n", deg, at)
}

// Order one: lag = atan(f/f_c). 15.9 Hz at 400 Hz: 87.7°; 5 kHz at 1 kHz: 11.3°; a part of 80
// kHz at 1 kHz: 0.72° (textbook; the arctangents are computed here).
func TestResponseLag(t *testing.T) {
	for _, c := range []struct {
		part, readout, at string
		deg, x            float64
	}{
		{quickPart, ", filter: {corner: 15.9 Hz}", "400 Hz", 87.7, 400 / 15.9},
		{quickPart, ", filter: {corner: 5 kHz}", "1 kHz", 11.3, 0.2},
		{", bandwidth: 80 kHz, delay: 0 s", "", "1 kHz", 0.72, 1.0 / 80},
	} {
		want := math.Atan(c.x)
		if math.Abs(want/degree-c.deg) > 0.05 {
			t.Fatalf("atan %g is %g deg", c.x, want/degree)
		}
		f := of(t, check(t, rules.Response, quickBar(c.part, c.readout, lagNeed(c.deg*1.01, c.at))), "S", "lag")
		measured(t, f, finding.Pass, want, 1e-3)
		f = of(t, check(t, rules.Response, quickBar(c.part, c.readout, lagNeed(c.deg*0.99, c.at))), "S", "lag")
		measured(t, f, finding.Fail, want, 1e-3)
	}
}

// All causes add: bar (gain-with-frequency), part, delay, filter, hold of a 20 kHz
// sampler (half a period; Franklin, Powell and Workman, Digital Control of Dynamic Systems,
// section 4.3, from memory) and time to the number.
func TestResponseAddsEveryCause(t *testing.T) {
	yaml := channelBar(10e-3, ", bandwidth: 80 kHz, delay: 2 us", threeVolts+", filter: {corner: 10 kHz}, sampling: {rate: 20 kHz, delay: 10 us, hold: true}",
		"duties: {run: {kind: continuous, frequency: 400 Hz, currents: {A: {peak: 20 A}}}}\n")
	electric := math.Atan(400/80e3) + math.Atan(400/10e3) + 2*math.Pi*400*(2e-6+10e-6) + math.Pi*400/20e3
	bar := one(t, check(t, rules.GainWithFrequency, yaml), "S")
	f := of(t, check(t, rules.Response, yaml), "S", "run")
	if bar.Measure.Unit != "rad" || f.Measure.Unit != "rad" {
		t.Fatal(f.Message, bar.Message)
	}
	measured(t, f, finding.Fail, bar.Measure.Value+electric, 1e-9)
	for _, word := range []string{"field", "part", "delay", "filter", "hold", "sampling"} {
		if !strings.Contains(f.Message, word+" ") {
			t.Errorf("%q is not in %s", word, f.Message)
		}
	}
}

// A filter of 10 ms (15.9 Hz) on a fundamental of 400 Hz is seen without any need.
func TestResponseSeesASlowFilter(t *testing.T) {
	duty := "duties: {run: {kind: continuous, frequency: 400 Hz, currents: {A: {peak: 20 A}}}}\n"
	f := of(t, check(t, rules.Response, quickBar(quickPart, ", filter: {corner: 15.9 Hz}", duty)), "S", "run")
	if f.Verdict != finding.Fail || !strings.Contains(f.Message, "is 96.0 % low") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	// Of a first order low-pass |1 - 1/(1 + jx)| = x/sqrt(1 + x^2): at x = 400/15.9 20.0 A of 20 A, at x = 0.4 7.43 A.
	if !strings.Contains(f.Message, "off by up to 20.0 A of 20.0 A at an instant") {
		t.Error(f.Message)
	}
	f = of(t, check(t, rules.Response, quickBar(quickPart, ", filter: {corner: 1 kHz}", duty)), "S", "run")
	if !strings.Contains(f.Message, "off by up to 7.43 A of 20.0 A at an instant") {
		t.Error(f.Message)
	}
	// Known causes that are too much already fail, the unknown ones left out.
	f = of(t, check(t, rules.Response, quickBar("", ", filter: {corner: 15.9 Hz}", duty)), "S", "run")
	if f.Verdict != finding.Fail || !strings.Contains(f.Message, "The unknown rest is left out") {
		t.Errorf("%v %s", f.Verdict, f.Message)
	}
	// A need for lag stands beside the limit and loosens nothing: atan(400/1500) is 14.9 degrees.
	yaml := quickBar(quickPart, ", filter: {corner: 1.5 kHz}", duty+lagNeed(20, "400 Hz"))
	passes, fails := 0, 0
	for _, f := range check(t, rules.Response, yaml) {
		if f.Verdict == finding.Pass {
			passes++
		} else if strings.Contains(f.Message, "limit 10 deg") {
			fails++
		}
	}
	if passes != 1 || fails != 1 {
		t.Errorf("%d pass and %d fail, want the need to pass and the limit to fail", passes, fails)
	}
}

func TestResponseBandwidth(t *testing.T) {
	need := func(hz string) string { return "needs: {S: {bandwidth: " + hz + "}}\n" }
	yaml := quickBar(quickPart, ", filter: {corner: 20 kHz, tolerance: 10 %}", need("15 kHz"))
	measured(t, of(t, check(t, rules.Response, yaml), "S", "bandwidth"), finding.Pass, 18e3, 1e-6) // lower end of the corner
	yaml = quickBar(quickPart, ", filter: {corner: 20 kHz, tolerance: 10 %}", need("19 kHz"))
	f := of(t, check(t, rules.Response, yaml), "S", "bandwidth")
	measured(t, f, finding.Fail, 18e3, 1e-6)
	m := newCorner.FindStringSubmatch(f.Remedy)
	if m == nil {
		t.Fatal(f.Remedy)
	}
	if g := of(t, check(t, rules.Response, strings.Replace(yaml, "corner: 20 kHz", "corner: "+m[1], 1)), "S", "bandwidth"); g.Verdict != finding.Pass {
		t.Errorf("%s gives %v %s", f.Remedy, g.Verdict, g.Message)
	}
	// Half the sampling rate is the end of it (Shannon).
	yaml = strings.Replace(quickBar(quickPart, "", need("15 kHz")), "100 MHz", "20 kHz", 1)
	f = of(t, check(t, rules.Response, yaml), "S", "bandwidth")
	measured(t, f, finding.Fail, 10e3, 1e-9)
	if f.Remedy != "a sampling rate of 30.0 kHz instead of 20.0 kHz" {
		t.Error(f.Remedy)
	}
}

// The corner that the remedy names, as printed, passes, and five per cent less does not.
func TestResponseRemedyPasses(t *testing.T) {
	for _, order := range []string{"order: 1", "order: 2, tolerance: 5 %", "order: 3, shape: equal-poles"} {
		yaml := quickBar(", bandwidth: 80 kHz, delay: 2 us", ", filter: {corner: 5 kHz, "+order+"}", lagNeed(5, "1 kHz"))
		f := of(t, check(t, rules.Response, yaml), "S", "lag")
		m := newCorner.FindStringSubmatch(f.Remedy)
		if f.Verdict != finding.Fail || m == nil {
			t.Fatalf("%v %s", f.Verdict, f.Remedy)
		}
		var hz float64
		var unit string
		fmt.Sscan(m[1], &hz, &unit)
		for share, want := range map[float64]finding.Verdict{1: finding.Pass, 0.95: finding.Fail} {
			edited := strings.Replace(yaml, "corner: 5 kHz", fmt.Sprintf("corner: %g %s", hz*share, unit), 1)
			if g := of(t, check(t, rules.Response, edited), "S", "lag"); g.Verdict != want {
				t.Errorf("%s, %g of %s: %v %s", order, share, m[1], g.Verdict, g.Message)
			}
		}
	}
}

func TestResponseNamesTheMissingKey(t *testing.T) {
	full := quickBar(quickPart, "", lagNeed(5, "1 kHz"))
	for _, c := range []struct{ from, key string }{
		{", bandwidth: 1 GHz", "add parts.plover.bandwidth"},
		{", delay: 0 s}", "add parts.plover.delay"},
		{"rate: 100 MHz, ", "add readout.sampling.rate"},
		{"delay: 0 s, hold", "add readout.sampling.delay"},
	} {
		to := map[bool]string{true: "}"}[strings.HasSuffix(c.from, "}")]
		if strings.HasSuffix(c.from, "hold") {
			to = "hold"
		}
		f := of(t, check(t, rules.Response, strings.Replace(full, c.from, to, 1)), "S", "lag")
		if f.Verdict != finding.Undecided || !strings.Contains(f.Message, c.key) {
			t.Errorf("without %q: %v %s", c.from, f.Verdict, f.Message)
		}
	}
	// Nobody asks; and nothing answers.
	if f := one(t, check(t, rules.Response, channelBar(10e-3, "", threeVolts, amps("peak", 10))),
		"S"); f.Verdict != finding.NotApplicable {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	if f := one(t, check(t, rules.Response, smallBar(2.5, lagNeed(5, "1 kHz"))), "S"); f.Verdict != finding.Undecided ||
		!strings.HasSuffix(f.Message, "Add readout") {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
}

// A ripple of 5 A at 20 kHz under 100 A. Sampled at 16 kHz it appears at 4 kHz (A. V.
// Oppenheim and R. W. Schafer, Discrete-Time Signal Processing, section 4.2), 5 A large. In step
// with a carrier of 20 kHz, 1 us late: 4 · 5 A · 20 kHz · 1 us = 0.4 A (slope of a triangle).
func TestResponseAlias(t *testing.T) {
	rippled := "duties: {run: {kind: continuous, currents: {A: {dc: 100 A}}, ripple: {frequency: 20 kHz, peak: 5 A}}}\n"
	alias := func(sampling string) finding.Finding {
		t.Helper()
		yaml := strings.Replace(quickBar(quickPart, "", rippled), "rate: 100 MHz, delay: 0 s, hold: false", sampling, 1)
		return of(t, check(t, rules.Response, yaml), "S", "alias")
	}
	f := alias("rate: 16 kHz, delay: 0 s, hold: false")
	measured(t, f, finding.Fail, 5.0/105, 1e-4)
	if !strings.Contains(f.Message, "as 4.76 % of 105 A, limit 1 %, in") {
		t.Error(f.Message)
	}
	if f := alias("rate: 20 kHz, delay: 0 s, hold: false"); !strings.Contains(f.Message, "of direct current, whatever the moment makes it") {
		t.Error(f.Message)
	}
	// A sine is steeper: 5 A·sin(2π·20 kHz·1 us) = 0.627 A.
	measured(t, alias("rate: 20 kHz, delay: 0 s, hold: false, carrier: 20 kHz, shift: 1 us"), finding.Pass, 0.62667/105,
		1e-3)
	// A triangle by its peak, or by its rms, which is peak/√3 (mean square of a straight line).
	for _, size := range []string{"peak: 5 A", "rms: 2.8867513 A"} {
		rippled = "duties: {run: {kind: continuous, currents: {A: {dc: 100 A}}, ripple: {frequency: 20 kHz, " + size +
			", shape: triangle}}}\n"
		measured(t, alias("rate: 20 kHz, delay: 0 s, hold: false, carrier: 20 kHz, shift: 1 us"), finding.Pass, 0.4/105,
			1e-3)
		f = alias("rate: 20 kHz, delay: 0 s, hold: false, carrier: 20 kHz, shift: 5 us")
		measured(t, f, finding.Fail, 2.0/105, 1e-3)
		// Not in step, all orders may peak at one instant.
		f = alias("rate: 16 kHz, delay: 0 s, hold: false")
		measured(t, f, finding.Fail, 5.0/105, 1e-3)
		if !strings.Contains(f.Message, "It is 5.00 A peak at 20.0 kHz. Sampling at 16.0 kHz shows it as 5.00 A at 4.00 kHz") {
			t.Error(f.Message)
		}
	}
	// The first order below half the rate, the others above: 5 A·(1 − 8/π²).
	rippled = strings.Replace(rippled, "frequency: 20 kHz", "frequency: 5 kHz", 1)
	measured(t, alias("rate: 16 kHz, delay: 0 s, hold: false"), finding.Pass, 5*(1-8/(math.Pi*math.Pi))/105, 1e-3)
	rippled = strings.Replace(rippled, "frequency: 5 kHz", "frequency: 20 kHz", 1)
	// Above twice the ripple there is nothing to show.
	yaml := quickBar(quickPart, "", rippled)
	for _, f := range check(t, rules.Response, yaml) {
		if f.Cause == "alias" || f.Verdict != finding.Pass {
			t.Errorf("%v %s", f.Verdict, f.Message)
		}
	}
}

// Sampling as late as part and filter are, as the remedy says, passes; so does its filter.
func TestResponseAliasRemediesPass(t *testing.T) {
	rippled := "duties: {run: {kind: continuous, currents: {A: {dc: 100 A}}, ripple: {frequency: 20 kHz, peak: 8 A}}}\n"
	yaml := strings.Replace(quickBar(", bandwidth: 80 kHz, delay: 2 us", ", filter: {corner: 60 kHz}", rippled),
		"rate: 100 MHz, delay: 0 s, hold: false", "rate: 20 kHz, delay: 0 s, hold: false, carrier: 20 kHz, shift: 0 s", 1)
	f := of(t, check(t, rules.Response, yaml), "S", "alias")
	if f.Verdict != finding.Fail {
		t.Fatal(f.Message)
	}
	var us float64
	if _, err := fmt.Sscanf(f.Remedy, "sample %g µs", &us); err != nil {
		t.Fatalf("%q: %v", f.Remedy, err)
	}
	edited := strings.Replace(yaml, "shift: 0 s", fmt.Sprintf("shift: %g us", us), 1)
	if g := of(t, check(t, rules.Response, edited), "S", "alias"); g.Verdict != finding.Pass {
		t.Errorf("%s gives %v %s", f.Remedy, g.Verdict, g.Message)
	}
	yaml = strings.Replace(yaml, ", carrier: 20 kHz, shift: 0 s", "", 1)
	f = of(t, check(t, rules.Response, yaml), "S", "alias")
	m := newCorner.FindStringSubmatch(f.Remedy)
	if m == nil {
		t.Fatal(f.Remedy)
	}
	if g := of(t, check(t, rules.Response, strings.Replace(yaml, "corner: 60 kHz", "corner: "+m[1], 1)), "S", "alias"); g.Verdict != finding.Pass {
		t.Errorf("%s gives %v %s", f.Remedy, g.Verdict, g.Message)
	}
}

// A fundamental of 1.5 kHz, sampled at 2 kHz, shows as 0.5 kHz; at 3 kHz, twice it, it shows at any size (C. E.
// Shannon, Proc. IRE 37 (1949) 10, theorem 1). So does one of a second set.
func TestResponseFundamentalAboveHalfTheRate(t *testing.T) {
	for _, duty := range []string{"frequency: 1.5 kHz, currents: {A: {peak: 100 A}}",
		"currents: {A: {dc: 50 A}}, with: [{frequency: 1.5 kHz, currents: {A: {peak: 100 A}}}]"} {
		for rate, fails := range map[string]bool{"2 kHz": true, "3 kHz": true, "100 MHz": false} {
			yaml := strings.Replace(quickBar(quickPart, "", "duties: {run: {kind: continuous, "+duty+"}}\n"),
				"rate: 100 MHz", "rate: "+rate, 1)
			failed := false
			for _, f := range check(t, rules.Response, yaml) {
				if f.Cause == "run, sampling" && f.Verdict == finding.Fail {
					failed = true
					if rate == "2 kHz" && !strings.Contains(f.Message, "as a current of 500 Hz") {
						t.Error(f.Message)
					}
				}
			}
			if failed != fails {
				t.Errorf("%s at %s: failed %v", duty, rate, failed)
			}
		}
	}
}
