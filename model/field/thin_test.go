package field_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/schema/load"
)

// The closed form at frequency lies within its bound of finite elements, for the bar that carries the current and for
// its neighbours, wide strips too: a strip of 40 x 2 mm beside another was off by twice the bound that a square bar
// of its area has. Aspects and gaps are not those that the factors were taken from.
func TestUniformDensityStaysWithinItsBound(t *testing.T) {
	const thick, r = 2.0, 0.9 // mm; √area over skin depth
	for _, aspect := range []float64{1.5, 4.5, 15, 30, 60} {
		for _, gap := range []float64{0.7, 4} {
			w := thick * aspect
			delta := math.Sqrt(w*thick*1e-6) / r
			hz := 1 / (math.Pi * 4e-7 * math.Pi * 58e6 * delta * delta)
			yaml := "layout: 1\nmaterials:\n  m: {conductivity: 58 MS/m}\nbars:\n"
			for i, id := range []string{"U", "V", "W"} {
				yaml += fmt.Sprintf("  %s: {section: {outline: [[%[2]g mm, %[3]g mm], [%[4]g mm, %[3]g mm], [%[4]g mm, %[5]g mm], [%[2]g mm, %[5]g mm]]}, at: [%[6]g mm, 0 mm], metal: m}\n",
					id, -w/2, -thick/2, w/2, thick/2, float64(i-1)*(w+gap*thick)) // an outline: rectangles are divided
			}
			yaml += "sensors:\n"
			for i, at := range [][2]float64{{0, 0.2}, {0.5, 0.3}, {-0.45, 1.05}, {0.3, 3}} {
				yaml += fmt.Sprintf("  S%d: {reads: V, at: [%g mm, %g mm], axis: 180 deg}\n", i, at[0]*w,
					thick*(0.5+at[1]))
			}
			l, problems := load.Load("layout.yaml", []byte(yaml))
			if l == nil {
				t.Fatal(problems)
			}
			m := field.NewModel(l)
			closed, err := m.Field(hz)
			if err != nil {
				t.Fatal(err)
			}
			fine, ok := m.Refined()
			if !closed.EddyBounded() || !ok {
				t.Fatalf("aspect %g: no closed form, or nothing finer", aspect)
			}
			solved, err := fine.Field(hz)
			if err != nil {
				t.Fatal(err)
			}
			for i := range l.Sensors {
				for b := range l.Bars {
					v, w := closed.OfBar(&l.Sensors[i], layout.BarIndex(b)).B,
						solved.OfBar(&l.Sensors[i], layout.BarIndex(b)).B
					dx, dy := w.X-v.X, w.Y-v.Y
					inPhase, late := math.Hypot(real(dx), real(dy)), math.Hypot(imag(dx), imag(dy))
					if inPhase > v.Bound+w.Bound || late > v.Bound+v.Quad+w.Bound || cmplx.Abs(dx) == 0 {
						t.Errorf("aspect %g, gap %g: bar %s at %s off by %.2g in phase (bound %.2g), %.2g late (bound %.2g)",
							aspect, gap, l.Bars[b].ID, l.Sensors[i].ID, inPhase, v.Bound, late, v.Quad)
					}
				}
			}
		}
	}
}
