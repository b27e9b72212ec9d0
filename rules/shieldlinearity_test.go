package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/probe"
	"busgauss/rules"
)

// The output per ampere on the published curve against independent computations
// (computed-references.yaml, nonlinear_team13_steel), and the change against a
// small signal: at the origin the steel has a relative permeability of 124
// (0.0025 T at 16 A/m), so the output lies a little above the 46.187 uT/A of 100
// and below the 48.861 uT/A that 10 A read.
func TestLinearityOnThePublishedCurve(t *testing.T) {
	for _, c := range []struct{ amps, outputUT float64 }{{1000, 55.875}, {2000, 52.462}, {4000, 42.094}} {
		l := mustLoad(t, uShield(team13Curve(), fmt.Sprintf("kind: peak, currents: {A: {dc: %g A}}", c.amps)))
		r, err := probe.NewModel(l).Precise().Linearity(&l.Sensors[0], &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		at, err := probe.NewModel(l).Precise().For(&l.Duties[0]).AloneReading(&l.Sensors[0], c.amps)
		if err != nil {
			t.Fatal(err)
		}
		if uT := 1e6 * at.Axis.Abs().Value / c.amps; !(math.Abs(uT/c.outputUT-1) < 0.002) {
			t.Errorf("%g A: %.5g uT/A, want %g", c.amps, uT, c.outputUT)
		}
		if u := r.SmallTPA * 1e6; !(u > 46.187 && u < 48.861) {
			t.Errorf("small signals: %.5g uT/A", u)
		}
		// On the way up the permeability passes its largest, where the change is as large as at 1 kA.
		want := math.Abs(math.Max(c.outputUT, 55.875)/(r.SmallTPA*1e6) - 1)
		if !(math.Abs(r.Change.Value-want) < 0.003 && r.Change.Low <= want+0.002 && r.Change.High >= want-0.002) {
			t.Errorf("%g A: change %+v, want %.4g", c.amps, r.Change, want)
		}
	}
}

// An alternating duty counts with its peak: 2 kA peak and 2 kA of direct current
// are the same; and a fault is not measured.
func TestLinearityTakesThePeakOfMeasuredDuties(t *testing.T) {
	iron := "relative-permeability: 1000, saturation: 2 T"
	dc := one(t, check(t, rules.ShieldLinearity, uShield(iron, "kind: peak, currents: {A: {dc: 2 kA}}")), "S")
	ac := one(t, check(t, rules.ShieldLinearity, uShield(iron, "kind: peak, frequency: 50 Hz, currents: {A: {rms: 1414.21356 A}}")), "S")
	if dc.Verdict != finding.Fail || ac.Verdict != finding.Fail {
		t.Errorf("%v and %v: %s", dc.Verdict, ac.Verdict, ac.Message)
	}
	measured(t, ac, finding.Fail, dc.Measure.Value, 1e-3)
	fault := one(t, check(t, rules.ShieldLinearity, uShield(iron, "kind: fault, currents: {A: {dc: 2 kA}}")), "S")
	if fault.Verdict != finding.NotApplicable {
		t.Errorf("%v: %s", fault.Verdict, fault.Message)
	}
}

// The wall that is printed must pass as printed.
func TestLinearityRemedyDoneAsSaidPasses(t *testing.T) {
	yaml := uShield("relative-permeability: 1000, saturation: 2 T", "kind: peak, currents: {A: {dc: 2 kA}}")
	f := one(t, check(t, rules.ShieldLinearity, yaml), "S")
	m := newWall.FindStringSubmatch(f.Remedy)
	if m == nil {
		t.Fatalf("%v, remedy %q", f.Verdict, f.Remedy)
	}
	again := one(t, check(t, rules.ShieldLinearity, strings.Replace(yaml, "wall: 1.5 mm", "wall: "+m[1]+" mm", 1)), "S")
	if again.Verdict != finding.Pass {
		t.Errorf("%s gives %v: %s", f.Remedy, again.Verdict, again.Message)
	}
}

// A shield that ends carries more flux than its plane section and bends more: the
// change at the plane's flux is no pass.
func TestLinearityOfAShieldThatEnds(t *testing.T) {
	yaml := uShield("relative-permeability: 1000, saturation: 2 T", "kind: peak, currents: {A: {dc: 1.4 kA}}")
	if f := one(t, check(t, rules.ShieldLinearity, yaml), "S"); f.Verdict != finding.Pass {
		t.Errorf("%v: %s", f.Verdict, f.Message)
	}
	short := strings.Replace(yaml, "depth: long", "depth: 25 mm", 1)
	if f := one(t, check(t, rules.ShieldLinearity, short), "S"); f.Verdict != finding.Fail {
		t.Errorf("in space: %v: %s", f.Verdict, f.Message)
	}
	if !*long {
		return // TestSaturationOfAShieldThatEnds has it beside a long one too
	}
	if f := one(t, check(t, rules.ShieldLinearity, besideLong(short)), "S"); f.Verdict != finding.Fail {
		t.Errorf("beside a long plate: %v: %s", f.Verdict, f.Message)
	}
}
