package quantity_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules"
	"busgauss/rules/enforce"
	"busgauss/rules/engine"
)

// A quantity and the rule that judges the same thing give one number. Where a rule
// judges the worst of several cases, message says which one the quantity is for.
func TestQuantitiesAgreeWithRules(t *testing.T) {
	for _, c := range []struct {
		layout, what string
		rule         engine.Rule
		message      string
	}{
		{"clean/ferry-thruster.yaml", "channel SV linear_range_share", rules.LinearRange, ""},
		{"clean/ferry-channel.yaml", "channel SP linear_range_share", rules.LinearRange, "at the claimed"},
		{"clean/ferry-thruster.yaml", "channel SU linear_range_share_fault", rules.LinearRange, "fault duty"},
		{"clean/ferry-thruster.yaml", "channel SV range_use", rules.RangeUse, ""},
		{"clean/ferry-channel.yaml", "channel SU stray_ratio_continuous", rules.StrayRatio, `in "crossing"`},
		{"failing/cable-car-winch.yaml", "channel SV stray_ratio_continuous", rules.StrayRatio, `in "haul"`},
		{"clean/ferry-thruster.yaml", "channel SV ambient_current", rules.AmbientField, ""},
		{"clean/ferry-thruster.yaml", "channel SW placement_change", rules.Placement, ""},
		{"clean/ferry-channel.yaml", "channel SP placement_change", rules.Placement, ""},
		{"clean/ferry-thruster.yaml", "channel SU axis_share", rules.SensorAxis, ""},
		{"clean/ferry-thruster.yaml", "channel SU plane_error", rules.PlaneValidity, ""},
		{"clean/ferry-channel.yaml", "channel SU range_taken", rules.OutputChain, "It clips at"},
		{"clean/ferry-channel.yaml", "channel SP range_taken", rules.OutputChain, "It clips at"},
		{"clean/ferry-channel.yaml", "channel SU resolution", rules.Resolution, ""},
		{"clean/ferry-channel.yaml", "channel SU accuracy", rules.ChannelAccuracy, ""},
		{"clean/ferry-channel.yaml", "channel SP accuracy", rules.ChannelAccuracy, ""},
		{"clean/ferry-channel.yaml", "channel SU trip_time", rules.Trip, "to end the current's rise"},
		{"clean/ferry-channel.yaml", "channel SU lag", rules.Response, " late at"},
		{"clean/ferry-thruster.yaml", "bar V temperature_rise", rules.BarHeating, "over still air"},
		{"clean/ferry-thruster.yaml", "duty short linear_range_share", rules.LinearRange, "fault duty"},
	} {
		w := strings.Fields(c.what)
		object := w[1]
		if w[0] == "duty" {
			object = "SU"
		}
		l := fixture(t, c.layout)
		agrees(t, levels(facts(l)), c.what, measured(t, l, c.rule, object, c.message))
	}
}

// The accuracies are those of the table that the rule prints: three digits.
func TestAccuracyTable(t *testing.T) {
	l := fixture(t, "clean/ferry-channel.yaml")
	f := printedLevel(t, l)
	var table []string
	duty := ""
	for _, x := range engine.Check(l, []engine.Rule{rules.ChannelAccuracy}, engine.Options{}) {
		if x.Object == "SU" {
			table, duty = x.Details, x.Cause
		}
	}
	// row returns the total and the worst case in amperes.
	row := func(current, after string) (total, worst float64) {
		t.Helper()
		for _, line := range table {
			if w := strings.Fields(line); strings.HasPrefix(strings.TrimSpace(line), current) && strings.Contains(line, after) {
				n := len(w)
				return parse(t, w[n-6]+" "+w[n-5]), parse(t, w[n-2]+" "+w[n-1])
			}
		}
		t.Fatalf("the table of duty %q has no row %q %q:\n%s", duty, current, after, strings.Join(table, "\n"))
		return 0, 0
	}
	total, worst := row("650 A", "after two-point")
	near(t, f, "channel SU accuracy", total/650, 0.006)
	near(t, f, "channel SU accuracy_limit", worst/650, 0.006)
	total, _ = row("650 A", "before calibration")
	near(t, f, "channel SU accuracy_uncalibrated", total/650, 0.006)
	total, _ = row("65.0 A", "after two-point")
	near(t, f, "channel SU accuracy_at_tenth", total/65, 0.006)
	// Between 10 A and nothing little changes, and a share of the current is what
	// full range has beyond the zero: the squares of independent errors add.
	total, _ = row("10.0 A", "after two-point")
	near(t, f, "channel SU zero_error", total, 0.02)
}

// printedLevel returns the facts of the level at which the rule decided.
func printedLevel(t *testing.T, l *layout.Layout) enforce.Facts {
	t.Helper()
	want := measured(t, l, rules.ChannelAccuracy, "SU", "")
	for _, f := range levels(facts(l)) {
		if v := value(f, "channel SU accuracy"); math.Abs(v.Value/want-1) < 1e-9 {
			return f
		}
	}
	t.Fatalf("no level has %g", want)
	return nil
}

func parse(t *testing.T, text string) float64 {
	t.Helper()
	var v float64
	var unit string
	if _, err := fmt.Sscan(text, &v, &unit); err != nil || unit != "A" {
		t.Fatalf("%q is no current: %v", text, err)
	}
	return v
}

// Behind iron the rules refine until they can decide; the same level gives the
// same number, and a finer one lies within the bounds of the coarse one.
func TestQuantitiesBehindIron(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the plane field")
	}
	l := fixture(t, "failing/winch-channels.yaml")
	f := facts(l)
	all := levels(f)
	for _, c := range []struct {
		what string
		rule engine.Rule
	}{
		{"channel SP axis_share", rules.SensorAxis}, {"channel SP range_use", rules.RangeUse},
		{"channel SP ambient_current", rules.AmbientField}, {"channel SP linearity", rules.ShieldLinearity},
		{"channel SP stray_ratio_fault", rules.StrayRatio}, {"channel SP placement_change", rules.Placement},
		{"shield KP remanence_share", rules.ShieldRemanence},
	} {
		agrees(t, all, c.what, measured(t, l, c.rule, strings.Fields(c.what)[1], ""))
	}
	// This rule takes each duty to the level that it needs.
	want := measured(t, l, rules.ShieldSaturation, "KP", "")
	if v := value(f, "shield KP saturation_share"); !v.Known || want < v.Low || want > v.High {
		t.Errorf("saturation: %g lies outside %+v", want, v)
	}
	near(t, all[len(all)-1], "shield KP saturation_share", want, 0.02)
	// The wall in each kind of duty; the largest over the saturation of 1.5 T is
	// the share. 900 A is the fault, 215 A the continuous current: iron that is not
	// full carries flux in proportion (420 to 215).
	near(t, f, "shield KP saturation", 1.5, 0)
	near(t, f, "shield KP saturation_share", value(f, "shield KP wall_flux_density_fault").Value/1.5, 1e-12)
	near(t, f, "shield KP wall_flux_density_peak", value(f, "shield KP wall_flux_density_continuous").Value*420/215, 0.02)
	near(t, f, "duty seize saturation_share", math.Max(value(f, "shield KP wall_flux_density_fault").Value, value(f, "shield KM wall_flux_density_fault").Value)/1.5, 1e-12)
	// Round the mean path of the iron: two legs and the floor, in the middle of the
	// wall, 2·(12 mm + 0.35 mm) + 18.7 mm; times 8 A/m (Ampère's law).
	// Hc times the path, and what it keeps in one direction besides: some per cent inside a channel.
	near(t, f, "shield KP remanence_current", 1.05*8*(2*12.35e-3+18.7e-3), 0.05)
	near(t, f, "shield KP wall", 0.7e-3, 1e-12)
	near(t, f, "shield KP sheet_loss", 0, 0)
}

// Bar and shield at a frequency, as the rule finds it where amplitude or phase is
// worse against its limit: here the phase.
func TestFieldLagBehindIron(t *testing.T) {
	if testing.Short() {
		t.Skip("solves the plane field")
	}
	l := fixture(t, "clean/ferry-channels.yaml")
	f := facts(l)
	agrees(t, levels(f), "channel SU field_lag", measured(t, l, rules.GainWithFrequency, "SU", ""))
	g, err := probe.NewModel(l).For(&l.Duties[0]).Gain(&l.Sensors[0], 25)
	if err != nil {
		t.Fatal(err)
	}
	near(t, f, "channel SU field_change", math.Abs(g.Change.Value), 1e-9)
}

// The false sum of a balanced set is that of the model.
func TestFalseSum(t *testing.T) {
	l := fixture(t, "clean/ferry-thruster.yaml")
	sum, err := probe.NewModel(l).Balanced(l.Duties[0].ThreePhase)
	if err != nil {
		t.Fatal(err)
	}
	near(t, facts(l), "duty crossing false_sum", sum.FalseSum.Value, 1e-9)
}
