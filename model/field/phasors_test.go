package field

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space/iron"
	"busgauss/schema/load"
)

func loaded(t testing.TB, yaml string) *layout.Layout {
	t.Helper()
	l, problems := load.Load("x.yaml", []byte(yaml))
	if l == nil {
		t.Fatal(problems)
	}
	return l
}

// solvedAt returns the phasor field of a model at a frequency.
func solvedAt(t testing.TB, m *Model, hz float64) (*Field, *phasorField) {
	t.Helper()
	f, err := m.Field(hz)
	if err != nil {
		t.Fatal(err)
	}
	sides, err := f.way.(solid).phasors.solved()
	if err != nil {
		t.Fatal(err)
	}
	return f, sides[0]
}

// Channels of 25 m and long bars are the plane section, at every frequency: the field within 1 % of the own field's size.
func TestDeepPhasorsArePlane(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	yaml := threeShort(15, 4, 18, 12, 1.5, 25000, 32, "relative-permeability: 4000, conductivity: 2.2 MS/m, sheet: 0.35 mm")
	l := loaded(t, strings.ReplaceAll(yaml, "length: 300 mm", "length: 80000 mm"))
	m := NewModel(l)
	for _, hz := range []float64{50, 5000} {
		f, p := solvedAt(t, m, hz)
		for i := range l.Sensors {
			q := l.Sensors[i].At.Point3()
			own := f.section.at(q.XY(), layout.BarIndex(i), true).Norm()
			for b := range l.Bars {
				v, want := p.at(f, q, layout.BarIndex(b)), f.section.at(q.XY(), layout.BarIndex(b), true)
				off := v.Add(want.Scale(-1)).Norm()
				t.Logf("%g Hz, sensor %d, bar %d: off by %.2f %%, of the own field %.2f %%, bound %.2f %%", hz, i, b, 100*off/want.Norm(), 100*off/own, 100*v.Bound/want.Norm())
				if !(off <= 0.01*own) || b == i && !(off <= v.Bound) {
					t.Errorf("%g Hz, sensor %d, bar %d: off by %.3g of %.3g, bound %.3g", hz, i, b, off, want.Norm(), v.Bound)
				}
			}
		}
	}
}

// A bar beside short channels that shuts the field out: at a megahertz its eddy currents leave a twentieth of its thickness
// of field, and at steady current it is a body of permeability 1/500, whose field the solver of iron gives without
// any eddy current. The share of a neighbour's field that is left at the sensor is the same within the bounds.
func TestBarsWithoutSkin(t *testing.T) {
	if !*Long {
		t.Skip("seconds: with -long")
	}
	l := loaded(t, threeShort(15, 4, 18, 12, 1.5, 16, 32, "relative-permeability: 4000"))
	for _, i := range []int{1, 2} {
		l.Bars[i].SigmaSPerM = 1e-3 // no eddy currents
	}
	m := NewModel(l)
	f, p := solvedAt(t, m, 1e6)
	var pieces []iron.Piece
	mu := []float64{4000, 4000, 4000, 1.0000001}
	for i := range l.Shields {
		pieces = append(pieces, iron.Piece{Name: l.Shields[i].ID, Section: l.Shields[i].Region(), FromZM: -8e-3, ToZM: 8e-3, MuRel: 2})
	}
	bar := l.Bars[0].Polygon()
	pieces = append(pieces, iron.Piece{Name: "U", Section: geom.Solid(bar), FromZM: -40e-3, ToZM: 40e-3, MuRel: 2})
	q := l.Sensors[0].At.Point3()
	body, err := iron.New(pieces, []geom.Point3{q}, iron.Options{MaxNodes: 2500})
	if err != nil {
		t.Fatal(err)
	}
	basis := iron.NewBasis(p.space.sources[:3])
	without, err := body.LinearOf(mu, basis)
	if err != nil {
		t.Fatal(err)
	}
	mu[3] = 0.002
	shut, err := body.LinearOf(mu, basis)
	if err != nil {
		t.Fatal(err)
	}
	for src := 1; src < 3; src++ {
		b0, _ := without.B(q, src)
		b1, _ := shut.B(q, src)
		still, _ := p.space.iron.B(q, src)
		v := p.at(f, q, layout.BarIndex(src))
		want := b1.Y / b0.Y
		got := v.Y / complex(still.Y, 0)
		off, bound := cmplx.Abs(got-complex(want, 0)), v.Bound/math.Abs(still.Y)
		t.Logf("bar %d: %.3f left, body %.3f, bound %.3f", src, got, want, bound)
		if !(off <= bound) || !(bound <= 0.6*want) || !(want < 0.7) {
			t.Errorf("bar %d: %.3f of the field left, body %.3f, bound %.3f", src, got, want, bound)
		}
	}
}
