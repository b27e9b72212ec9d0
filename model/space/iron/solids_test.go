package iron

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
)

// ball divides the unit cube -1 … 1 in n³ cells of six tetrahedra and maps it.
func ball(n int, place func(geom.Point3) geom.Point3) *tetra {
	var nodes []geom.Point3
	at := func(i, j, k int) int32 { return int32((i*(n+1)+j)*(n+1) + k) }
	f := func(i int) float64 { return -1 + 2*float64(i)/float64(n) }
	for i := range n + 1 {
		for j := range n + 1 {
			for k := range n + 1 {
				p := geom.Point3{X: f(i), Y: f(j), Z: f(k)}
				if r := p.Norm(); r > 0 {
					p = p.Scale(math.Max(math.Abs(p.X), math.Max(math.Abs(p.Y), math.Abs(p.Z))) / r)
				}
				nodes = append(nodes, place(p))
			}
		}
	}
	var tets [][4]int32
	for i := range n {
		for j := range n {
			for k := range n {
				// The long diagonals run from the middle outwards, so that no cell is flat.
				x, y, z := [2]int{i, i + 1}, [2]int{j, j + 1}, [2]int{k, k + 1}
				for a, v := range []*[2]int{&x, &y, &z} {
					if []int{i, j, k}[a] < n/2 {
						v[0], v[1] = v[1], v[0]
					}
				}
				for _, o := range [6][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
					var c [3]int
					t := [4]int32{at(x[0], y[0], z[0])}
					for s, axis := range o {
						c[axis] = 1
						t[s+1] = at(x[c[0]], y[c[1]], z[c[2]])
					}
					tets = append(tets, t)
				}
			}
		}
	}
	return newTetra(nodes, tets, make([]int32, len(tets)), 1)
}

// rawProblem wraps two meshes of one piece.
func rawProblem(muRel float64, coarse, fine *tetra) *Problem {
	pieces := []Piece{{Name: "solid", MuRel: muRel}}
	return &Problem{pieces: pieces, levels: [2]*level{newLevel(coarse, pieces, 1), newLevel(fine, pieces, 1)}, scale: 1}
}

func uniform(b geom.Point3) Source { return func(geom.Point3) geom.Point3 { return b } }

// means returns the volume means of B and of M, extrapolated.
func means(l *Linear, source int) (b, mag geom.Point3) {
	var vb, vm [2]geom.Point3
	for k, a := range l.levels {
		volume := 0.0
		for e, v := range a.l.m.vol {
			vb[k] = vb[k].Add(a.b[0][source][e].Scale(v))
			vm[k] = vm[k].Add(a.mag[0][source][e].Scale(v))
			volume += v
		}
		vb[k], vm[k] = vb[k].Scale(1/volume), vm[k].Scale(1/volume)
	}
	b, _ = limit3(vb[0], vb[1], 0, 1)
	mag, _ = limit3(vm[0], vm[1], 0, 1)
	return b, mag
}

// A solid sphere in a uniform field: H inside is 3/(μr+2) of the field outside (J. D.
// Jackson, Classical Electrodynamics, 3rd ed., section 5.11); outside it is a dipole of
// moment 4π (μr−1)/(μr+2) a³ H0.
func TestSphere(t *testing.T) {
	same := func(p geom.Point3) geom.Point3 { return p.Scale(10 * mm) }
	coarse, fine := ball(4, same), ball(8, same)
	for _, muRel := range []float64{2, 10, 1000} {
		p := rawProblem(muRel, coarse, fine)
		l, err := p.Linear(nil, []Source{uniform(geom.Point3{Z: 1})})
		if err != nil {
			t.Fatal(err)
		}
		b, _ := means(l, 0)
		want := 3 * muRel / (muRel + 2)
		t.Logf("μr %g: B %.5f, want %.5f", muRel, b.Z, want)
		if !(math.Abs(b.Z-want) <= 0.006*want) || math.Hypot(b.X, b.Y) > 1e-3*want {
			t.Errorf("μr %g: B %v, want %g along z", muRel, b, want)
		}
		for _, q := range []geom.Point3{{Z: 15 * mm}, {X: 15 * mm}, {X: 9 * mm, Y: 6 * mm, Z: 10 * mm}} {
			r := q.Norm()
			m := (muRel - 1) / (muRel + 2) * math.Pow(10*mm/r, 3)
			dipole := geom.Point3{Z: 1}.Add(q.Scale(3 * q.Z * m / (r * r))).Sub(geom.Point3{Z: m})
			got, bound := l.B(q, 0)
			if diff := got.Sub(dipole).Norm(); !(diff <= 0.01*dipole.Norm()) || !(diff <= bound.T) {
				t.Errorf("μr %g at %v: %v, want %v, off by %.2g, bound %.2g", muRel, q, got, dipole, diff, bound.T)
			}
		}
	}
}

// A prolate ellipsoid of axes 3:1: demagnetising factors along and across the long axis
// (J. A. Osborn, Demagnetizing factors of the general ellipsoid, Phys. Rev. 67 (1945) 351).
func TestProlateEllipsoid(t *testing.T) {
	const m = 3.0
	s := math.Sqrt(m*m - 1)
	along := (m/s*math.Log(m+s) - 1) / (m*m - 1)
	stretch := func(p geom.Point3) geom.Point3 {
		return geom.Point3{X: 5 * mm * p.X, Y: 5 * mm * p.Y, Z: 5 * mm * m * p.Z}
	}
	p := rawProblem(100, ball(4, stretch), ball(8, stretch))
	l, err := p.Linear(nil, []Source{uniform(geom.Point3{Z: 1}), uniform(geom.Point3{X: 1})})
	if err != nil {
		t.Fatal(err)
	}
	const mu0 = 4e-7 * math.Pi
	for k, want := range []float64{along, (1 - along) / 2} {
		_, mag := means(l, k)
		size := mag.Norm()
		// M = χ H, H = H0 − N M.
		n := (1/mu0 - size/99) / size
		t.Logf("axis %d: %.5f, Osborn %.5f", k, n, want)
		if !(math.Abs(n-want) <= 0.01*want) {
			t.Errorf("demagnetising factor %d: %.5f, want %.5f", k, n, want)
		}
	}
}

// shell divides the space between two spheres: n × n cells on each face of a cube, so
// many layers.
func shell(n, layers int, inM, outM float64) *tetra {
	index := map[[3]int]int32{}
	var surface []geom.Point3
	at := func(c [3]int) int32 {
		if i, ok := index[c]; ok {
			return i
		}
		// Equal angles on the faces, for even cells.
		f := func(i int) float64 { return math.Tan(math.Pi / 4 * (2*float64(i)/float64(n) - 1)) }
		p := geom.Point3{X: f(c[0]), Y: f(c[1]), Z: f(c[2])}
		index[c] = int32(len(surface))
		surface = append(surface, p.Scale(1/p.Norm()))
		return index[c]
	}
	s := &section{}
	for axis := range 3 {
		for _, side := range []int{0, n} {
			for i := range n {
				for j := range n {
					corner := func(di, dj int) int32 {
						var c [3]int
						c[axis], c[(axis+1)%3], c[(axis+2)%3] = side, i+di, j+dj
						return at(c)
					}
					a, b, c, d := corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)
					if (i+j)%2 == 0 {
						s.tris = append(s.tris, [3]int32{a, b, c}, [3]int32{a, c, d})
					} else {
						s.tris = append(s.tris, [3]int32{a, b, d}, [3]int32{b, c, d})
					}
				}
			}
		}
	}
	s.pts = make([]geom.Point, len(surface))
	s.adj = make([][3]int32, len(s.tris))
	for k := range s.adj {
		s.adj[k] = [3]int32{-1, -1, -1}
	}
	b := &assembly{}
	var r []float64
	for k := range layers + 1 {
		r = append(r, inM+(outM-inM)*float64(k)/float64(layers))
	}
	b.add(0, s, r)
	for i := range b.nodes {
		b.nodes[i] = surface[i%len(surface)].Scale(b.nodes[i].Z)
	}
	return newTetra(b.nodes, b.tets, b.piece, 1)
}

// A spherical shell in a uniform field: shielding factor at the centre from
// fixtures/reference/analytic-cases.yaml (Jackson, section 5.12).
func TestSphericalShell(t *testing.T) {
	const a, b, mu = 10.0, 12.0, 1000.0
	want := ((2*mu+1)*(mu+2) - 2*math.Pow(a/b, 3)*(mu-1)*(mu-1)) / (9 * mu)
	if math.Abs(want-94.43425) > 1e-5 {
		t.Fatalf("formula gives %g", want)
	}
	p := rawProblem(mu, shell(4, 1, a*mm, b*mm), shell(8, 2, a*mm, b*mm))
	l, err := p.Linear(nil, []Source{uniform(geom.Point3{Z: 1})})
	if err != nil {
		t.Fatal(err)
	}
	got, bound := l.B(geom.Point3{}, 0)
	off := got.Sub(geom.Point3{Z: 1 / want}).Norm()
	// What the meshes can do is a share of the field outside, of which one part in 94 is
	// left here; the bound has to say so.
	t.Logf("inside %.5f of the field outside, want %.5f, bound %.5f", got.Z, 1/want, bound.T)
	if !(off <= 0.015) || !(off <= bound.T) || !(bound.T < 0.1) {
		t.Errorf("inside %v of the field outside, want %.5f, bound %.5f", got, 1/want, bound.T)
	}
}

// The same of complex permeability in an alternating field, as sheet has it: both boundary conditions are linear, so that the
// formula holds for phasors (Jackson, section 5.12). The field inside within a hundredth of that outside.
func TestSphericalShellAlternating(t *testing.T) {
	const a, b = 10.0, 12.0
	p := rawProblem(30, shell(4, 1, a*mm, b*mm), shell(8, 2, a*mm, b*mm))
	for _, mu := range []complex128{30 - 20i, 8 - 8i, 3} {
		k := complex(math.Pow(a/b, 3), 0)
		want := 9 * mu / ((2*mu+1)*(mu+2) - 2*k*(mu-1)*(mu-1))
		alt, err := p.Alternating([]complex128{mu}, NewBasis([]Source{uniform(geom.Point3{Z: 1})}), NewLoops(nil), []Sum{{Basis: []complex128{1}}}, false)
		if err != nil {
			t.Fatal(err)
		}
		re, im, bound := alt.B(geom.Point3{X: 1 * mm, Z: 2 * mm}, 0)
		off := cmplx.Abs(complex(re.Z, im.Z) - want)
		t.Logf("μ %g: inside %.4f%+.4fi, want %.4f, bound %.4f", mu, re.Z, im.Z, want, bound.T)
		if !(off <= 0.01) || !(off <= bound.T) {
			t.Errorf("μ %g: inside %.4f%+.4fi, want %.4f, bound %.4f", mu, re.Z, im.Z, want, bound.T)
		}
	}
}
