package probe_test

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/layout"
	"busgauss/model/probe"
)

// stacked returns the rise of each of three bars of 60 x 3 mm with gaps between them, in kelvin.
func stacked(t *testing.T, gapMM float64, amps [3]float64) (rise [3]float64) {
	t.Helper()
	l := mustLoad(t, fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 60 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 60 mm, thickness: 3 mm}, at: [0 mm, %g mm], metal: copper}
  C: {section: {width: 60 mm, thickness: 3 mm}, at: [0 mm, %g mm], metal: copper}
duties: {d: {kind: continuous, currents: {A: {dc: %g A}, B: {dc: %g A}, C: {dc: %g A}}}}
`, 3+gapMM, 6+2*gapMM, amps[0], amps[1], amps[2]))
	m := probe.NewModel(l)
	for b := range rise {
		h, err := m.Heat(layout.BarIndex(b), &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		rise[b] = m.Rise(layout.BarIndex(b), h).K
	}
	return rise
}

// A stack with narrow gaps is one body: each bar of it gets as warm as one of the outline of all with their common loss,
// which free air alone cools; by whom of them the loss is made makes no difference.
func TestStackIsOneBody(t *testing.T) {
	amps := [3]float64{200, 300, 400}
	square := 0.0
	for _, a := range amps {
		square += a * a
	}
	// One bar of 60 x 9.2 mm loses P/(σ·552 mm²) a metre; three of 180 mm² P/(σ·180 mm²).
	one := mustLoad(t, fmt.Sprintf(`layout: 1
bars: {A: {section: {width: 60 mm, thickness: 9.2 mm}, at: [0 mm, 0 mm], metal: copper}}
duties: {d: {kind: continuous, currents: {A: {dc: %.9g A}}}}
`, math.Sqrt(square*552/180)))
	m := probe.NewModel(one)
	h, err := m.Heat(0, &one.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	want := m.Rise(0, h).K
	for b, k := range stacked(t, 0.1, amps) {
		if math.Abs(k-want) > 0.06*want {
			t.Errorf("bar %d of the stack: %.2f K, one body %.2f K", b, k, want)
		}
	}
}

// Bars that lose the same pass nothing on by symmetry; across a wide gap nothing passes at all, and the rise does not
// jump where the passing begins.
func TestStackEnds(t *testing.T) {
	near, far := stacked(t, 2.999, [3]float64{300, 0, 100}), stacked(t, 3.001, [3]float64{300, 0, 100})
	for b := range near {
		if math.Abs(near[b]-far[b]) > 0.01*far[0] {
			t.Errorf("bar %d: %.3f K just inside, %.3f K just outside", b, near[b], far[b])
		}
	}
	if !(far[1] < 1e-9) || !(stacked(t, 2, [3]float64{300, 0, 100})[1] > 0.1*far[0]) {
		t.Errorf("an idle bar between others: %.3f K from afar", far[1])
	}
	if s := stacked(t, 0.5, [3]float64{300, 300, 300}); math.Abs(s[0]-s[2]) > 1e-6 || !(s[1] > s[0]) {
		t.Errorf("equal loads: %.4f, %.4f, %.4f K", s[0], s[1], s[2])
	}
	less, more := stacked(t, 1, [3]float64{100, 300, 100}), stacked(t, 1, [3]float64{200, 300, 100})
	for b := range more {
		if !(more[b] > less[b]) {
			t.Errorf("bar %d: %.3f K, with more current in the first %.3f K", b, less[b], more[b])
		}
	}
}

// A stub beside a long bar is no radiator of all of it: the bar is as warm as the stub's faces let it be without passing heat on.
func TestStubIsNoStack(t *testing.T) {
	rise := func(lengthMM float64) float64 {
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 60 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, length: 1000 mm}
  B: {section: {width: 200 mm, thickness: 10 mm}, at: [0 mm, 6.7 mm], metal: copper, length: %g mm}
duties: {d: {kind: continuous, currents: {A: {dc: 700 A}}}}
`, lengthMM))
		m := probe.NewModel(l)
		h, err := m.Heat(0, &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		return m.Rise(0, h).K
	}
	if stub, whole := rise(20), rise(1000); !(stub > 1.2*whole) {
		t.Errorf("%.3g K beside a stub, %.3g K beside a bar of its length", stub, whole)
	}
}

// A bar that begins where the hot one ends carries nothing of its heat off, whatever the section shows; one beside all of it does,
// and one beside half of it less.
func TestStackAlongZ(t *testing.T) {
	rise := func(fromMM, toMM float64) float64 {
		l := mustLoad(t, fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 40 mm, thickness: 5 mm}, at: [0 mm, 0 mm], metal: copper, run: [[0 mm, 0 mm, -1500 mm], [0 mm, 0 mm, 1500 mm]]}
  B: {section: {width: 40 mm, thickness: 5 mm}, at: [0 mm, 5.5 mm], metal: copper, run: [[0 mm, 5.5 mm, %g mm], [0 mm, 5.5 mm, %g mm]]}
duties: {d: {kind: continuous, currents: {A: {dc: 700 A}}}}
`, fromMM, toMM))
		m := probe.NewModel(l)
		h, err := m.Heat(0, &l.Duties[0])
		if err != nil {
			t.Fatal(err)
		}
		return m.Rise(0, h).K
	}
	beside, half, beyond := rise(-1500, 1500), rise(0, 1500), rise(1500, 4500)
	if !(beyond > half && half > beside) {
		t.Errorf("%.3g K beside all, %.3g K beside half, %.3g K beyond", beside, half, beyond)
	}
}
