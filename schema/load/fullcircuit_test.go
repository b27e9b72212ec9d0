package load

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"busgauss/model/layout"
)

// circuitOf returns the circuit called id.
func circuitOf(t *testing.T, l *layout.Layout, id string) (layout.CircuitIndex, *layout.Circuit) {
	t.Helper()
	c, ok := l.Circuit(id)
	if !ok {
		t.Fatalf("no circuit %q", id)
	}
	return c, &l.Circuits[c]
}

func TestFullCircuits(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	var order []string
	for b := range l.Bars {
		c, m := l.CircuitOf(layout.BarIndex(b))
		if m.Bar != layout.BarIndex(b) {
			t.Errorf("bar %s stands in no circuit", l.Bars[b].ID)
		}
		if id := l.Circuits[c].ID; !slices.Contains(order, id) {
			order = append(order, id)
		}
	}
	if got := strings.Join(order, " "); got != "U V W X store Q R" || len(order) != len(l.Circuits) {
		t.Errorf("circuits in the order of their first bars: %s, %d", got, len(l.Circuits))
	}
	for i := range l.Circuits {
		if l.Circuits[i].ID != order[i] {
			t.Errorf("circuit %d is %s, want %s", i, l.Circuits[i].ID, order[i])
		}
	}
	_, u := circuitOf(t, l, "U")
	_, store := circuitOf(t, l, "store")
	_, q := circuitOf(t, l, "Q")
	_, r := circuitOf(t, l, "R")
	if u.Kind != layout.Single || store.Kind != layout.Series || q.Kind != layout.Parallel || r.Kind != layout.Shared {
		t.Errorf("kinds %d, %d, %d, %d", u.Kind, store.Kind, q.Kind, r.Kind)
	}
	if !l.HasCircuits() || u.Members[0].Factor != 1 || store.Members[0].Factor != 1 || store.Members[1].Factor != -1 ||
		!math.IsNaN(q.Members[1].Factor) {
		t.Errorf("factors: %+v, %+v, %+v", u, store, q)
	}
	near(t, "spread of Q", q.Spread.V, 0.03)
	if !q.Spread.Set || r.Spread.Set {
		t.Errorf("spread of Q set %v, of R %v", q.Spread.Set, r.Spread.Set)
	}
	near(t, "share of R1", r.Members[0].Factor, 0.6)
	near(t, "share of R2", r.Members[1].Factor, 0.4)

	for _, c := range []struct {
		sensor, circuit, reads, leg string
		sign                        float64
	}{
		{"SU", "U", "U", "", 1}, {"SP", "store", "P2", "", -1},
		{"SQ", "Q", "Q2", "", 1}, // at y = 24 mm, Q2 is the nearer one
		{"SR", "R", "R1", "R1", 1},
	} {
		i, _ := l.Sensor(c.sensor)
		s := &l.Sensors[i]
		in, _ := circuitOf(t, l, c.circuit)
		leg := ""
		if s.Leg != layout.None {
			leg = l.Bars[s.Leg].ID
		}
		if s.Circuit != in || l.Bars[s.Reads].ID != c.reads || s.Sign != c.sign || leg != c.leg {
			t.Errorf("%s: circuit %d, reads %d, sign %g, leg %q", c.sensor, s.Circuit, s.Reads, s.Sign, leg)
		}
	}
}

func TestFullArraysAndPlacements(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	i, _ := l.Sensor("SP")
	a := l.Sensors[i].Array
	if len(a) != 2 || l.Sensors[0].Array != nil {
		t.Fatalf("array of SP: %+v", a)
	}
	near(t, "x of element 1", a[0].At.X.V, 1e-3)
	near(t, "axis of element 1", a[0].Axis.U.X, math.Cos(10*deg))
	near(t, "weight of element 1", a[0].Weight.V, 2)
	near(t, "z of element 2", a[1].At.Z.V, 1e-3)
	near(t, "axis of element 2", a[1].Axis.U.Y, 1)
	open(t, "weight of element 2", a[1].Weight, 1)

	s, b := l.Sensors[0].Placement, l.Bars[4].Placement
	k := l.Shields[3].Placement
	near(t, "z of SU", s.ZM.V, 1e-3)
	near(t, "yaw of SU", s.YawRad.V, 3*deg)
	near(t, "turn of P1", b.TiltRad.V, 1*deg)
	near(t, "y of P1", b.YM.V, 0.2e-3)
	near(t, "x of KO", k.XM.V, 0.3e-3)
	near(t, "turn of KO", k.TiltRad.V, 2*deg)
	if b.ZM.Set || b.YawRad.Set || l.Bars[5].Placement != nil {
		t.Errorf("placement of P1: %+v", b)
	}
	if !l.Shields[3].Long || l.Shields[3].DepthM.Set || l.Shields[0].Long {
		t.Errorf("depth of KO: %+v", l.Shields[3])
	}
	near(t, "clear", l.Surroundings.ClearM.V, 3)
}

func TestFullWaveforms(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	store, _ := circuitOf(t, l, "store")
	q, _ := circuitOf(t, l, "Q")
	climb, hoard, bolted, offset := l.Duties[0], l.Duties[3], l.Duties[4], l.Duties[5]
	near(t, "direct part of three-phase", climb.ThreePhase.Amount.DCA.V, 3)
	r := climb.Ripple
	if r.Shape.V != layout.Triangle || len(r.Currents) != 2 || r.Currents[0].Circuit != store ||
		r.Currents[1].Circuit != q {
		t.Fatalf("ripple: %+v", r)
	}
	near(t, "ripple of store", r.Currents[0].RMSA.V, 3)
	near(t, "phase of it", r.Currents[0].PhaseRad.V, 20*deg)
	near(t, "ripple of Q", r.Currents[1].PeakA.V, 2)

	near(t, "frequency by period", hoard.FreqHz.V, 50)
	near(t, "period", hoard.PeriodS.V, 20e-3)
	c, p := hoard.Currents[0], hoard.Currents[1]
	if c.Circuit != store || c.Sign != -1 || !c.DCA.Set || !c.PeakA.Set || c.RMSA.Set || len(c.Harmonics) != 1 {
		t.Fatalf("current of P2: %+v", c)
	}
	near(t, "direct part", c.DCA.V, 7)
	near(t, "peak", c.PeakA.V, 40)
	near(t, "phase of the harmonic", c.Harmonics[0].Amount.PhaseRad.V, 5*deg)
	if p.Circuit != q || len(p.Points) != 3 || p.Alternates() || p.DCA.Set {
		t.Fatalf("current of Q: %+v", p)
	}
	near(t, "time of point 2", p.Points[1].TimeS.V, 5e-3)
	near(t, "current of point 2", p.Points[1].CurrentA.V, -9)
	if len(hoard.With) != 2 || len(hoard.With[0].Currents) != 1 || hoard.With[0].Currents[0].Circuit != store {
		t.Fatalf("with: %+v", hoard.With)
	}
	near(t, "frequency of the first", hoard.With[0].FreqHz.V, 83)
	near(t, "its harmonic", hoard.With[0].Harmonics[0].Amount.PeakA.V, 1)
	near(t, "direct part of the second", hoard.With[1].ThreePhase.Amount.DCA.V, 1)
	near(t, "R/X", bolted.Asymmetry.ROverX.V, 0.1)
	near(t, "peak factor", offset.Asymmetry.PeakFactor.V, 1.8)
	if bolted.Asymmetry.PeakFactor.Set || offset.Asymmetry.ROverX.Set || climb.Asymmetry != nil {
		t.Error("asymmetry says both, or stands where none is given")
	}
}

func TestFullMeasurements(t *testing.T) {
	l := mustLoad(t, "full.yaml", full(t))
	if len(l.Measurements) != 2 {
		t.Fatalf("measurements: %+v", l.Measurements)
	}
	a, b := l.Measurements[0], l.Measurements[1]
	if a.Date != "2026-05-04" || a.Instrument != "shunt" || l.Duties[a.Duty].ID != "start" || a.CurrentA.Set ||
		b.Duty != layout.None {
		t.Errorf("measurements: %+v", l.Measurements)
	}
	near(t, "reading of SU", a.Readings[0].FluxDensityT.V, 5e-3)
	near(t, "reading of SV", a.Readings[1].OutputV.V, 2.4)
	if a.Readings[0].OutputV.Set || a.Readings[1].FluxDensityT.Set {
		t.Error("a reading is two things")
	}
	near(t, "uncertainty", a.Uncertainty.V, 0.004)
	near(t, "current", b.CurrentA.V, 100)
	near(t, "frequency", b.FreqHz.V, 50)
}

// What new keys leave open is listed.
func TestAssumedOfCircuits(t *testing.T) {
	text := strings.Replace(joined, "kind: peak", "kind: fault", 1)
	text = strings.Replace(text, "axis: 180 deg}",
		"axis: 180 deg, placement: {x: 1 mm, y: 1 mm, tilt: 1 deg, yaw: 1 deg}}", 1)
	text = strings.Replace(text, "at: [80 mm, 0 mm], ", "at: [80 mm, 0 mm], placement: {}, ", 1)
	text += "measurements: [{date: 2026-05-04, current: 3 A, readings: {S: 2 mT}}]\n"
	l := mustLoad(t, "joined.yaml", []byte(text))
	var got []string
	for _, a := range l.Assumed {
		line := fmt.Sprintf("%d:%d %s: %s", a.Span.Start.Line, a.Span.Start.Column, a.Object, a.Text)
		if !strings.Contains(line, "is long") && !strings.Contains(line, "20 °C") {
			got = append(got, line)
		}
	}
	want := []string{
		`7:53 E: placement of bar "E" leaves out x, y and turn: they are 0`,
		`12:53 S: placement of sensor "S" leaves out z: it is 0`,
		`14:3 run: fault "run" is symmetrical: no decaying direct component`,
		`15:1 : no iron and no conducting wall is nearer than 1 m`,
		`16:1 : flux densities are taken less what is read with no current`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// The example of circuits means what it says: each current at its place, in SI by hand.
func TestCircuitsExample(t *testing.T) {
	l := mustLoad(t, "examples/circuits.yaml", fixture(t, "examples/circuits.yaml"))
	store, _ := circuitOf(t, l, "store")
	u, _ := circuitOf(t, l, "U")
	v, _ := circuitOf(t, l, "V")
	w, _ := circuitOf(t, l, "W")
	if store != 0 || u != 1 || v != 2 || w != 3 {
		t.Errorf("order %d %d %d %d", store, u, v, w)
	}
	hoist, lower, charge, short := l.Duties[0], l.Duties[1], l.Duties[2], l.Duties[3]
	if hoist.ThreePhase.Circuits != [3]layout.CircuitIndex{u, v, w} || hoist.Currents[0].Circuit != store ||
		len(hoist.Ripple.Currents) != 3 {
		t.Errorf("hoist: %+v", hoist)
	}
	near(t, "ripple of W leads", hoist.Ripple.Currents[2].PhaseRad.V, 120*deg)
	near(t, "direct part", lower.Currents[0].DCA.V, -350)
	near(t, "alternating part", lower.Currents[0].PeakA.V, 40)
	near(t, "second set", lower.With[0].FreqHz.V, 83)
	near(t, "frequency of charge", charge.FreqHz.V, 50)
	near(t, "a point", charge.Currents[0].Points[2].TimeS.V, 14e-3)
	near(t, "R/X", short.Asymmetry.ROverX.V, 0.1)
	sb, sv := l.Sensors[0], l.Sensors[2]
	if sb.Circuit != store || l.Bars[sb.Reads].ID != "plus" || sb.Sign != 1 || len(sv.Array) != 2 {
		t.Errorf("sensors: %+v, %+v", sb, sv)
	}
	near(t, "axis of the element below", sv.Array[1].Axis.U.X, 1)
	near(t, "clear", l.Surroundings.ClearM.V, 2)
	measured := mustLoad(t, "examples/measured.yaml", fixture(t, "examples/measured.yaml"))
	near(t, "reading", measured.Measurements[1].Readings[0].FluxDensityT.V, 2.01e-3)
	if f := measured.Measurements[1].FreqHz; !f.Set || f.V != 0 {
		t.Errorf("frequency %+v", f)
	}
}
