package field

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Bars by themselves, in iron that is hardly any, against the eddy currents of the plane section: what the meshes of bars
// leave out lies within the bound, and below a tenth. The plane section is exact but for eddyMesh.
func TestBarsOfMetals(t *testing.T) {
	l := loaded(t, threeShort(20, 4, 22, 16, 1.5, 15, 36, "relative-permeability: 1.0002"))
	m := NewModel(l)
	for _, hz := range []float64{5, 50, 400, 3000, 20000} { // one factor serves all
		w, err := m.barsInIron(hz, m.smallSignal(), lowMu)
		if err != nil || w == nil {
			t.Fatal(w, err)
		}
		for s := range l.Sensors[:2] {
			q := l.Sensors[s].Elements()[0].At
			own := m.ownB(t, q, layout.BarIndex(s))
			x, y := w.alone.EddyB(q.XY())
			for b := range 2 {
				v := w.change(q, b, 0)
				want := Vec{X: x[b], Y: y[b]}
				off := v.Add(want.Scale(-1)).Norm()
				t.Logf("%g Hz, sensor %d, bar %d: off by %.4f %% of the own field, bound %.4f, want %.4f", hz, s, b, 100*off/own, 100*v.Bound/own, 100*want.Norm()/own)
				if !(off <= v.Bound+eddyMesh*want.Norm()) {
					t.Errorf("%g Hz, sensor %d, bar %d: off by %.4f %% of the own field, bound %.4f, want %.4f", hz, s, b, 100*off/own, 100*v.Bound/own, 100*want.Norm()/own)
				}
			}
		}
	}
}

func (m *Model) ownB(t *testing.T, q geom.Point3, b layout.BarIndex) float64 {
	f, err := m.Field(0)
	if err != nil {
		t.Fatal(err)
	}
	return f.way.at(f, q, b).Norm()
}

// Channels five of their widths deep, of steel and of sheet, against the plane section: bars and walls as one problem.
func TestDeepMetals(t *testing.T) {
	if !*Long {
		t.Skip("seconds; run with -long")
	}
	for material, hz := range map[string]float64{"relative-permeability: 1000, conductivity: 2 MS/m": 400, "relative-permeability: 2000": 400} {
		l := loaded(t, strings.ReplaceAll(threeShort(20, 4, 22, 16, 1.5, 125, 36, material), "300 mm", "3 m"))
		m := NewModel(l)
		fine := m.Precise()
		f, err := fine.Field(hz)
		if err != nil {
			t.Fatal(err)
		}
		plane, err := m.Section().Field(hz)
		if err != nil {
			t.Fatal(err)
		}
		way := f.way.(solid)
		if _, ok := way.walls.(metalSides); !ok {
			if sides, err := way.phasors.at(f); err != nil || sides[0].metals == nil {
				t.Fatal("bars and walls are not taken together", err)
			}
		}
		s := &l.Sensors[1]
		own := plane.InSection(s, 1).B.Norm()
		for b := range l.Bars {
			got, want := f.OfBar(s, layout.BarIndex(b)), plane.InSection(s, layout.CircuitIndex(b))
			off := got.B.Add(want.B.Scale(-1)).Norm()
			t.Logf("%s, bar %d: off by %.3f %% of the own field, bound %.3f; %.4g", material, b, 100*off/own, 100*got.B.Bound/own, want.B.Norm()/own)
			if !(off <= math.Min(0.01*own, got.B.Bound+want.B.Bound)) {
				t.Errorf("%s, bar %d: off by %.3f %% of the own field, bound %.3f", material, b, 100*off/own, 100*got.B.Bound/own)
			}
		}
	}
}

// What steady iron answers in the problem of bars and iron against package iron, which has meshes and an equation of its own:
// within 1 % of the own field and both bounds, though iron is but a part of it there.
func TestSteadyIronOfMetals(t *testing.T) {
	l := loaded(t, threeShort(20, 4, 22, 16, 1.5, 15, 36, "relative-permeability: 1000, conductivity: 2 MS/m"))
	m := NewModel(l)
	w, err := m.metalsOf()
	if err != nil || w == nil {
		t.Fatal(w, err)
	}
	none := make([]muRange, len(l.Shields))
	for i := range none {
		none[i] = muRange{1, 1}
	}
	iron := &metalsAt{of: w, freqHz: 1e-6, ranges: m.smallSignal(), small: none, pick: lowMu, still: lowMu}
	in, err := m.spaceField()
	if err != nil {
		t.Fatal(err)
	}
	for s := range 2 {
		q := l.Sensors[s].Elements()[0].At
		own := in.at(q, s, true).Norm()
		for b := range 2 {
			want, bare := in.at(q, b, false), in.sources[b](q)
			got := iron.moved(q, b)
			off := got.Add(steady(bare)).Add(want.Scale(-1)).Norm()
			t.Logf("sensor %d, bar %d: off by %.4f %% of the own field, bounds %.4f and %.4f", s, b, 100*off/own, 100*got.Bound/own, 100*want.Bound/own)
			if !(off <= 0.01*own && off <= got.Bound+want.Bound) {
				t.Errorf("sensor %d, bar %d: off by %.4f %% of the own field", s, b, 100*off/own)
			}
		}
	}
}
