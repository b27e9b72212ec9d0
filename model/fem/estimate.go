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
// corners, and those of their middle inside. Everything runs on two lanes at once.
//
// Source: see the package comment.
type estimator struct {
	g        *grid
	nu, mass []lanes         // of each active piece, real and imaginary part
	grad     [][3][2]float64 // ∇λi
	chol     [][10]float64   // factor of the local matrix, rows of its lower triangle
	share    [][3]float64    // of the jump at each edge
	beyond   [][3]int32      // the triangle beyond each edge times four, and the number of the edge there; -1
	faceAt   [][3]int32
	bentAt   []int32 // index into bent of a curved triangle, -1
	bent     []bentTriangle
	area     []float64
	moment   [4][6]float64 // ∫ bubble·shape over a triangle of unit area
	// bend turns ∇A at the corners of a triangle of saturating iron into ν ∇A, or
	// into the tangent's flux; nil in linear problems.
	bend func(t int, f *flux)
}

// lanes are two numbers that go the same way: the real and the imaginary part of one
// source, or two sources of a real system.
type lanes [2]float64

// flux is ν ∇A at the corners of a triangle, along x and y.
type flux [3][2]lanes

// estimated is what the estimate of two lanes is made from.
type estimated struct {
	ar, as  []lanes // at the nodes
	bubble  []lanes // see drive
	density []lanes
	v       []lanes // potential of each active piece over jω
	flux    []flux
	out     []lanes // see squares
}

// borrow returns a blank estimated, to be put back into the scratch of the grid.
func (e *estimator) borrow() *estimated {
	in, ok := e.g.made.scratch.Get().(*estimated)
	if !ok {
		nt, np := len(e.g.q.Tris), len(e.g.d.pieces)
		return &estimated{ar: make([]lanes, e.g.n), as: make([]lanes, e.g.n), bubble: make([]lanes, len(e.g.faces)),
			density: make([]lanes, np), v: make([]lanes, np), flux: make([]flux, nt), out: make([]lanes, nt)}
	}
	for _, x := range [][]lanes{in.ar, in.as, in.bubble, in.density, in.v} {
		clear(x)
	}
	return in
}

// bentTriangle holds ∇λ at each corner, and the normals times length at start and
// end of each edge, of a curved triangle.
type bentTriangle struct {
	grad   [3][3][2]float64
	normal [3][2][2]float64
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
func (e *estimator) addBent(t int) (gr [3][2]float64, area float64) {
	x, y := e.g.nodes(t)
	var b bentTriangle
	for i, p := range [3][2]float64{{0, 0}, {1, 0}, {0, 1}} {
		b.grad[i], _ = gradients(&x, &y, p[0], p[1])
	}
	for k := range 3 {
		i, m, j := edgeNodes(k)
		at := func(p, q, r float64) [2]float64 {
			tx, ty := float64(p*x[i])+float64(q*x[m])+float64(r*x[j]), float64(p*y[i])+float64(q*y[m])+float64(r*y[j])
			return [2]float64{ty, -tx}
		}
		b.normal[k] = [2][2]float64{at(-3, 4, -1), at(1, -4, 3)}
	}
	e.bentAt[t] = int32(len(e.bent))
	e.bent = append(e.bent, b)
	gr, det := gradients(&x, &y, 1.0/3, 1.0/3)
	return gr, det / 2
}

// corners sets f to ν ∇A at the corners of triangle t.
func (e *estimator) corners(t int, a *[6]lanes, nu lanes, f *flux) {
	gr := &e.grad[t]
	for i := range f {
		if c := e.bentAt[t]; c >= 0 {
			gr = &e.bent[c].grad[i]
		}
		j, k := (i+1)%3, (i+2)%3
		near, onJ, onK, atJ, atK := &a[i], &a[3+i], &a[3+k], &a[j], &a[k] // onJ lies between i and j
		p := lanes{4*onJ[0] - atJ[0] - float64(3*near[0]), 4*onJ[1] - atJ[1] - float64(3*near[1])}
		q := lanes{4*onK[0] - atK[0] - float64(3*near[0]), 4*onK[1] - atK[1] - float64(3*near[1])}
		if nu[0] != 1 || nu[1] != 0 {
			p, q = times(nu, p), times(nu, q)
		}
		f[i][0] = lanes{float64(p[0]*gr[j][0]) + float64(q[0]*gr[k][0]), float64(p[1]*gr[j][0]) + float64(q[1]*gr[k][0])}
		f[i][1] = lanes{float64(p[0]*gr[j][1]) + float64(q[0]*gr[k][1]), float64(p[1]*gr[j][1]) + float64(q[1]*gr[k][1])}
	}
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
				b.xx[i][j] += float64(w * dx[i] * dx[j])
				b.yy[i][j] += float64(w * dy[i] * dy[j])
				b.xy[i][j] += float64(w * (float64(dx[i]*dy[j]) + float64(dy[i]*dx[j])))
				b.mass[i][j] += float64(w * p[i] * p[j])
			}
			for j := range 6 {
				b.moment[i][j] += float64(w * p[i] * n[j])
			}
		}
	}
	return b
}

// newEstimator prepares the estimator.
func newEstimator[T sparse.Scalar](s *system[T]) *estimator {
	g := s.g
	nt := len(g.q.Tris)
	e := &estimator{
		g: g, nu: make([]lanes, len(s.nu)), mass: make([]lanes, len(s.mass)),
		grad: make([][3][2]float64, nt), chol: make([][10]float64, nt), share: make([][3]float64, nt),
		beyond: make([][3]int32, nt), faceAt: make([][3]int32, nt), bentAt: make([]int32, nt), area: make([]float64, nt),
	}
	putLanes(e.nu, 0, s.nu)
	putLanes(e.mass, 0, s.mass)
	b := newBubbleMatrices()
	e.moment = b.moment
	for t := range nt {
		v := g.m.Tris[t]
		gr := &e.grad[t]
		for i := range 3 {
			p, q := g.m.Nodes[v[(i+1)%3]], g.m.Nodes[v[(i+2)%3]]
			gr[i] = [2]float64{(p.Y - q.Y) / (2 * g.area[t]), (q.X - p.X) / (2 * g.area[t])}
		}
		e.area[t] = g.area[t]
		e.bentAt[t] = -1
		if g.q.Curved[t] {
			*gr, e.area[t] = e.addBent(t)
		}
		e.factor(b, t, s.tensorOf(t), s.massAbs(t)*e.area[t])
		nu := s.nuEdge(t)
		for k := range 3 {
			e.faceAt[t][k], e.beyond[t][k] = -1, -1
			o := g.m.Adj[t][k]
			if o < 0 {
				continue
			}
			e.share[t][k] = nu / (nu + s.nuEdge(int(o)))
			for j := range 3 {
				if int(g.m.Adj[o][j]) == t {
					e.beyond[t][k] = 4*o + int32(j)
				}
			}
		}
	}
	for f := range g.faces {
		t, k := g.faces[f].tri, g.faces[f].edge
		e.faceAt[t][k] = int32(f)
		o := e.beyond[t][k]
		e.faceAt[o>>2][o&3] = int32(f)
	}
	return e
}

// factor prepares the local matrix of triangle t for ν with the parts xx, xy, yy.
func (e *estimator) factor(b *bubbleMatrices, t int, n [3]float64, mass float64) {
	gr := &e.grad[t]
	product := func(i, j int) float64 {
		p, q := gr[i], gr[j]
		return e.area[t] * (float64(n[0]*p[0]*q[0]) + float64(n[1]*(float64(p[0]*q[1])+float64(p[1]*q[0]))) + float64(n[2]*p[1]*q[1]))
	}
	xx, yy, xy := product(1, 1), product(2, 2), product(1, 2)
	var l [4][4]float64
	for i := range 4 {
		for j := range i + 1 {
			sum := float64(xx*b.xx[i][j]) + float64(xy*b.xy[i][j]) + float64(yy*b.yy[i][j]) + float64(mass*b.mass[i][j])
			for k := range j {
				sum -= float64(l[i][k] * l[j][k])
			}
			if i == j {
				l[i][i] = math.Sqrt(sum)
				sum = 1 / l[i][i]
			} else {
				l[i][j] = sum / l[j][j]
				sum = l[i][j]
			}
			e.chol[t][i*(i+1)/2+j] = sum
		}
	}
}

// putLanes puts real numbers into one lane, complex ones into both.
func putLanes[T sparse.Scalar](out []lanes, lane int, x []T) {
	switch x := any(x).(type) {
	case []float64:
		for i, v := range x {
			out[i][lane] = v
		}
	case []complex128:
		for i, v := range x {
			out[i] = lanes{real(v), imag(v)}
		}
	}
}

// squares finds the square of the error of each lane on each triangle, in the energy
// ∫ ν |∇A|². load holds what drives the bubbles at points, in the first lane.
func (e *estimator) squares(in *estimated, load pointLoad) {
	g := e.g
	for t := range g.q.Tris {
		var a [6]lanes
		for i, n := range g.q.Tris[t] {
			a[i] = in.ar[n]
		}
		nu := lanes{1, 0}
		if p := g.piece[t]; p >= 0 {
			nu = e.nu[p]
			if g.d.media[p].iron {
				in.addSource(&a, &g.q.Tris[t])
			}
		}
		e.corners(t, &a, nu, &in.flux[t])
		if e.bend != nil {
			e.bend(t, &in.flux[t])
		}
	}
	for t := range g.q.Tris {
		b := e.jumps(in, t)
		e.inside(in, t, &b)
		if load != nil {
			for i, v := range load[t] { // zero where there is none
				b[i][0] += v
			}
		}
		in.out[t] = forward(&e.chol[t], &b)
	}
}

// addSource makes the reaction at the nodes of a triangle the total.
func (in *estimated) addSource(a *[6]lanes, six *[6]int32) {
	for i, n := range six {
		s := &in.as[n]
		a[i][0] += s[0]
		a[i][1] += s[1]
	}
}

// times is the product of complex numbers; a real c multiplies both lanes.
func times(c, x lanes) lanes {
	return lanes{float64(c[0]*x[0]) - float64(c[1]*x[1]), float64(c[0]*x[1]) + float64(c[1]*x[0])}
}

const sixtieth = 1.0 / 60

// jumps returns what the jumps of ν ∂A/∂n at the edges of triangle t drive.
func (e *estimator) jumps(in *estimated, t int) (b [4]lanes) {
	own, gr, twice := &in.flux[t], &e.grad[t], -2*e.area[t]
	for k := range 3 {
		at := e.beyond[t][k]
		if at < 0 {
			continue
		}
		i, j := (k+1)%3, (k+2)%3
		// Outward normal times length is −2A ∇λk.
		ni := [2]float64{twice * gr[k][0], twice * gr[k][1]}
		nj := ni
		if c := e.bentAt[t]; c >= 0 {
			ni, nj = e.bent[c].normal[k][0], e.bent[c].normal[k][1]
		}
		// The triangle beyond runs along the edge the other way.
		o := &in.flux[at>>2]
		oi, oj := &o[(at&3+2)%3], &o[(at&3+1)%3]
		fi, fj := &own[i], &own[j]
		share := e.share[t][k]
		var bubble lanes
		if f := e.faceAt[t][k]; f >= 0 {
			bubble = in.bubble[f]
			if e.g.faces[f].tri != t {
				bubble = lanes{-bubble[0], -bubble[1]}
			}
		}
		j0 := float64((fi[0][0]-oi[0][0])*ni[0]) + float64((fi[1][0]-oi[1][0])*ni[1]) - float64((fj[0][0]-oj[0][0])*nj[0]) - float64((fj[1][0]-oj[1][0])*nj[1])
		j1 := float64((fi[0][1]-oi[0][1])*ni[0]) + float64((fi[1][1]-oi[1][1])*ni[1]) - float64((fj[0][1]-oj[0][1])*nj[0]) - float64((fj[1][1]-oj[1][1])*nj[1])
		b[i] = lanes{-share * (float64(j0*sixtieth) - bubble[0]), -share * (float64(j1*sixtieth) - bubble[1])}
	}
	return b
}

// inside adds what is left of the equation inside triangle t.
func (e *estimator) inside(in *estimated, t int, b *[4]lanes) {
	g, own, gr, area := e.g, &in.flux[t], &e.grad[t], e.area[t]
	var div lanes
	for i := range 3 {
		div[0] += float64(own[i][0][0]*gr[i][0]) + float64(own[i][1][0]*gr[i][1])
		div[1] += float64(own[i][0][1]*gr[i][0]) + float64(own[i][1][1]*gr[i][1])
	}
	p := g.piece[t]
	if p >= 0 {
		div[0] += in.density[p][0]
		div[1] += in.density[p][1]
	}
	b[3][0] += float64(div[0] * area * sixtieth)
	b[3][1] += float64(div[1] * area * sixtieth)
	if p < 0 || !g.d.media[p].conducts {
		return
	}
	var a [6]lanes
	for i, n := range g.q.Tris[t] {
		a[i] = in.ar[n]
	}
	in.addSource(&a, &g.q.Tris[t])
	c, v := e.mass[p], in.v[p]
	for i := range b {
		var sum lanes
		for j := range a {
			sum[0] += float64(e.moment[i][j] * (a[j][0] + v[0]))
			sum[1] += float64(e.moment[i][j] * (a[j][1] + v[1]))
		}
		sum = times(c, sum)
		b[i][0] -= float64(area * sum[0])
		b[i][1] -= float64(area * sum[1])
	}
}

// forward returns |L⁻¹ b|² of each lane; the diagonal of L is stored inverted.
func forward(l *[10]float64, b *[4]lanes) (out lanes) {
	for k := range out {
		y0 := b[0][k] * l[0]
		y1 := (b[1][k] - float64(l[1]*y0)) * l[2]
		y2 := (b[2][k] - float64(l[3]*y0) - float64(l[4]*y1)) * l[5]
		y3 := (b[3][k] - float64(l[6]*y0) - float64(l[7]*y1) - float64(l[8]*y2)) * l[9]
		out[k] = float64(y0*y0) + float64(y1*y1) + float64(y2*y2) + float64(y3*y3)
	}
	return out
}
