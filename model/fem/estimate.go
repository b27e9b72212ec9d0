package fem

import (
	"math"

	"busgauss/model/element"
	"busgauss/model/sparse"
)

// estimator finds, triangle by triangle, the part of the error that cubics can
// see: it solves for it in the four cubics that vanish at the nodes, driven by
// what is left of the equation inside and by the jumps of ν ∂A/∂n, each side of an
// edge taking a share in proportion to its ν. The estimate is the energy norm
// of that part. Curved triangles have their true gradients and normals at the
// corners, and those of their middle inside.
//
// Source: see the package comment.
type estimator[T sparse.Scalar] struct {
	s      *system[T]
	grad   [][3][2]T // ∇λi
	chol   [][10]T   // factor of the local matrix, rows of its lower triangle
	share  [][3]T    // of the jump at each edge
	faceAt [][3]int32
	bentAt []int32 // index into bent of a curved triangle, -1
	bent   []bentTriangle[T]
	area   []T
	moment [4][6]T // ∫ bubble·shape over a triangle of unit area
	// bend turns ∇A at the corners of a triangle of saturating iron into ν ∇A, or
	// into the tangent's flux; nil in linear problems.
	bend func(t int, flux *[3][2]T)
}

// bentTriangle holds ∇λ at each corner, and the normals times length at start and
// end of each edge, of a curved triangle.
type bentTriangle[T sparse.Scalar] struct {
	grad   [3][3][2]T
	normal [3][2][2]T
}

// gradients returns ∇λi at a point of a curved triangle.
func gradients(x, y *[6]float64, xi, eta float64) (gr [3][2]float64, det float64) {
	dXi, dEta := element.ShapeGrad(xi, eta)
	j := element.NewJacobian(x, y, &dXi, &dEta)
	for i, d := range [3][2]float64{{-1, -1}, {1, 0}, {0, 1}} {
		gr[i][0], gr[i][1] = j.Push(d[0], d[1])
	}
	return gr, j.Det
}

// addBent prepares curved triangle t and returns the gradients of its middle and
// its area by the Jacobian there.
func (e *estimator[T]) addBent(t int) (gr [3][2]float64, area float64) {
	g := e.s.g
	x, y := g.nodes(t)
	var b bentTriangle[T]
	for i, p := range [3][2]float64{{0, 0}, {1, 0}, {0, 1}} {
		gr, _ := gradients(&x, &y, p[0], p[1])
		for k := range gr {
			b.grad[i][k] = [2]T{e.s.lift(gr[k][0]), e.s.lift(gr[k][1])}
		}
	}
	for k := range 3 {
		i, m, j := edgeNodes(k)
		at := func(p, q, r float64) [2]T {
			tx, ty := p*x[i]+q*x[m]+r*x[j], p*y[i]+q*y[m]+r*y[j]
			return [2]T{e.s.lift(ty), e.s.lift(-tx)}
		}
		b.normal[k] = [2][2]T{at(-3, 4, -1), at(1, -4, 3)}
	}
	e.bentAt[t] = int32(len(e.bent))
	e.bent = append(e.bent, b)
	gr, det := gradients(&x, &y, 1.0/3, 1.0/3)
	return gr, det / 2
}

// corners returns ν ∇A at the corners of triangle t.
func (e *estimator[T]) corners(t int, a *[6]T, nu T) [3][2]T {
	if c := e.bentAt[t]; c >= 0 {
		b := &e.bent[c]
		var out [3][2]T
		for i := range 3 {
			f := cornerFlux(a, nu, &b.grad[i])
			out[i] = f[i]
		}
		return out
	}
	return cornerFlux(a, nu, &e.grad[t])
}

// local matrices over a triangle of unit area.
type bubbleMatrices struct {
	xx, xy, yy, mass [4][4]float64
	moment           [4][6]float64
}

func newBubbleMatrices() *bubbleMatrices {
	b := &bubbleMatrices{}
	for _, q := range element.RuleSquare(5) {
		p := element.Bubbles(q.Xi, q.Eta)
		dx, dy := element.BubblesGrad(q.Xi, q.Eta)
		n := element.Shape(q.Xi, q.Eta)
		w := 2 * q.W
		for i := range 4 {
			for j := range 4 {
				b.xx[i][j] += w * dx[i] * dx[j]
				b.yy[i][j] += w * dy[i] * dy[j]
				b.xy[i][j] += w * (dx[i]*dy[j] + dy[i]*dx[j])
				b.mass[i][j] += w * p[i] * p[j]
			}
			for j := range 6 {
				b.moment[i][j] += w * p[i] * n[j]
			}
		}
	}
	return b
}

// newEstimator prepares the estimator.
func newEstimator[T sparse.Scalar](s *system[T]) *estimator[T] {
	g := s.g
	nt := len(g.q.Tris)
	e := &estimator[T]{
		s: s, grad: make([][3][2]T, nt), chol: make([][10]T, nt), share: make([][3]T, nt),
		faceAt: make([][3]int32, nt), bentAt: make([]int32, nt), area: make([]T, nt),
	}
	b := newBubbleMatrices()
	for i := range 4 {
		for j := range 6 {
			e.moment[i][j] = s.lift(b.moment[i][j])
		}
	}
	for t := range nt {
		v := g.m.Tris[t]
		var gr [3][2]float64
		for i := range 3 {
			p, q := g.m.Nodes[v[(i+1)%3]], g.m.Nodes[v[(i+2)%3]]
			gr[i] = [2]float64{(p.Y - q.Y) / (2 * g.area[t]), (q.X - p.X) / (2 * g.area[t])}
		}
		area := g.area[t]
		e.bentAt[t] = -1
		if g.q.Curved[t] {
			gr, area = e.addBent(t)
		}
		e.area[t] = s.lift(area)
		for i := range 3 {
			e.grad[t][i] = [2]T{s.lift(gr[i][0]), s.lift(gr[i][1])}
		}
		nu, m := s.nuEdge(t), 0.0
		if g.conducts(t) {
			m = modulus(s.mass[g.piece[t]]) * area
		}
		n := [3]float64{nu, 0, nu}
		if s.tensor != nil && s.tangentAt[t] >= 0 {
			n = s.tensor[s.tangentAt[t]]
		}
		product := func(i, j int) float64 {
			p, q := gr[i], gr[j]
			return area * (n[0]*p[0]*q[0] + n[1]*(p[0]*q[1]+p[1]*q[0]) + n[2]*p[1]*q[1])
		}
		xx, yy, xy := product(1, 1), product(2, 2), product(1, 2)
		var l [4][4]float64
		for i := range 4 {
			for j := range i + 1 {
				sum := xx*b.xx[i][j] + xy*b.xy[i][j] + yy*b.yy[i][j] + m*b.mass[i][j]
				for k := range j {
					sum -= l[i][k] * l[j][k]
				}
				if i == j {
					l[i][i] = math.Sqrt(sum)
					sum = 1 / l[i][i]
				} else {
					l[i][j] = sum / l[j][j]
					sum = l[i][j]
				}
				e.chol[t][i*(i+1)/2+j] = s.lift(sum)
			}
		}
		for k := range 3 {
			e.faceAt[t][k] = -1
			if o := g.m.Adj[t][k]; o >= 0 {
				e.share[t][k] = s.lift(nu / (nu + s.nuEdge(int(o))))
			}
		}
	}
	for f := range g.faces {
		t, k := g.faces[f].tri, g.faces[f].edge
		e.faceAt[t][k] = int32(f)
		o := g.m.Adj[t][k]
		for j := range 3 {
			if int(g.m.Adj[o][j]) == t {
				e.faceAt[o][j] = int32(f)
			}
		}
	}
	return e
}

// estimate returns the error of one source on each triangle, in the square root of
// the energy ∫ ν |∇A|².
func (e *estimator[T]) estimate(r *reaction[T], src int) []float64 {
	g := e.s.g
	flux := make([][3][2]T, len(g.q.Tris))
	for t := range g.q.Tris {
		var a [6]T
		if g.iron(t) {
			a = r.total(src, t)
		} else {
			a = r.reduced(src, t)
		}
		flux[t] = e.corners(t, &a, e.s.nuOf(t))
		if e.bend != nil {
			e.bend(t, &flux[t])
		}
	}
	return e.residuals(r, src, flux, nil)
}

// cornerFlux returns ν ∇A at the corners.
func cornerFlux[T sparse.Scalar](a *[6]T, nu T, gr *[3][2]T) (f [3][2]T) {
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		p := nu * (4*a[3+i] - a[j] - 3*a[i]) // node 3+i lies between i and j
		q := nu * (4*a[3+k] - a[k] - 3*a[i]) // node 3+k between k and i
		f[i] = [2]T{p*gr[j][0] + q*gr[k][0], p*gr[j][1] + q*gr[k][1]}
	}
	return f
}

// residuals solves the local problems for given ν ∇A at the corners.
func (e *estimator[T]) residuals(r *reaction[T], src int, flux [][3][2]T, load pointLoad[T]) []float64 {
	g, d := e.s.g, &r.drives[src]
	out := make([]float64, len(g.q.Tris))
	sixtieth := e.s.lift(1.0 / 60)
	for t := range g.q.Tris {
		var b [4]T
		own, gr := &flux[t], &e.grad[t]
		area := e.area[t]
		// Edges.
		for k := range 3 {
			o := g.m.Adj[t][k]
			if o < 0 {
				continue
			}
			i, j := (k+1)%3, (k+2)%3
			// Outward normal times length is −2A ∇λk.
			ni := [2]T{-2 * area * gr[k][0], -2 * area * gr[k][1]}
			nj := ni
			if c := e.bentAt[t]; c >= 0 {
				ni, nj = e.bent[c].normal[k][0], e.bent[c].normal[k][1]
			}
			other := &flux[o]
			oi, oj := cornerIndex(&g.m.Tris[o], g.m.Tris[t][i]), cornerIndex(&g.m.Tris[o], g.m.Tris[t][j])
			ji := (own[i][0]-other[oi][0])*ni[0] + (own[i][1]-other[oi][1])*ni[1]
			jj := (own[j][0]-other[oj][0])*nj[0] + (own[j][1]-other[oj][1])*nj[1]
			moment := (ji - jj) * sixtieth
			if f := e.faceAt[t][k]; f >= 0 {
				if g.faces[f].tri == t {
					moment -= e.s.lift(d.bubble[f])
				} else {
					moment += e.s.lift(d.bubble[f])
				}
			}
			b[i] -= e.share[t][k] * moment
		}
		// Inside.
		var div T
		for i := range 3 {
			div += own[i][0]*gr[i][0] + own[i][1]*gr[i][1]
		}
		if p := g.piece[t]; p >= 0 && d.density[p] != 0 {
			div += e.s.lift(d.density[p])
		}
		b[3] += div * area * sixtieth
		if g.conducts(t) {
			a, c, v := r.total(src, t), e.s.mass[g.piece[t]], r.v[src][g.piece[t]]
			for i := range 4 {
				var sum T
				for j := range 6 {
					sum += e.moment[i][j] * (a[j] + v)
				}
				b[i] -= c * area * sum
			}
		}
		if load != nil {
			extra := load[t] // zero where there is none
			for i := range b {
				b[i] += e.s.lift(extra[i])
			}
		}
		out[t] = forward(&e.chol[t], &b)
	}
	return out
}

// forward returns |L⁻¹ b|; the diagonal of L is stored inverted.
func forward[T sparse.Scalar](l *[10]T, b *[4]T) float64 {
	sum := 0.0
	var y [4]T
	for i := range 4 {
		v := b[i]
		for j := range i {
			v -= l[i*(i+1)/2+j] * y[j]
		}
		y[i] = v * l[i*(i+1)/2+i]
		sum += square(y[i])
	}
	return math.Sqrt(sum)
}

// square returns |x|².
func square[T sparse.Scalar](x T) float64 {
	switch v := any(x).(type) {
	case float64:
		return v * v
	case complex128:
		return real(v)*real(v) + imag(v)*imag(v)
	}
	panic("fem: unknown scalar")
}

func cornerIndex(v *[3]int32, n int32) int {
	switch n {
	case v[0]:
		return 0
	case v[1]:
		return 1
	}
	return 2
}
