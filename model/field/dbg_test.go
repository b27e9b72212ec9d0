package field

import (
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"busgauss/model/layout"
	"busgauss/schema/load"
)

func TestDbg(t *testing.T) {
	b, _ := os.ReadFile(os.Getenv("LAYOUT"))
	l, problems := load.Load("x.yaml", b)
	if l == nil {
		t.Fatal(problems)
	}
	m := NewModel(l)
	t0 := time.Now()
	st, err := m.Field(0)
	if err != nil {
		t.Fatal(err)
	}
	st.Own(&l.Sensors[0])
	fmt.Println("steady", time.Since(t0))
	for _, hz := range []float64{50, 500, 3000, 20000} {
		t0 = time.Now()
		f, err := m.Field(hz)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println("section", time.Since(t0))
		w := f.way.(solid)
		if w.phasors == nil {
			t.Fatal("carried")
		}
		s, err := w.phasors.solved()
		fmt.Println("solved", time.Since(t0), err)
		p := s[0]
		fmt.Println(hz, "Hz strands", p.lay.count, "late", p.late)
		if hz == 50 {
			for k, pr := range p.lay.profiles {
				fmt.Println("bar", k, "edges", pr.edgeM, "rest", pr.rest)
				for b := range l.Bars {
					fmt.Print("   src ", b, ":")
					for _, e := range pr.edgeM {
						fmt.Printf(" %.3f/%.3f", pr.value(pr.w[b][0], e*0.999), pr.value(pr.smooth[b][0], e*.999))
					}
					fmt.Println()
				}
			}
		}
		for si := range l.Sensors {
			q := l.Sensors[si].At.Point3()
			for b := range l.Bars {
				v := p.at(f, q, layout.BarIndex(b))
				_, _, e := p.of.B(q, b)
				pr := func(k int) float64 { re, im, _ := p.parts.B(q, partsOf*b+k); return phasor(re, im).Norm() }
				ed := p.eddies(f, q, layout.BarIndex(b))
				old := w.carried(f, q, w.space.at(q, b, false), func(g *Field) Vec { return g.section.at(q.XY(), layout.BarIndex(b), g.rough) })
				sv := w.space.at(q, b, false)
				fmt.Printf("   v (%.3f, %.3f) old (%.3f, %.3f) static (%.3f %.3f)\n", v.X*1e6, v.Y*1e6, old.X*1e6, old.Y*1e6, real(sv.X)*1e6, real(sv.Y)*1e6)
				if math.IsNaN(v.Norm()) {
					t.Error("nan")
				}
				fmt.Printf(" s%d b%d |B| %.4g Ax %.3g°, bound %.2f%%: mesh %.2f%% eddy %.2f%% iron %.2f%% smooth %.2f%% corr %.3f%% ends %.3f; old bound %.2f%% diff new-old %.2f%%; static bound %.2f%%\n", si, b, v.Norm()*1e6, 0.0,
					100*v.Bound/v.Norm(), 100*e/v.Norm(), 100*pr(0)/v.Norm(), 100*pr(1)/v.Norm(), 100*pr(2)/v.Norm(), 100*(Vec{X: ed.X, Y: ed.Y}).Norm()/v.Norm(), f.endShare(q.Z), 100*old.Bound/v.Norm(), 100*v.Add(old.Scale(-1)).Norm()/v.Norm(), 100*sv.Bound/sv.Norm())
			}
		}
	}
}
