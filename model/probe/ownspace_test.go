package probe_test

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"busgauss/model/probe"
	"busgauss/model/waveform"
)

// Two channels 12 mm deep, one of them driven far over its knee by direct current.
const filledChannel = `layout: 1
bars:
  P: {section: {width: 18 mm, thickness: 4 mm}, at: [-30 mm, 0 mm], metal: copper}
  N: {section: {width: 18 mm, thickness: 4 mm}, at: [30 mm, 0 mm], metal: copper}
shields:
  KP: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}}, at: [-30 mm, -3.2 mm], material: m, depth: 12 mm}
  KN: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}}, at: [30 mm, -3.2 mm], material: m, depth: 12 mm}
materials:
  m: {relative-permeability: 2000, saturation: 1.9 T}
sensors:
  SP: {reads: P, at: [-30 mm, 4.6 mm], axis: 180 deg}
  SN: {reads: N, at: [30 mm, 4.6 mm], axis: 180 deg}
duties:
  short: {kind: fault, currents: {P: {dc: 4 kA}}}
`

// The own reading per ampere of a duty that fills the iron lies between that of small
// signals and the true one: what rests on it must not count as certain. A bar that is
// idle in the duty is held to the largest current of it.
func TestOwnPerAmpereOfFilledIronInSpace(t *testing.T) {
	l := mustLoad(t, filledChannel)
	m := probe.NewModel(l)
	d := &l.Duties[0]
	for _, id := range []string{"SP", "SN"} {
		s := sensorOf(t, l, id)
		small, err := m.OwnPerAmpere(s)
		if err != nil {
			t.Fatal(err)
		}
		e, err := m.For(d).OwnPerAmpere(s)
		if err != nil {
			t.Fatal(err)
		}
		if !(e.High >= small.Value) || !(e.Low < 0.9*small.Value) {
			t.Errorf("%s: %v in the duty, %v at small signals", id, e, small)
		}
	}
	s := sensorOf(t, l, "SP")
	e, err := m.For(d).OwnPerAmpere(s)
	if err != nil {
		t.Fatal(err)
	}
	c := &waveform.Of(l, d).Components[0]
	r, err := m.For(d).Read(s, c)
	if err != nil {
		t.Fatal(err)
	}
	if at := math.Abs(real(r.Own.V)) / 4000; !(e.Low <= at && at <= e.High) {
		t.Errorf("%v does not hold the true %g", e, at)
	}
	// The other bar's part at the idle sensor is known as far as small signals and the
	// true state agree.
	idle, err := m.For(d).Read(sensorOf(t, l, "SN"), c)
	if err != nil {
		t.Fatal(err)
	}
	p := idle.PerCircuit[0]
	if off := math.Abs(real(p.V) - real(idle.Stray.V)); !(p.Bound >= off) || off < 1e-6 {
		t.Errorf("%v for the bar alone, %v together", p, idle.Stray)
	}
}

// What another bar adds to the reading of a filled channel is the difference of two states on the same meshes: its bound is
// its own, a small part of what the two states are off by.
func TestStrayOfFilledIronInSpace(t *testing.T) {
	if !*long {
		t.Skip("seconds: with -long")
	}
	l := mustLoad(t, strings.Replace(filledChannel, "{P: {dc: 4 kA}}", "{P: {dc: 4 kA}, N: {dc: 40 A}}", 1))
	d := &l.Duties[0]
	m := probe.NewModel(l).For(d)
	s := sensorOf(t, l, "SP")
	c := &waveform.Of(l, d).Components[0]
	r, err := m.Read(s, c)
	if err != nil {
		t.Fatal(err)
	}
	all, err := m.StateReading(s, []float64{4000, 40})
	if err != nil {
		t.Fatal(err)
	}
	own, err := m.AloneReading(s, 4000)
	if err != nil {
		t.Fatal(err)
	}
	want := all.Axis.V - own.Axis.V
	if !(cmplx.Abs(r.Stray.V-want) <= 1e-6*cmplx.Abs(want)) || want == 0 {
		t.Errorf("stray %v, the states differ by %v", r.Stray.V, want)
	}
	if both := all.Axis.Bound + own.Axis.Bound; !(r.Stray.Bound > 0) || !(r.Stray.Bound <= 0.1*both) {
		t.Errorf("stray bounded by %g, the states by %g together", r.Stray.Bound, both)
	}
	if !(r.Stray.Bound >= 0.03*cmplx.Abs(want)) {
		t.Errorf("stray %v bounded by %g", want, r.Stray.Bound)
	}
}
