package fem

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/internal/check"
	"busgauss/model/material"
	"busgauss/model/mesh"
	"busgauss/model/sparse"
)

// unitSquare returns a grid of the square [0,1]², iron so that nothing is left out,
// with irregular triangles of about the given size. The rim is empty: tests put
// Dirichlet values on the border.
func unitSquare(t *testing.T, h float64) *grid {
	t.Helper()
	m, err := mesh.Triangulate(mesh.Input{Loops: []mesh.Loop{{Points: geom.Polygon{{X: 0, Y: 0}, {X: 1, Y: 0}, {X: 1, Y: 1}, {X: 0, Y: 1}}, Region: 1}},
		Points: []geom.Point{{X: 0.31, Y: 0.47}, {X: 0.62, Y: 0.23}}},
		mesh.Options{Size: func(geom.Point, mesh.RegionID) float64 { return h }})
	if err != nil {
		t.Fatal(err)
	}
	d := &drawing{pieces: []*Piece{{}}, index: []int{0}, media: []medium{{nu: 1, iron: true}}}
	return newGrid(d, m)
}

// dirichlet solves ∫∇A·∇w = ∫ f w with A given on the border.
func dirichlet(t *testing.T, g *grid, exact, f func(geom.Point) float64) []float64 {
	t.Helper()
	g.analyse()
	s := &system[float64]{g: g, lift: liftReal, nu: []float64{1}, mass: []float64{0}}
	s.assemble()
	b := make([]float64, g.n)
	for k, six := range g.q.Tris {
		x, y := g.nodes(k)
		for _, q := range element.RuleSquare(5) {
			n := element.Shape(q.Xi, q.Eta)
			var at geom.Point
			for i := range n {
				at.X += n[i] * x[i]
				at.Y += n[i] * y[i]
			}
			for i, node := range six {
				b[node] += 2 * g.area[k] * q.W * n[i] * f(at)
			}
		}
	}
	// A large diagonal: exact to the ratio of the stiffness to it.
	const big = 1e12
	for k := range g.m.Tris {
		for e := range 3 {
			if g.m.Adj[k][e] >= 0 {
				continue
			}
			a, mid, c := edgeNodes(e)
			for _, i := range []int{a, mid, c} {
				n := g.q.Tris[k][i]
				s.values[g.matrix().pattern.Index(int(n), int(n))] = big
				b[n] = big * exact(g.q.Nodes[n])
			}
		}
	}
	fac, err := sparse.FactorNumeric(g.matrix().sym, s.values, nil)
	if err != nil {
		t.Fatal(err)
	}
	fac.Solve(b, 1)
	return b
}

// norms returns the L2 errors of A and of its gradient.
func norms(g *grid, a []float64, exact func(geom.Point) float64, grad func(geom.Point) geom.Point) (ea, eb float64) {
	for k, six := range g.q.Tris {
		x, y := g.nodes(k)
		for _, q := range element.RuleSquare(5) {
			n := element.Shape(q.Xi, q.Eta)
			dXi, dEta := element.ShapeGrad(q.Xi, q.Eta)
			j := element.NewJacobian(&x, &y, &dXi, &dEta)
			var at, got geom.Point
			v := 0.0
			for i := range n {
				at.X += n[i] * x[i]
				at.Y += n[i] * y[i]
				v += n[i] * a[six[i]]
				dx, dy := j.Push(dXi[i], dEta[i])
				got.X += dx * a[six[i]]
				got.Y += dy * a[six[i]]
			}
			w := q.W * j.Det
			ea += w * (v - exact(at)) * (v - exact(at))
			d := got.Sub(grad(at))
			eb += w * d.Dot(d)
		}
	}
	return math.Sqrt(ea), math.Sqrt(eb)
}

// Patch test: quadratics, and so linear A, are reproduced to round-off.
func TestPatch(t *testing.T) {
	g := unitSquare(t, 0.2)
	exact := func(p geom.Point) float64 { return 3 - 2*p.X + 5*p.Y + 1.5*p.X*p.X - 0.7*p.X*p.Y + 0.2*p.Y*p.Y }
	grad := func(p geom.Point) geom.Point {
		return geom.Point{X: -2 + 3*p.X - 0.7*p.Y, Y: 5 - 0.7*p.X + 0.4*p.Y}
	}
	a := dirichlet(t, g, exact, func(geom.Point) float64 { return -(3 + 0.4) })
	ea, eb := norms(g, a, exact, grad)
	if !(ea < 1e-10 && eb < 1e-9) {
		t.Errorf("patch test: errors %g and %g", ea, eb)
	}
}

// Order test: A = sin 2x e^y is smooth, with quadratics A is of order 3 and B of
// order 2 in L2.
func TestOrder(t *testing.T) {
	exact := func(p geom.Point) float64 { return math.Sin(2*p.X) * math.Exp(p.Y) }
	grad := func(p geom.Point) geom.Point {
		return geom.Point{X: 2 * math.Cos(2*p.X) * math.Exp(p.Y), Y: math.Sin(2*p.X) * math.Exp(p.Y)}
	}
	var h, ea, eb []float64
	for _, size := range []float64{0.16, 0.08, 0.04, 0.02} {
		g := unitSquare(t, size)
		a := dirichlet(t, g, exact, func(p geom.Point) float64 { return 3 * exact(p) })
		x, y := norms(g, a, exact, grad)
		// The size that counts is that of the mesh made, not of the one asked for.
		h, ea, eb = append(h, 1/math.Sqrt(float64(len(g.q.Tris)))), append(ea, x), append(eb, y)
	}
	t.Logf("orders of A %v, of B %v", check.Orders(h, ea), check.Orders(h, eb))
	if !check.IsOrder(h, ea, 3, 0.2) || !check.IsOrder(h, eb, 2, 0.15) || !(ea[3] < 2e-6) {
		t.Errorf("errors of A %v (orders %v), of B %v (orders %v)", ea, check.Orders(h, ea), eb, check.Orders(h, eb))
	}
}

// Reciprocity: the flux that current in one bar sends through the section of
// another is the same both ways, ∫ J1 A2 = ∫ J2 A1; here as means of the reaction
// over the bars, with iron and with eddy currents.
func TestReciprocity(t *testing.T) {
	for _, freq := range []float64{0, 400} {
		p := three()
		for i := range p.Pieces {
			if !p.Pieces[i].IsBar {
				p.Pieces[i].SigmaSPerM = 2e6
			}
		}
		p.Pieces[0].Region = mmPoly(-40, -1, -28, -1, -28, 2, -40, 2) // no symmetry
		s, err := Solve(p, freq, Options{})
		if err != nil {
			t.Fatal(err)
		}
		// The voltage of bar b per ampere in bar a, over jω, is the mean over b.
		mutual := func(a, b int) complex128 {
			switch l := s.engine.(type) {
			case *linear[complex128]:
				for k, idx := range l.s.g.d.index {
					if idx == s.bars[b] {
						return -toComplex(l.r.v[a][k])
					}
				}
			case *linear[float64]:
				// At direct current the bars have no elements: the mean by quadrature of a
				// circle-free section.
				box := p.Pieces[s.bars[b]].Region.Box()
				sum, g := 0.0, element.Gauss(8)
				for _, u := range g {
					for _, v := range g {
						q := geom.Point{X: box.Min.X + u.X*box.Size().X, Y: box.Min.Y + v.X*box.Size().Y}
						x, ok := l.r.reducedAt(q, a)
						if !ok {
							t.Fatal("outside the mesh")
						}
						sum += u.W * v.W * x
					}
				}
				return complex(sum, 0)
			}
			t.Fatal("no engine")
			return 0
		}
		for a := range 3 {
			for b := range a {
				x, y := mutual(a, b), mutual(b, a)
				tol := 3e-6 // sources enter through their values at nodes
				if freq == 0 {
					tol = 2e-4
				}
				if !(cmplx.Abs(x-y) <= tol*cmplx.Abs(x)) {
					t.Errorf("%g Hz, bars %d and %d: %g and %g", freq, a, b, x, y)
				}
			}
		}
	}
}

// The response of a sensor to a bar is, by the adjoint problem, the mean over
// the bar of the reaction to a dipole at the sensor: two ways to the same number.
func TestAdjointGivesTheSameValue(t *testing.T) {
	p := refShield()
	p.Pieces[1].MuRel, p.Pieces[1].SigmaSPerM = 1000, 2e6
	s, err := Solve(p, 1000, Options{})
	if err != nil {
		t.Fatal(err)
	}
	l := s.engine.(*linear[complex128])
	bx, by, _, _ := l.field(p.Sensors[0], 0)
	dual := l.duals(p.Sensors)[0]
	for dir, want := range []complex128{bx, by} {
		// −v of the bar is the mean of total A over it, and A of the dipole itself
		// belongs to the bare bar.
		mean := -dual.v[dir][0]
		exact := p.currentOf(0).flux(p.Sensors[0])
		bare := complex([]float64{exact.X, exact.Y}[dir], 0)
		if got := mean*mu0 - bare; !(cmplx.Abs(got-want) <= 2e-5*cmplx.Abs(bx)) {
			t.Errorf("direction %d: %g by the adjoint, %g by Biot and Savart", dir, got, want)
		}
	}
}

// Energy balance: what the bar takes in, Re(voltage)·current, is what all pieces
// lose.
func TestEnergyBalance(t *testing.T) {
	p := three()
	for i := range p.Pieces {
		if !p.Pieces[i].IsBar {
			p.Pieces[i].SigmaSPerM = 2e6
		}
	}
	for _, freq := range []float64{50, 1000, 20000} {
		s, err := Solve(p, freq, Options{})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, w := range s.LossesWPerM([]complex128{0, 1, 0}) {
			sum += w
		}
		if r := s.Resistance(1); !(math.Abs(2*sum-r.TotalOhmPerM) <= 1e-4*r.TotalOhmPerM) || !(r.OwnOhmPerM < r.TotalOhmPerM) {
			t.Errorf("%g Hz: %g Ω/m from the voltage, %g from the losses, %g in the bar", freq, r.TotalOhmPerM, 2*sum, r.OwnOhmPerM)
		}
	}
}

// σ → 0 equals statics: with conductivities a million times smaller the field is
// that of direct current.
func TestVanishingConductivity(t *testing.T) {
	p := refShield()
	p.Pieces[1].MuRel = 1000
	dc, err := Solve(p, 0, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p.Pieces[0].SigmaSPerM, p.Pieces[1].SigmaSPerM = 58, 2
	ac, err := Solve(p, 1000, Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, _, e1 := dc.B(p.Sensors[0], 0)
	b, _, e2 := ac.B(p.Sensors[0], 0)
	if !(cmplx.Abs(a-b) <= e1+e2 && cmplx.Abs(a-b) < 2e-4*cmplx.Abs(a)) {
		t.Errorf("%g and %g, bounds %g and %g", a, b, e1, e2)
	}
}

// Net currents are what they are given: own bar one ampere, everything else
// nothing; bonded bars share.
func TestNetCurrents(t *testing.T) {
	bars := []Piece{mmBar(15, 4, -25, 0), mmBar(15, 4, 0, 0), mmBar(15, 4, 25, 0)}
	net := func(s *Solution, src, piece int) (sum complex128) {
		l := s.engine.(*linear[complex128])
		g := l.s.g
		c := l.r.drives[src].src.(*current)
		for k, idx := range g.d.index {
			if idx != piece {
				continue
			}
			for i, j := range c.index {
				if j == piece {
					sum += complex(c.shares[i], 0)
				}
			}
			for t := range g.q.Tris {
				if g.piece[t] == k {
					m, a := g.mass(t), l.r.total(src, t)
					for i := range 6 {
						for j := range 6 {
							sum -= l.s.mass[k] / mu0 * complex(m[i][j], 0) * (a[j] + l.r.v[src][k])
						}
					}
				}
			}
		}
		return sum
	}
	s, err := Solve(&Problem{Pieces: bars, Sensors: []geom.Point{{Y: 4.5e-3}}}, 2000, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for src := range 3 {
		for piece := range 3 {
			want := 0.0
			if src == piece {
				want = 1
			}
			if got := net(s, src, piece); cmplx.Abs(got-complex(want, 0)) > 1e-9 {
				t.Errorf("current %g in bar %d of source %d", got, piece, src)
			}
		}
	}
	// Common practice: the own reading of such a bar falls by 20.5 % and lags 6.6° at
	// 2 kHz, 58 MS/m, 2.5 mm above the face.
	bx, _, _ := s.B(geom.Point{Y: 4.5e-3}, 1)
	dc := s.srcs[1].flux(geom.Point{Y: 4.5e-3}).X
	gain := bx / complex(dc, 0)
	if math.Abs(cmplx.Abs(gain)-0.795) > 0.002 || math.Abs(cmplx.Phase(gain)*180/math.Pi+6.6) > 0.15 {
		t.Errorf("own reading at 2 kHz: %.4f of direct current at %.2f°", cmplx.Abs(gain), cmplx.Phase(gain)*180/math.Pi)
	}
	// Outer bars bonded: together nothing, each something.
	b, err := Solve(&Problem{Pieces: bars, Bonded: [][]int{{0, 2}, {1}}, Sensors: []geom.Point{{X: 10e-3, Y: 4.5e-3}}}, 2000, Options{})
	if err != nil {
		t.Fatal(err)
	}
	i, j := net(b, 1, 0), net(b, 1, 2)
	if cmplx.Abs(i+j) > 1e-9 {
		t.Errorf("bonded bars carry %g and %g", i, j)
	}
	if i, j = net(b, 0, 0), net(b, 0, 2); cmplx.Abs(i+j-1) > 1e-9 || cmplx.Abs(i-j) > 1e-5 {
		t.Errorf("one ampere into a bonded pair divides into %g and %g", i, j)
	}
}

// Jacobian against differences: the tangent times a step equals the change of the
// residual.
func TestTangentAgainstDifferences(t *testing.T) {
	curve, err := material.SaturationCurve(1000, 1.6)
	if err != nil {
		t.Fatal(err)
	}
	p := refShield()
	p.Pieces[1].Curve = curve
	w, err := NewSaturating(p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Solve([]float64{2000}, [2]float64{}); err != nil {
		t.Fatal(err)
	}
	z, n := w.z, w.z.s.g.n
	x, d := append([]float64(nil), w.last...), make([]float64, n)
	rng := rand.New(rand.NewPCG(1, 2))
	scale := 0.0
	for _, v := range x {
		scale = math.Max(scale, math.Abs(v))
	}
	for i := range d {
		d[i] = scale * (rng.Float64() - 0.5)
	}
	z.tangents(x, 1)
	z.s.assembleTangent(z)
	want := make([]float64, n)
	sparse.MulVec(z.s.g.matrix().pattern, z.s.values, d, want)
	const eps = 1e-6
	up, down := make([]float64, n), make([]float64, n)
	for i := range x {
		up[i], down[i] = x[i]+eps*d[i], x[i]-eps*d[i]
	}
	ru, rd := make([]float64, n), make([]float64, n)
	z.residual(up, ru, 1)
	z.residual(down, rd, 1)
	size, diff := 0.0, 0.0
	for i := range want {
		size = math.Max(size, math.Abs(want[i]))
		diff = math.Max(diff, math.Abs((ru[i]-rd[i])/(2*eps)-want[i]))
	}
	if !(diff <= 1e-4*size) {
		t.Errorf("tangent off by %g of %g", diff, size)
	}
}
