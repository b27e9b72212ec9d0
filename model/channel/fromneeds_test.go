package channel

import (
	"math"
	"slices"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/layout"
)

func TestSetupFromLayout(t *testing.T) {
	l, s := ferry()
	l.Calibrations = nil
	c, missing := SetupFromLayout(l, s)
	if got := keys(missing, false); !slices.Equal(got, []string{"calibration", "calibration.all.temperature"}) || c.By != ByNothing || c.TemperatureC != 25 {
		t.Errorf("none: %+v, assumed %v", c, got)
	}
	full := layout.Calibration{Channel: "SU", Kind: say(layout.CalibrationTwoPoint), Conductor: say(layout.ConductorRibbon), Turns: set(10),
		PitchM: set(2e-3), CurrentA: set(40), FreqHz: set(50), TemperatureC: set(30), Tol: set(0.002)}
	l.Calibrations = []layout.Calibration{full}
	want := Setup{By: ByTwoPoint, Conductor: layout.ConductorRibbon, Turns: 10, PitchM: 2e-3, CurrentA: 40, FreqHz: 50, TemperatureC: 30, Tol: 0.002}
	c, missing = SetupFromLayout(l, s)
	if c != want || len(keys(missing, true)) > 0 || !slices.Equal(keys(missing, false), []string{"calibration.SU.current"}) {
		t.Errorf("full: %+v, %+v", c, missing)
	}
	near(t, "peak of 40 A rms", c.PeakA(), 56.568542, 1e-6) // √2
	if c.FreqHz = 0; c.PeakA() != 40 {
		t.Errorf("a direct current of 40 A peaks at %g A", c.PeakA())
	}
	for kind, by := range map[layout.CalibrationKind]Calibration{
		layout.CalibrationNone: ByNothing, layout.CalibrationZero: ByZero, layout.CalibrationOnePoint: ByOnePoint, layout.CalibrationMatrix: ByMatrix,
	} {
		l.Calibrations = []layout.Calibration{{Channel: "all", Kind: say(kind), TemperatureC: set(20)}}
		c, missing := SetupFromLayout(l, s)
		if c.By != by || c.TemperatureC != 20 || !math.IsNaN(c.CurrentA+c.Tol) {
			t.Errorf("%s: %+v", kind, c)
		}
		undecided, assumed := []string(nil), []string(nil)
		if kind.WithCurrent() {
			undecided = []string{"calibration.all.current", "calibration.all.tolerance"}
			assumed = []string{"calibration.all.conductor", "calibration.all.frequency"}
		}
		if u, a := keys(missing, true), keys(missing, false); !slices.Equal(u, undecided) || !slices.Equal(a, assumed) {
			t.Errorf("%s: undecided %v, assumed %v", kind, u, a)
		}
	}
	full.PitchM = layout.Num{}
	l.Calibrations = []layout.Calibration{full}
	if c, missing := SetupFromLayout(l, s); !slices.Equal(keys(missing, true), []string{"calibration.SU.pitch"}) || !math.IsNaN(c.PitchM) {
		t.Errorf("ribbon without pitch: %+v", missing)
	}
	l.Calibrations[0].Turns = layout.Num{} // one turn has no pitch
	if _, missing := SetupFromLayout(l, s); len(keys(missing, true)) > 0 {
		t.Errorf("ribbon of one turn: %+v", missing)
	}
}

func TestTripFromLayout(t *testing.T) {
	l, s := ferry()
	if trip, missing := TripFromLayout(l, s); trip != nil || missing != nil {
		t.Errorf("no trip: %+v, %+v", trip, missing)
	}
	need := layout.Need{Channel: "SU", TripA: set(300), TripWithinS: set(9e-6), TripBy: say(layout.TapOutput),
		TripSwitchingS: set(1e-6), TripSupplyV: set(450), TripInductanceH: set(50e-6)}
	for tap, want := range map[layout.Tap]Tap{layout.TapOutput: TapOutput, layout.TapFilter: TapFilter, layout.TapNumber: TapNumber} {
		need.TripBy = say(tap)
		l.Needs = []layout.Need{need}
		trip, missing := TripFromLayout(l, s)
		if len(missing) > 0 || *trip != (Trip{CurrentA: 300, Tap: want, ActS: 1e-6, SupplyV: 450, InductanceH: 50e-6}) {
			t.Errorf("%s: %+v, %+v", tap, trip, missing)
		}
		// 450 V on 50 uH for 3 us: 27 A.
		near(t, "overshoot, A", trip.OvershootA(3e-6), 27, 1e-12)
	}
	l.Needs = []layout.Need{{Channel: "all", TripA: set(300)}}
	trip, missing := TripFromLayout(l, s)
	if got := keys(missing, true); !slices.Equal(got, []string{"needs.all.trip.switching", "needs.all.trip.supply", "needs.all.trip.inductance"}) {
		t.Errorf("undecided: %v", got)
	}
	if got := keys(missing, false); !slices.Equal(got, []string{"needs.all.trip.by"}) || trip.Tap != TapNumber || !math.IsNaN(trip.OvershootA(3e-6)) {
		t.Errorf("assumed: %v, %+v", got, trip)
	}
}

func TestBatteryFromLayout(t *testing.T) {
	l, s := ferry()
	if _, ok := BatteryFromLayout(l, s); ok {
		t.Error("a battery out of nothing")
	}
	l.Needs = []layout.Need{{Channel: "all", BatteryChargeAs: set(360e3)}}
	b, ok := BatteryFromLayout(l, s)
	if !ok {
		t.Fatal("no battery")
	}
	// 0.5 A for ten hours on 100 Ah: 5 %.
	near(t, "share", b.Drift(0.5, 10).Share, 0.05, 1e-12)
}

func TestZeroingFromLayout(t *testing.T) {
	l, s := ferry()
	if z, _ := ZeroingFromLayout(l, s); z != nil {
		t.Error("a zeroing out of nothing")
	}
	l.Readout.Zeroing.WindowA = set(4)
	z, missing := ZeroingFromLayout(l, s)
	if got := keys(missing, false); !slices.Equal(got, []string{"readout.zeroing.current", "readout.zeroing.noise"}) {
		t.Errorf("assumed: %v", got)
	}
	if z.WindowA != 4 || z.CurrentA != 0 || !math.IsNaN(z.SwallowedA()) {
		t.Errorf("%+v: an offset that nobody knows must not be nothing", z)
	}
	l.Readout.Zeroing.CurrentA, l.Readout.Zeroing.NoiseA = set(0.5), set(0.02)
	if z, missing := ZeroingFromLayout(l, s); z.CurrentA != 0.5 || z.NoiseA != 0.02 || len(missing) > 0 {
		t.Errorf("%+v, %+v", z, missing)
	}
}

// Assumptions are listed once for all sensors, and only where there is a readout.
func TestAssumed(t *testing.T) {
	l, _ := ferry()
	l.Sensors = append(l.Sensors, layout.Sensor{ID: "SV", Part: 0})
	l.Parts[0].SensitivityTol = layout.Num{}
	l.Readout.Filter.Tol = layout.Num{}
	var texts, objects []string
	for _, a := range Assumed(l) {
		texts, objects = append(texts, a.Text), append(objects, a.Object)
	}
	want := []string{"sensitivity is exact (parts.plover-20.sensitivity.tolerance)", "the corner of the filter is exact (readout.filter.tolerance)",
		"the channel is not calibrated (calibration.all.kind)"}
	if !slices.Equal(texts, want) || !slices.Equal(objects, []string{"plover-20", "", ""}) {
		t.Errorf("%q of %q", texts, objects)
	}
	l.Readout.Given = false
	l.Assumed = []finding.Assumption{{Text: "bar \"U\" is long"}}
	if a := Assumed(l); len(a) != 1 || a[0] != l.Assumed[0] {
		t.Errorf("without a readout: %+v", a)
	}
}

// The corner of a filter of order one at 1 kHz ± 10 % delays by 1/(2π · 900 Hz) at
// the slow end and 1/(2π · 1100 Hz) at the quick one.
func TestFilterTolerance(t *testing.T) {
	timing := Timing{Filter: LowPass{CornerHz: 1e3, Order: 1}, FilterTol: 0.1}
	near(t, "slowest, s", timing.Slowest().Filter.DelayS(), 1/(2*math.Pi*900), 1e-12)
	near(t, "quickest, s", timing.Quickest().Filter.DelayS(), 1/(2*math.Pi*1100), 1e-12)
	if timing.Filter.CornerHz != 1e3 {
		t.Error("the timing itself has changed")
	}
	if none := (Timing{FilterTol: 0.1}).Slowest(); none.Filter.DelayS() != 0 {
		t.Error("a filter out of nothing")
	}
}
