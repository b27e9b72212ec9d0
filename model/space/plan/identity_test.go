package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/si"
)

// circulation returns ∮ B·dl over an ellipse round (x0, y0) in the section at z, by
// the trapezoid rule, which converges faster than any power for a smooth integrand.
func circulation(f *Flow, x0, y0, a, b, z float64) float64 {
	sum := 0.0
	const n = 400
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		v, _ := f.B(mm(x0+a*c, y0+b*s, z))
		sum += (-a*s*v.X + b*c*v.Y) * 1e-3 * 2 * math.Pi / n
	}
	return sum
}

// The law of Ampère: every section of an endless bar carries the ampere, whatever the
// mesh; the strips beside a hole in the middle carry half each.
func TestCirculation(t *testing.T) {
	f := solve(t, long(20, 3, notch(1, 10, 7, -1), hole(2, -16, 6)), Options{Certainty: 0.05})
	for _, z := range []float64{0, 6, -3.9, -15, -18, 20} {
		near(t, "circulation", circulation(f, 0, 0, 14, 6, z)/si.Mu0HPerM, 1, 3e-5)
	}
	f = solve(t, long(20, 3, hole(0, 0, 8)), Options{})
	near(t, "one strip", circulation(f, 8, 0, 7, 5, 0)/si.Mu0HPerM, 0.5, 5e-4)
	// A hole off the middle: the shares add up.
	f = solve(t, long(20, 3, hole(3, 0, 8)), Options{})
	a, b := circulation(f, -9.5, 0, 11, 5, 0)/si.Mu0HPerM, circulation(f, 9, 0, 8, 5, 0)/si.Mu0HPerM
	near(t, "two strips", a+b, 1, 1e-4)
	if !(a > 1.9*b) {
		t.Errorf("the wide strip carries %.3g, the narrow one %.3g", a, b)
	}
}

func TestMirrorAndScale(t *testing.T) {
	right := solve(t, bar(20, 3, -60, 80, notch(5, 10, 6, 1), hole(-4, -10, 5)), Options{})
	left := solve(t, bar(20, 3, -60, 80, notch(5, 10, 6, -1), hole(4, -10, 5)), Options{})
	back := solve(t, bar(20, 3, -80, 60, notch(-5, 10, 6, 1), hole(-4, 10, 5)), Options{})
	big := solve(t, bar(200, 30, -600, 800, notch(50, 100, 60, 1), hole(-40, -100, 50)), Options{})
	for _, p := range []geom.Point3{mm(6, 4, 5), mm(-4, 3, -10), mm(7, 0.5, 6), mm(13, -5, 30), mm(2, 20, -70)} {
		b, e := right.B(p)
		// Mirror in x: B is an axial vector.
		m, em := left.B(geom.Point3{X: -p.X, Y: p.Y, Z: p.Z})
		if off := b.Sub(geom.Point3{X: m.X, Y: -m.Y, Z: -m.Z}).Norm(); off > e+em {
			t.Errorf("mirror at %v: off %g of %g, bounds %g %g", p, off, b.Norm(), e, em)
		}
		// The flow run backwards in the bar turned about its own along.
		m, em = back.B(geom.Point3{X: p.X, Y: p.Y, Z: -p.Z})
		if off := b.Sub(geom.Point3{X: m.X, Y: m.Y, Z: -m.Z}).Norm(); off > e+em {
			t.Errorf("mirror in z at %v: %v, %v, off %g", p, b, m, off)
		}
		// Mirror in the plan is exact.
		m, _ = right.B(geom.Point3{X: p.X, Y: -p.Y, Z: p.Z})
		if off := b.Sub(geom.Point3{X: -m.X, Y: m.Y, Z: -m.Z}).Norm(); off > 1e-12*b.Norm() {
			t.Errorf("mirror in y at %v: off %g", p, off)
		}
		m, em = big.B(p.Scale(10))
		if off := b.Sub(m.Scale(10)).Norm(); off > e+10*em {
			t.Errorf("scale at %v: off %g of %g", p, off, b.Norm())
		}
	}
	a, ea := right.Squares()
	b, eb := big.Squares()
	near(t, "squares of a bar ten times the size", b, a, ea+eb)
}

// B passes faces, edges and triangle borders without a step; NaN nowhere.
func TestContinuous(t *testing.T) {
	f := solve(t, bar(20, 3, -40, 40, neck(0, 10, 8), hole(0, 20, 7)), Options{})
	c := mm(4, 1.5, 5) // a corner of the neck
	for _, p := range []geom.Point3{c, mm(4, 0, 5), mm(3, 1.5, 1), mm(0, 0, 0), mm(10, 1.5, 40), mm(3.5, 1.5, 20), mm(0, 1.5, -40)} {
		b, _ := f.B(p)
		for _, d := range []geom.Point3{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}, {X: 1, Y: 1, Z: 1}} {
			v, e := f.B(p.Add(d.Scale(1e-10)))
			if off := v.Sub(b).Norm(); !(off < 3e-6*b.Norm()+1e-11) || math.IsNaN(e) {
				t.Errorf("step of %g in %g at %v", off, b.Norm(), p)
			}
		}
	}
	for _, sh := range f.mesh[:20] { // nodes of the mesh, on the face and inside
		for _, y := range []float64{0, 1.5e-3, -1.5e-3} {
			if b, _ := f.B(geom.Point3{X: sh.corner[0].X, Y: y, Z: sh.corner[0].Y}); math.IsNaN(b.Norm()) {
				t.Fatalf("NaN at a node")
			}
		}
	}
}

func TestChangeAndFarField(t *testing.T) {
	f := solve(t, bar(20, 3, -100, 150, neck(0, 10, 8)), Options{})
	even := solve(t, bar(20, 3, -100, 150), Options{})
	for _, p := range []geom.Point3{mm(0, 4, 0), mm(6, 0, 2), mm(20, 10, 30), mm(3, 50, -200)} {
		b, _ := f.B(p)
		e, _ := even.B(p)
		c, bound := f.Change(p)
		if off := b.Sub(e).Sub(c).Norm(); off > 1e-9*b.Norm() {
			t.Errorf("at %v: B − even bar differs from Change by %g of %g", p, off, c.Norm())
		}
		if !(bound > 0) {
			t.Errorf("bound %g", bound)
		}
	}
	// The loop that a symmetrical neck adds has no moment: the change falls fast.
	near1, _ := f.Change(mm(0, 40, 0))
	far, _ := f.Change(mm(0, 160, 0))
	if far.Norm() > near1.Norm()/64 {
		t.Errorf("change %g at 40 mm, %g at 160 mm", near1.Norm(), far.Norm())
	}
	if c, e := even.Change(mm(1, 2, 3)); c.Norm() != 0 || e != 0 {
		t.Error("a full bar has no change")
	}
}

// The sum over nodes of far cells against closed forms of all triangles.
func TestCells(t *testing.T) {
	f := solve(t, bar(20, 3, -60, 60, neck(0, 10, 8), hole(-3, 22, 6)), Options{})
	rng := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for range 150 {
		p := mm(60*rng.Float64()-30, 30*rng.Float64()*rng.Float64(), 160*rng.Float64()-80)
		at, h1, h2 := f.foot(p)
		var exact twoFields
		for i := range f.mesh {
			f.mesh[i].add(at, h1, h2, &exact)
		}
		sum := f.meshField(p)
		worst = max(worst, sum[0].Sub(exact[0]).Norm()/exact[0].Norm())
	}
	t.Logf("worst %.1e", worst)
	if worst > 1e-5 {
		t.Errorf("cells are off by %.2g of the field", worst)
	}
}

// The closed form of one triangle with linear flow against points through its volume.
func TestTriangle(t *testing.T) {
	var sh sheet
	sh.place(geom.Point{X: 0, Y: 0}, geom.Point{X: 2, Y: 0.3}, geom.Point{X: 0.7, Y: 1.5})
	sh.flow[0] = linear{k: geom.Point{X: 0.3, Y: 1}, xx: 0.4, xz: -0.7, zx: 0.2, zz: -0.5}
	sh.flow[1] = linear{k: geom.Point{X: -1, Y: 0.2}, xx: 1, xz: 0.1, zx: -0.3, zz: 0.6}
	const thick = 0.5
	for _, p := range []geom.Point3{{X: 1, Y: 1, Z: 0.5}, {X: -1, Y: 0.1, Z: 0.2}, {X: 3, Y: -0.6, Z: 2}, {X: 0.9, Y: -0.5, Z: 0.6}} {
		var got twoFields
		sh.add(geom.Point{X: p.X, Y: p.Z}, p.Y-thick/2, p.Y+thick/2, &got)
		var want twoFields
		const n, layers = 120, 30
		for i := range n {
			for j := range 2*n - 2*i - 1 { // small triangles of one row
				v := float64(i) + 1.0/3
				u := float64(j/2) + 1.0/3
				if j%2 == 1 {
					u, v = u+1.0/3, v+1.0/3
				}
				c := sh.corner
				q := c[0].Add(c[1].Sub(c[0]).Scale(u / n)).Add(c[2].Sub(c[0]).Scale(v / n))
				for l := range layers {
					r := p.Sub(geom.Point3{X: q.X, Y: thick * ((float64(l)+0.5)/layers - 0.5), Z: q.Y})
					w := sh.areaM2 / (n * n) * thick / layers / math.Pow(r.Norm(), 3)
					for k := range 2 {
						f := sh.flow[k].at(q.Sub(sh.centre))
						want[k] = want[k].Add(geom.Point3{X: f.X, Z: f.Y}.Cross(r).Scale(w))
					}
				}
			}
		}
		for k := range 2 {
			if off := got[k].Sub(want[k]).Norm(); off > 2e-4*want[k].Norm() {
				t.Errorf("%v flow %d: %v, points %v", p, k, got[k], want[k])
			}
		}
	}
}

// A prism of one even triangle is three side faces and two flat ones of
// closedform.Face: B = (μ0/4π) J × ∮ n dS/R, here without μ0/4π, inside too.
func TestTriangleAgainstFaces(t *testing.T) {
	var sh sheet
	sh.place(geom.Point{X: 0, Y: 0}, geom.Point{X: 2, Y: 0.3}, geom.Point{X: 0.7, Y: 1.5})
	sh.flow[0].k = geom.Point{X: 0.3, Y: 1}
	const h = 0.25
	for _, p := range []geom.Point3{{X: 1, Y: 1, Z: 0.5}, {X: 0.9, Y: 0.1, Z: 0.5}, {X: 0.9, Y: 0.25, Z: 0.5}, {X: 5, Y: 0, Z: -3}} {
		var sum geom.Point3
		at := func(i int, y float64) geom.Point3 {
			return geom.Point3{X: sh.corner[i].X, Y: y, Z: sh.corner[i].Y}
		}
		for i := range 3 {
			j := (i + 1) % 3
			v, _ := closedform.Face(p, []geom.Point3{at(i, -h), at(j, -h), at(j, h), at(i, h)})
			sum = sum.Add(geom.Point3{X: sh.m[i].X, Z: sh.m[i].Y}.Scale(v))
		}
		for _, y := range []float64{-h, h} {
			v, _ := closedform.Face(p, []geom.Point3{at(0, y), at(1, y), at(2, y)})
			sum.Y += v * math.Copysign(1, y)
		}
		want := geom.Point3{X: 0.3, Z: 1}.Cross(sum)
		var got twoFields
		sh.add(geom.Point{X: p.X, Y: p.Z}, p.Y-h, p.Y+h, &got)
		if off := got[0].Sub(want).Norm(); off > 1e-11*want.Norm() {
			t.Errorf("%v: %v, faces %v", p, got[0], want)
		}
	}
}
