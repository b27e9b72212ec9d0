package space

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// frame returns the four sides of a rectangular circuit as two open runs of one
// section that meet end to end: one piece after the other, along +z at its section first.
func frame(b *layout.Bar, a, c float64, dir geom.Point3) (one, other *layout.Bar) {
	x := dir.Scale(a)
	z := geom.Point3{Z: c / 2}
	one = runOf(b, x.Scale(0.5).Sub(z), z.Scale(-1), z, x.Scale(0.5).Add(z))
	// The far side carries −z; its place is moved there and it runs the other way.
	far := *b
	far.At = layout.Place{X: num(x.X), Y: num(x.Y)}
	other = runOf(&far, x.Scale(0.5).Sub(z), x.Sub(z), x.Add(z), x.Scale(0.5).Add(z))
	return one, other
}

// Circulation of B round a closed circuit made of runs is μ0 I round one side and
// 0 beside it (law of Ampère; J. D. Jackson, section 5.3); B has no divergence and,
// in air, no curl. The sides are of a bar lying flat, on edge, and a round one.
func TestClosedCircuit(t *testing.T) {
	onEdge := flat(0.012, 0.003)
	onEdge.TurnRad = num(math.Pi / 2)
	round := flat(0, 0)
	round.Section = layout.Section{Kind: layout.Round, DiameterM: num(0.008)}
	for name, b := range map[string]*layout.Bar{"flat": flat(0.012, 0.003), "edge": onEdge, "round": round} {
		one, other := frame(b, 0.1, 0.08, geom.Point3{X: 1})
		p, q := conductor(t, one), conductor(t, other)
		field := func(at geom.Point3) geom.Point3 {
			v, _ := p.B(at)
			w, _ := q.B(at)
			return v.Sub(w)
		}
		ring := func(centre, u, v geom.Point3) float64 {
			const n = 400
			sum := 0.0
			for k := range n {
				s, c := math.Sincos(2 * math.Pi * float64(k) / n)
				at := centre.Add(u.Scale(c)).Add(v.Scale(s))
				sum += field(at).Dot(v.Scale(c).Sub(u.Scale(s))) * 2 * math.Pi / n
			}
			return sum
		}
		ux, uy, uz := geom.Point3{X: 0.02}, geom.Point3{Y: 0.02}, geom.Point3{Z: 0.02}
		for _, r := range []struct {
			what  string
			value float64
			want  float64
		}{
			{"side", ring(mm(0, 0, 10), ux, uy), si.Mu0HPerM},
			{"side with the bend inside", ring(mm(2, 1, 31), ux, uy.Add(uz.Scale(0.3))), si.Mu0HPerM},
			{"upper side", ring(mm(40, 0, 40), uy, uz), si.Mu0HPerM},
			{"through the corner", ring(mm(0, 0, 40), ux.Sub(uz).Scale(math.Sqrt(0.5)), uy), 0}, // see below
			{"beside", ring(mm(-40, 10, 10), ux, uy), 0},
			{"over", ring(mm(0, 40, 40), ux, uy.Add(uz)), 0},
		} {
			if r.what == "through the corner" {
				// The ring's plane is the mitre plane's normal plane: the current passes once.
				r.want = si.Mu0HPerM * math.Copysign(1, r.value)
			}
			if math.Abs(r.value-r.want) > 1e-4*si.Mu0HPerM {
				t.Errorf("%s, %s: circulation %g μ0 I, want %g", name, r.what, r.value/si.Mu0HPerM, r.want/si.Mu0HPerM)
			}
		}
		for _, at := range []geom.Point3{mm(9, 7, 30), mm(-10, 4, 45), mm(20, -8, 30), mm(1.2, 0.7, 36), mm(40, 0.4, 39)} {
			const h = 2e-5
			var d [3]geom.Point3
			for k, e := range []geom.Point3{{X: h}, {Y: h}, {Z: h}} {
				d[k] = field(at.Add(e)).Sub(field(at.Sub(e))).Scale(1 / (2 * h))
			}
			div := d[0].X + d[1].Y + d[2].Z
			size := d[0].Norm() + d[1].Norm() + d[2].Norm()
			if !(math.Abs(div) < 1e-4*size) {
				t.Errorf("%s: divergence %g of slopes %g at %v", name, div, size, at)
			}
			curl := geom.Point3{X: d[1].Z - d[2].Y, Y: d[2].X - d[0].Z, Z: d[0].Y - d[1].X}
			if inside := p.Contains(at) || q.Contains(at); !inside && !(curl.Norm() < 1e-4*size) {
				t.Errorf("%s: curl %g of slopes %g in air at %v", name, curl.Norm(), size, at)
			}
		}
	}
}

// A square coil of side a at its centre: 2√2 μ0 I/(π a) (textbook; B. D. Cullity,
// C. D. Graham, Introduction to Magnetic Materials, chapter 1, from memory), by a bar
// thin against the side: the section changes it by (w/a)².
func TestSquareCoil(t *testing.T) {
	const a = 0.1
	one, other := frame(flat(2e-4, 2e-4), a, a, geom.Point3{X: 1})
	centre := geom.Point3{X: a / 2}
	p, _ := conductor(t, one).B(centre)
	q, _ := conductor(t, other).B(centre)
	want := 2 * math.Sqrt2 * si.Mu0HPerM / (math.Pi * a)
	same(t, "square coil", p.Sub(q), geom.Point3{Y: want}, 1e-4*want)
}

// Scaling (B ∝ 1/length), mirror in x = 0 and superposition of a bar from two halves
// of its width, with bends.
func TestScaleMirrorSuperposition(t *testing.T) {
	run := []geom.Point3{mm(-40, 10, -70), mm(0, 0, -50), mm(0, 0, 40), mm(10, 30, 60)}
	bar := flat(0.012, 0.003)
	at := mm(5, 9, 12)
	b, bound := conductor(t, runOf(bar, run...)).B(at)

	big := make([]geom.Point3, len(run))
	turned := make([]geom.Point3, len(run))
	for i, p := range run {
		big[i] = p.Scale(3)
		turned[i] = geom.Point3{X: -p.X, Y: p.Y, Z: p.Z}
	}
	s, sBound := conductor(t, runOf(flat(0.036, 0.009), big...)).B(at.Scale(3))
	same(t, "three times as large", s.Scale(3), b, 1e-11*b.Norm())
	if math.Abs(3*sBound-bound) > 1e-9*bound {
		t.Errorf("bound %g does not scale to %g", sBound, bound)
	}
	// A mirror turns the parallel components of B and keeps the one across it.
	m, _ := conductor(t, runOf(bar, turned...)).B(geom.Point3{X: -at.X, Y: at.Y, Z: at.Z})
	same(t, "mirror", m, geom.Point3{X: b.X, Y: -b.Y, Z: -b.Z}, 1e-11*b.Norm())

	// Outlines of the two halves, each with the same run, carry half each. Their bends differ: the legs
	// alone add up.
	half := func(sign float64) *layout.Bar {
		h := flat(0, 0)
		c := geom.Rectangle(0.006, 0.003)
		for i := range c {
			c[i].X += sign * 0.003
		}
		h.Section = layout.Section{Kind: layout.Outline, Corners: c}
		return h
	}
	whole := conductor(t, runOf(bar, run...)).even(at)
	left := conductor(t, runOf(half(-1), run...)).even(at)
	right := conductor(t, runOf(half(1), run...)).even(at)
	same(t, "halves", left.Add(right).Scale(0.5), whole, 1e-11*whole.Norm())
}

// B goes on across a mitre and across the surfaces of the metal.
func TestContinuous(t *testing.T) {
	c := conductor(t, runOf(flat(0.012, 0.003), mm(0, 0, -50), mm(0, 0, 0), mm(30, 20, 30)))
	m := c.legs[0].ToNormal
	const step = 1e-9
	for _, p := range []geom.Point3{{}, mm(4, 1, 0), mm(-20, 3, 0), mm(5, 0.5, 0), mm(0, 9, 0)} {
		p = p.Sub(m.Scale(p.Dot(m))) // onto the mitre plane
		before, after := c.even(p.Sub(m.Scale(step))), c.even(p.Add(m.Scale(step)))
		on := c.even(p)
		same(t, "mitre", after, before, 1e-6*before.Norm())
		same(t, "mitre", on, before, 1e-6*before.Norm())
	}
	// What a bend adds goes on through the faces of the metal.
	edge := &conductor(t, runOf(flat(0.012, 0.003), mm(0, 0, -50), mm(0, 0, 0), mm(50, 0, 0))).bends[0]
	for _, p := range []geom.Point3{mm(1, 1.5, -1), mm(-2, 1.5, -3), mm(0, -1.5, 1)} {
		inside, _ := edge.b(geom.Point3{X: p.X, Y: p.Y * (1 - 1e-5), Z: p.Z})
		outside, _ := edge.b(geom.Point3{X: p.X, Y: p.Y * (1 + 1e-5), Z: p.Z})
		on, _ := edge.b(p)
		same(t, "face", inside, outside, 1e-4*outside.Norm())
		same(t, "face", on, outside, 1e-4*outside.Norm())
	}
	for _, p := range []geom.Point3{mm(0, 1.5, -20), mm(6, 1.5, -20), mm(6, 0.3, -25), mm(-6, -1.5, -50), mm(2, 0, -50)} {
		on := c.even(p)
		beside := c.even(p.Add(geom.Point3{X: 3e-10, Y: 5e-10, Z: 4e-10}))
		same(t, "surface", on, beside, 1e-5*beside.Norm())
	}
}

// Finite wire: B = (μ0 I/4πd)(sin α2 − sin α1) (Jackson, section 5.2), by a bar of
// 0.1 mm at 10 mm; a loop of 720 segments at any place.
func TestWires(t *testing.T) {
	thin := flat(1e-4, 1e-4)
	thin.LengthM = num(0.04)
	for _, z := range []float64{0, 0.015, 0.035} {
		b, _ := conductor(t, thin).B(geom.Point3{Y: 0.01, Z: z})
		sine := func(l float64) float64 { return l / math.Hypot(l, 0.01) }
		same(t, "finite wire", b, geom.Point3{X: -1e-7 / 0.01 * (sine(0.02-z) + sine(0.02+z))}, 3e-5*b.Norm())
	}
	const n, a = 720, 0.02
	p := mm(7, 4, 5)
	var sum geom.Point3
	for k := range n {
		point := func(k int) geom.Point3 {
			s, c := math.Sincos(2 * math.Pi * float64(k) / n)
			return geom.Point3{X: a * c, Y: a * s}
		}
		sum = sum.Add(closedform.SegmentB(p, point(k), point(k+1), 1))
	}
	rho := math.Hypot(p.X, p.Y)
	radial, axial := closedform.LoopB(rho, p.Z, a, 1)
	same(t, "loop", sum, geom.Point3{X: radial * p.X / rho, Y: radial * p.Y / rho, Z: axial}, 5e-5*sum.Norm())
}
