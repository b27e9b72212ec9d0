package channel

import (
	"math"
	"slices"
	"strings"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// The E_n number by hand: 0.5 apart, uncertain by 0.3 and 0.4, is 1. The bound of the field is that of the number; an
// uncertainty that is missing takes its lower bound away; without any the two must be equal.
func TestAgreement(t *testing.T) {
	for _, c := range []struct {
		name string
		m    Measured
		want bounded.Estimate
	}{
		{"by hand", Measured{ReadT: 2.5, ComputedT: bounded.Exact(2), ReadUT: 0.3, ModelUT: 0.4}, bounded.Exact(1)},
		{"less", Measured{ReadT: 1.5, ComputedT: bounded.Exact(2), ReadUT: 0.3, ModelUT: 0.4}, bounded.Exact(1)},
		{"bounds", Measured{ReadT: 2.5, ComputedT: bounded.Estimate{Value: 2, Low: 1.9, High: 2.05}, ReadUT: 0.3, ModelUT: 0.4},
			bounded.Estimate{Low: 0.8, Value: 1, High: 1.2}},
		{"missing", Measured{ReadT: 2.5, ComputedT: bounded.Exact(2), ModelUT: 0.4, Missing: []string{"x"}},
			bounded.Estimate{Low: 0, Value: 1.25, High: 1.25}},
		{"exact and equal", Measured{ReadT: 2, ComputedT: bounded.Exact(2)}, bounded.Exact(0)},
		{"exact and not", Measured{ReadT: 2.5, ComputedT: bounded.Exact(2)}, bounded.Exact(math.Inf(1))},
	} {
		got := c.m.Agreement()
		for _, p := range [][2]float64{{got.Low, c.want.Low}, {got.Value, c.want.Value}, {got.High, c.want.High}} {
			if p[0] != p[1] && !(math.Abs(p[0]-p[1]) < 1e-12) {
				t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
				break
			}
		}
	}
	m := Measured{ReadT: math.NaN(), ComputedT: bounded.Exact(2), ReadUT: 1}
	if got := m.Agreement(); !math.IsNaN(got.Value) || !math.IsNaN(got.Low) {
		t.Errorf("of nothing: %+v", got)
	}
}

func given(v float64) layout.Num { return layout.Num{V: v, Set: true} }

// crane is two round bars with readings of one sensor 5 mm above the first.
func crane(duty layout.Duty, b layout.Measurement) *layout.Layout {
	l := &layout.Layout{Duties: []layout.Duty{duty}, Measurements: []layout.Measurement{b}}
	for i, x := range []float64{0, 60e-3} {
		id := []string{"go", "back"}[i]
		l.Bars = append(l.Bars, layout.Bar{ID: id, Section: layout.Section{Kind: layout.Round, DiameterM: given(4e-3)},
			At: layout.Place{X: given(x), Y: given(0)}})
		l.Circuits = append(l.Circuits, layout.Circuit{ID: id, Kind: layout.Single,
			Members: []layout.Member{{Bar: layout.BarIndex(i), Factor: 1}}})
	}
	l.Sensors = []layout.Sensor{{ID: "S", Sign: 1, Leg: layout.None, Part: layout.None,
		At: layout.Place{X: given(0), Y: given(5e-3)}, Axis: layout.Axis{}}}
	l.Sensors[0].Axis.U.X = -1
	return l
}

// What one number says of a duty, and what it does not.
func TestFlowIn(t *testing.T) {
	amp := func(c int, a layout.Amount) layout.Current {
		return layout.Current{Circuit: layout.CircuitIndex(c), Sign: 1, Amount: a}
	}
	dc, rms, peak := layout.Amount{DCA: given(100)}, layout.Amount{RMSA: given(100)}, layout.Amount{PeakA: given(100)}
	mixed := layout.Amount{DCA: given(10), RMSA: given(100)}
	of := func(hz float64, kind layout.DutyKind, list ...layout.Current) layout.Duty {
		return layout.Duty{ID: "run", Kind: kind, Set: layout.Set{FreqHz: given(hz), Currents: list}}
	}
	for _, c := range []struct {
		name   string
		duty   layout.Duty
		factor float64
		kind   string
		fails  string
	}{
		{"direct", of(0, layout.Continuous, amp(0, dc), amp(1, dc)), 1, "", ""},
		{"rms", of(50, layout.Peak, amp(0, rms), amp(1, rms)), 1 / math.Sqrt2, "rms", ""},
		{"peak", of(50, layout.Continuous, amp(0, peak)), 1, "peak", ""},
		{"both kinds", of(50, layout.Continuous, amp(0, peak), amp(1, rms)), 0, "", "some currents as rms"},
		{"two components", of(50, layout.Continuous, amp(0, mixed)), 0, "", "more than one component"},
		{"fault", of(0, layout.Fault, amp(0, dc)), 0, "", "does not stay"},
		{"nothing", of(0, layout.Continuous), 0, "", "no current flows"},
	} {
		l := crane(c.duty, layout.Measurement{Duty: 0})
		f, err := probe.NewModel(l).FlowIn(&l.Sensors[0], 0)
		switch {
		case c.fails == "" && (err != nil || math.Abs(f.Factor-c.factor) > 1e-15 || f.Kind != c.kind):
			t.Errorf("%s: %g %q %v", c.name, f.Factor, f.Kind, err)
		case c.fails != "" && (err == nil || !strings.Contains(err.Error(), c.fails)):
			t.Errorf("%s: %v, want %q", c.name, err, c.fails)
		}
	}
	// A current of the measurement flows in what the sensor reads alone, in its sense, and is of the kind that its reading is.
	l := crane(of(0, layout.Continuous, amp(1, dc)), layout.Measurement{Duty: layout.None, CurrentA: given(-70)})
	l.Sensors[0].Sign = -1
	f, err := probe.NewModel(l).FlowIn(&l.Sensors[0], 0)
	if err != nil || !f.Alone || f.Factor != 1 || f.Part.PeakA[0] != 70 || f.Part.PeakA[1] != 0 {
		t.Errorf("alone: %+v %v", f, err)
	}
}

// Of a round bar the field is that of a filament, B = μ0 I/(2π r): 4 mT at 5 mm of 100 A; 0.1 mm of height is 0.02/1.02 and
// 0.02/0.98 of it, a rectangle whose larger side counts. Volts go through zero and sensitivity of the part.
func TestMeasuredOf(t *testing.T) {
	b := layout.Measurement{Duty: layout.None, CurrentA: given(100), Uncertainty: given(0.005), Readings: []layout.SensorReading{
		{Sensor: 0, FluxDensityT: given(4.1e-3)}, {Sensor: 0, OutputV: given(2.91)}}}
	l := crane(layout.Duty{ID: "run", Kind: layout.Continuous}, b)
	l.Sensors[0].Placement = &layout.Placement{XM: given(0), YM: given(0.1e-3), TiltRad: given(0)}
	l.Sensors[0].Part = 0
	none := layout.Num{V: math.NaN()}
	l.Parts = []layout.Part{{ID: "p", SensitivityVPerT: given(100), ZeroV: given(2.5), SensitivityTol: given(0.01), OffsetV: given(0.002),
		HysteresisT: none, NonLinearity: none, LinearLowT: given(-0.02), LinearHighT: given(0.02)}}
	got, err := MeasuredOf(probe.NewModel(l), &l.Sensors[0])
	if err != nil || len(got) != 2 {
		t.Fatal(got, err)
	}
	near := func(what string, v, want, share float64) {
		if !(math.Abs(v/want-1) <= share) {
			t.Errorf("%s is %g, want %g", what, v, want)
		}
	}
	rect := 2 / math.Sqrt(3)
	near("computed", got[0].ComputedT.Value, 4e-3, 1e-6)
	near("model", got[0].ModelUT, rect*4e-3*(1/0.98-1), 1e-3)
	near("instrument", got[0].ReadUT, 0.005*4.1e-3, 1e-9)
	near("volts", got[1].ReadT, 4.1e-3, 1e-9)
	near("volts, uncertain", got[1].ReadUT, math.Sqrt(math.Pow(0.005*2.91/100, 2)+math.Pow(rect*0.01*4.1e-3, 2)+math.Pow(rect*2e-5, 2)), 1e-9)
	if len(got[0].Missing)+len(got[1].Missing) > 0 {
		t.Errorf("missing %q %q", got[0].Missing, got[1].Missing)
	}
	// What is not given is named.
	l.Measurements[0].Uncertainty = layout.Num{}
	l.Sensors[0].Placement = nil
	l.Parts[0].SensitivityTol = none
	got, _ = MeasuredOf(probe.NewModel(l), &l.Sensors[0])
	want := []string{"parts.p.sensitivity.tolerance", "uncertainty to measurement 1", "sensors.S.placement"}
	if !slices.Equal(got[1].Missing, want) || got[0].ModelUT != 0 {
		t.Errorf("missing %q, want %q; model %g", got[1].Missing, want, got[0].ModelUT)
	}
	l.Parts[0].ZeroV = none
	if got, _ = MeasuredOf(probe.NewModel(l), &l.Sensors[0]); got[1].Err == nil || !strings.Contains(got[1].Err.Error(), "parts.p.output.zero") {
		t.Errorf("without a zero: %v", got[1].Err)
	}
}
