package rules_test

import (
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Charge is conserved: the phasors of each frequency add up to zero or come back far away.
func TestReturnPath(t *testing.T) {
	for _, c := range []struct {
		name, duty, rest string
		want             finding.Verdict
	}{
		{"go and return", "{kind: continuous, currents: {U: {dc: 100 A}, V: {dc: -100 A}}}", "", finding.Pass},
		{"one way", "{kind: continuous, currents: {U: {dc: 100 A}}}", "", finding.Fail},
		{"one way, far return", "{kind: continuous, currents: {U: {dc: 100 A}}}", "surroundings: {return: far}\n", finding.Pass},
		{"balanced three phases", "{kind: continuous, frequency: 50 Hz, three-phase: {bars: [U, V, W], rms: 100 A}}", "", finding.Pass},
		{"opposite phase", "{kind: continuous, frequency: 50 Hz, currents: {U: {peak: 100 A}, V: {peak: 100 A, phase: 180 deg}}}", "", finding.Pass},
		{"quarter period", "{kind: continuous, frequency: 50 Hz, currents: {U: {peak: 100 A}, V: {peak: 100 A, phase: 90 deg}}}", "", finding.Fail},
		{"fifth harmonic", "{kind: continuous, frequency: 50 Hz, three-phase: {bars: [U, V, W], rms: 100 A}, harmonics: [{order: 5, share: 20 %}]}", "", finding.Pass},
		// Multiples of three are in phase in all three bars (zero sequence).
		{"third harmonic", "{kind: continuous, frequency: 50 Hz, three-phase: {bars: [U, V, W], rms: 100 A}, harmonics: [{order: 3, share: 20 %}]}", "", finding.Fail},
		{"no current", "{kind: continuous}", "", finding.Pass},
	} {
		f := one(t, check(t, rules.ReturnPath, flatBars(40, "duties: {d: "+c.duty+"}\n"+c.rest)), "d")
		if f.Verdict != c.want {
			t.Errorf("%s: %v, want %v: %s", c.name, f.Verdict, c.want, f.Message)
		}
	}
}
