package field

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// rings is n bars of 300 mm side by side in rings of a material, sizes in mm; a sensor in each slit, or where there is none in
// the hole.
func rings(n int, inner, wall, slit, depth float64, material string) string {
	pitch := 1.5 * (inner + 2*wall)
	var bars, shields, sensors strings.Builder
	for i := range n {
		x := pitch * float64(i)
		fmt.Fprintf(&bars, "  B%d: {section: {width: %g mm, thickness: %g mm}, at: [%g mm, 0 mm], metal: copper, length: 300 mm}\n", i, 0.5*inner, 0.15*inner, x)
		form, y := fmt.Sprintf("inner: %g mm, wall: %g mm", inner, wall), 0.3*inner
		if slit > 0 {
			form, y = form+fmt.Sprintf(", slit: %g mm", slit), (inner+wall)/2
		}
		fmt.Fprintf(&shields, "  K%d: {form: {ring: {%s}}, at: [%g mm, 0 mm], material: m, depth: %g mm}\n", i, form, x, depth)
		fmt.Fprintf(&sensors, "  S%d: {reads: B%d, at: [%g mm, %g mm], axis: 180 deg}\n", i, i, x, y)
	}
	return "layout: 1\nmaterials:\n  m: {" + material + "}\nbars:\n" + bars.String() + "shields:\n" + shields.String() + "sensors:\n" + sensors.String() +
		"surroundings: {return: far}\n"
}

// A bar in a ring with a slit that a direct current fills beyond its knee: the mesh, the state, what the sensor reads and what the
// wall carries.
func BenchmarkSlitRingSaturating(b *testing.B) {
	l := loaded(b, rings(1, 36, 3, 5, 20, "relative-permeability: 3000, saturation: 1.5 T")+"duties: {d: {kind: continuous, currents: {B0: {dc: 8000 A}}}}\n")
	b.ReportAllocs()
	for b.Loop() {
		m := NewModel(l).For(&l.Duties[0])
		c := &waveform.Component{PeakA: []complex128{8000}}
		n, err := m.stateOf(c.SteadyA())
		if err != nil {
			b.Fatal(err)
		}
		v := n.at(l.Sensors[0].Elements()[0].At, false)
		w, err := n.wall(layout.ShieldIndex(0))
		if err != nil {
			b.Fatal(err)
		}
		b.Logf("%.4g ± %.2g T, wall %.4g ± %.2g T", v.X, v.Bound, w.Peak.Value, w.Peak.High-w.Peak.Value)
	}
}

// Too many rings are refused before anything is solved, with the size of their meshes: all of them with the bars not yet made,
// those that are too many for saturating iron alone without a kernel.
func TestTooManyRings(t *testing.T) {
	const duty = "duties: {d: {kind: continuous, currents: {B0: {dc: 1000 A}}}}\n"
	const material = "relative-permeability: 3000, saturation: 1.5 T"
	m := NewModel(loaded(t, rings(30, 36, 3, 5, 20, material)+duty))
	_, err := m.Field(0)
	var unknown *Unknown
	if !errors.As(err, &unknown) || !strings.Contains(err.Error(), "2600 are the most") {
		t.Fatalf("thirty rings: %v", err)
	}
	if m.cache.bars != nil {
		t.Error("bars are made for nothing")
	}
	l := loaded(t, rings(11, 36, 3, 5, 20, material)+duty)
	d := NewModel(l).For(&l.Duties[0])
	if _, err := d.Field(0); !errors.As(err, &unknown) || !strings.Contains(err.Error(), "where it saturates on its coarsest meshes and 1700 are the most") {
		t.Fatalf("eleven rings, saturating: %v", err)
	}
	if d.cache.spaces[0].field != nil {
		t.Error("the linear field is solved for nothing")
	}
	if _, _, err := d.ironProblem(0, nearEnd); err != nil {
		t.Errorf("eleven rings, linear: %v", err)
	}
}

// Rings many times as deep as they are wide against the plane section, which has their true circles: the field of the bar in them
// within 1 % and the bounds, the wall, which gathers at ends for 36 mm over 500 mm some 4 % more, within 5 %; linear with a slit and closed, and with -long beyond the knee.
func TestDeepIronRings(t *testing.T) {
	const duty = "duties: {d: {kind: continuous, currents: {B0: {dc: 1000 A}}}}\n"
	for _, c := range []struct {
		name     string
		slit     float64
		material string
		amps     float64
	}{
		{"slit", 5, "relative-permeability: 2000", 1000},
		{"closed", 0, "relative-permeability: 2000", 1000},
		{"saturating", 5, "relative-permeability: 2000, saturation: 1.5 T", 4000},
	} {
		if c.amps > 1000 && !*Long {
			continue
		}
		l := loaded(t, strings.Replace(rings(1, 30, 3, c.slit, 500, c.material), "at: [0 mm, 0 mm], metal: copper, length: 300 mm", "at: [2 mm, 0 mm], metal: copper, length: 40 m", 1)+duty)
		m := NewModel(l)
		of := func(m *Model) (Vec, Wall) {
			e := l.Sensors[0].Elements()[0]
			if l.Materials[0].SaturationT.Set {
				n, err := m.For(&l.Duties[0]).Precise().state([]float64{c.amps})
				if err != nil {
					t.Fatal(err)
				}
				w, err := n.wall(0)
				if err != nil {
					t.Fatal(err)
				}
				return n.at(e.At, false), w
			}
			f, err := m.Field(0)
			if err != nil {
				t.Fatal(err)
			}
			w, err := f.Wall(0, []complex128{complex(c.amps, 0)})
			if err != nil {
				t.Fatal(err)
			}
			return f.At(e.At, 0).Scale(complex(c.amps, 0)), w
		}
		got, wall := of(m)
		want, plane := of(m.Section())
		off := got.Add(want.Scale(-1)).Norm()
		t.Logf("%s: %.4g T, plane %.4g T, off by %.2f %%, bounds %.2f and %.2f %%; wall %.4g T, plane %.4g T", c.name, got.Norm(), want.Norm(), 100*off/want.Norm(),
			100*got.Bound/want.Norm(), 100*want.Bound/want.Norm(), wall.Peak.Value, plane.Peak.Value)
		if !(off <= 0.01*want.Norm()) || !(off <= got.Bound+want.Bound) {
			t.Errorf("%s: %v T, plane %v T", c.name, got, want)
		}
		if off := math.Abs(wall.Peak.Value - plane.Peak.Value); !(off <= 0.05*plane.Peak.Value) {
			t.Errorf("%s: wall %.4g T, plane %.4g T", c.name, wall.Peak.Value, plane.Peak.Value)
		}
	}
}
