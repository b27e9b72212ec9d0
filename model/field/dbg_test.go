package field

import (
	"os"
	"testing"
	"fmt"
	"time"
	"math"

	"busgauss/schema/load"
	"busgauss/model/layout"
)

func TestDbg(t *testing.T) {
	b, _ := os.ReadFile(os.Getenv("LAYOUT"))
	l, problems := load.Load("x.yaml", b)
	if l == nil { t.Fatal(problems) }
	m := NewModel(l)
	t0 := time.Now()
	st, err := m.Field(0)
	if err != nil { t.Fatal(err) }
	st.Own(&l.Sensors[0])
	fmt.Println("steady", time.Since(t0))
	for _, hz := range []float64{50, 500, 3000, 20000} {
		t0 = time.Now()
		f, err := m.Field(hz)
		if err != nil { t.Fatal(err) }
		fmt.Println("section", time.Since(t0))
		w := f.way.(solid)
		if w.phasors == nil { t.Fatal("carried") }
		s, err := w.phasors.solved()
		fmt.Println("solved", time.Since(t0), err)
		p := s[0]
		n := 0
		for _, s := range p.strands { if s != nil { n += len(s.at) } }
		fmt.Println(hz, "Hz strands", n, "keep", p.keep)
		for si := range l.Sensors {
			q := l.Sensors[si].At.Point3()
			for b := range l.Bars {
				v := p.at(f, q, layout.BarIndex(b))
				_, _, e := p.of.B(q, b)
				pr := func(k int) float64 { re, im, _ := p.parts.B(q, k); return phasor(re, im).Norm() }
				ed := p.eddies(f, q, layout.BarIndex(b))
				old := w.carried(f, q, w.space.at(q, b, false), func(g *Field) Vec { return g.section.at(q.XY(), layout.BarIndex(b), g.rough) })
				sv := w.space.at(q, b, false)
				if math.IsNaN(v.Norm()) { t.Error("nan") }
				fmt.Printf(" s%d b%d |B| %.4g Ax %.3g°, bound %.2f%%: mesh %.2f%% eddy %.2f%% diff %.2f%% corr %.3f%% ends %.3f; old bound %.2f%% diff new-old %.2f%%; static bound %.2f%%\n", si, b, v.Norm()*1e6, 0.0,
					100*v.Bound/v.Norm(), 100*e/v.Norm(), 100*pr(2*b)/v.Norm(), 100*pr(2*b+1)/v.Norm(), 100*(Vec{X: ed.X, Y: ed.Y}).Norm()/v.Norm(), f.endShare(q.Z), 100*old.Bound/v.Norm(), 100*v.Add(old.Scale(-1)).Norm()/v.Norm(), 100*sv.Bound/sv.Norm())
			}
		}
	}
}
