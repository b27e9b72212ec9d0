package fem

import (
	"math"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// weights are the coefficients of the reaction flux density at a point:
// Bx = Σ face (ν−1) x·A + Σ triangle x·μ0(J−Js), By likewise. They depend on
// the mesh alone.
type weights struct {
	face [][3]geom.Point // of each edge of the grid's surface
	tri  [][6]geom.Point // of each conducting triangle, in the order of conducting
}

const (
	nearEdge  = 1.0 // parts of an edge are halved until this far away, in lengths
	nearTri   = 1.5
	farTri    = 6.0 // a triangle as many lengths away takes the rule of six points
	maxHalves = 24
	maxQuarts = 10
)

// weightsAt integrates the kernels for a point outside all active pieces.
//
// Magnetisation, with the surface form for ν constant in a piece:
//
//	B = (ν−1)/2π ∮ A dζ/(ζ−q)², Bx = Re, By = −Im
//
// which is Biot and Savart over the piece, ∫ (1−ν) ∇A·∇(ln r)/2π, by Gauss. Eddy
// currents: −i/2π ∫ μ0 (J−Js)/(ζ−q) dS likewise.
func (g *grid) weightsAt(q geom.Point, conducting []int32) *weights {
	w := &weights{face: make([][3]geom.Point, len(g.surface)), tri: make([][6]geom.Point, len(conducting))}
	for f := range g.surface {
		g.surface[f].kernel(q, 0, 1, maxHalves, &w.face[f])
	}
	for i, t := range conducting {
		x, y := g.nodes(int(t))
		rule := g.rule
		c := geom.Point{X: (x[0] + x[1] + x[2]) / 3, Y: (y[0] + y[1] + y[2]) / 3}
		long := math.Max(portable.Hypot(x[1]-x[0], y[1]-y[0]), math.Max(portable.Hypot(x[2]-x[1], y[2]-y[1]), portable.Hypot(x[0]-x[2], y[0]-y[2])))
		if r := c.Sub(q).Norm(); r > farTri*long {
			rule = rule3
		}
		triKernel(&x, &y, q, [3][2]float64{{0, 0}, {1, 0}, {0, 1}}, rule, maxQuarts, &w.tri[i])
	}
	return w
}

var rule3 = element.Rule6()

// kernel adds ∫ Ni dζ/(ζ−q)²/2π as (Re, −Im) over the part [u, v] of the face.
func (f *face) kernel(q geom.Point, u, v float64, halves int, out *[3]geom.Point) {
	mid, tangent, _ := f.line((u + v) / 2)
	if halves > 0 && mid.Sub(q).Norm() < nearEdge*(v-u)*tangent.Norm() {
		f.kernel(q, u, (u+v)/2, halves-1, out)
		f.kernel(q, (u+v)/2, v, halves-1, out)
		return
	}
	for _, p := range gauss6 {
		at, tangent, n := f.line(u + float64((v-u)*p[0]))
		z := complex(at.X-q.X, at.Y-q.Y)
		k := portable.Quotient(complex(tangent.X, tangent.Y), portable.Times(z, z))
		c := (v - u) * p[1] / (2 * math.Pi)
		for i := range n {
			out[i].X += float64(c * n[i] * real(k))
			out[i].Y -= float64(c * n[i] * imag(k))
		}
	}
}

// gauss6 is the Gauss rule of six points on [0, 1].
var gauss6 = func() (r [6][2]float64) {
	for i, p := range element.Gauss(6) {
		r[i] = [2]float64{p.X, p.W}
	}
	return r
}()

// triKernel adds ∫ Ni (v, −u)/(2π r²) dS, (u, v) from q to the element, over the
// part of the triangle with the given reference corners.
func triKernel(x, y *[6]float64, q geom.Point, part [3][2]float64, rule []element.Node, quarts int, out *[6]geom.Point) {
	var c [3]geom.Point
	for i, p := range part {
		n := element.Shape(p[0], p[1])
		for k := range n {
			c[i].X += float64(n[k] * x[k])
			c[i].Y += float64(n[k] * y[k])
		}
	}
	if quarts > 0 {
		centre := c[0].Add(c[1]).Add(c[2]).Scale(1.0 / 3)
		long := math.Max(c[1].Sub(c[0]).Norm(), math.Max(c[2].Sub(c[1]).Norm(), c[0].Sub(c[2]).Norm()))
		if centre.Sub(q).Norm() < nearTri*long {
			splitLongest(x, y, q, part, c, rule, quarts, out)
			return
		}
	}
	jxx, jxy := part[1][0]-part[0][0], part[2][0]-part[0][0]
	jyx, jyy := part[1][1]-part[0][1], part[2][1]-part[0][1]
	det := float64(jxx*jyy) - float64(jxy*jyx)
	for _, p := range rule {
		xi, eta := part[0][0]+float64(jxx*p.Xi)+float64(jxy*p.Eta), part[0][1]+float64(jyx*p.Xi)+float64(jyy*p.Eta)
		n := element.Shape(xi, eta)
		dXi, dEta := element.ShapeGrad(xi, eta)
		j := element.NewJacobian(x, y, &dXi, &dEta)
		var at geom.Point
		for k := range n {
			at.X += float64(n[k] * x[k])
			at.Y += float64(n[k] * y[k])
		}
		r := at.Sub(q)
		f := p.W * det * j.Det / (2 * math.Pi * r.Dot(r))
		for k := range n {
			out[k].X += float64(f * n[k] * r.Y)
			out[k].Y -= float64(f * n[k] * r.X)
		}
	}
}

// splitLongest halves the part across its longest side, so that flat elements of
// skin layers become compact before they become small.
func splitLongest(x, y *[6]float64, q geom.Point, part [3][2]float64, c [3]geom.Point, rule []element.Node, quarts int, out *[6]geom.Point) {
	k, long := 0, -1.0
	for i := range 3 {
		if l := c[(i+1)%3].Sub(c[i]).Norm(); l > long {
			k, long = i, l
		}
	}
	a, b, o := part[k], part[(k+1)%3], part[(k+2)%3]
	m := [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
	triKernel(x, y, q, [3][2]float64{a, m, o}, rule, quarts-1, out)
	triKernel(x, y, q, [3][2]float64{m, b, o}, rule, quarts-1, out)
}

// pieceAt returns the active piece that holds q, -1 for none.
func (d *drawing) pieceAt(q geom.Point) int {
	for k, p := range d.pieces {
		if p.contains(q) {
			return k
		}
	}
	return -1
}

// conductingTriangles lists them in order.
func (g *grid) conductingTriangles() []int32 {
	var out []int32
	for t := range g.q.Tris {
		if g.conducts(t) {
			out = append(out, int32(t))
		}
	}
	return out
}

// apply returns the reaction flux density of one source for given weights.
func (r *reaction[T]) apply(w *weights, conducting []int32, src int) (bx, by T) {
	g := r.s.g
	ar, as := r.ar[src], r.drives[src].as
	for f := range g.surface {
		fc := &g.surface[f]
		if g.d.media[g.piece[fc.tri]].curve {
			continue // saturating iron is integrated over its volume
		}
		var x, y T
		for i, n := range fc.node {
			a := ar[n] + r.s.lift(as[n])
			x += portable.ProductOf(a, r.s.lift(w.face[f][i].X))
			y += portable.ProductOf(a, r.s.lift(w.face[f][i].Y))
		}
		c := r.s.nu[g.piece[fc.tri]] - 1
		bx += portable.ProductOf(c, x)
		by += portable.ProductOf(c, y)
	}
	x, y := r.applyEddies(w, conducting, src)
	return bx + x, by + y
}

// applyEddies is apply without the magnetisation.
func (r *reaction[T]) applyEddies(w *weights, conducting []int32, src int) (bx, by T) {
	g := r.s.g
	for i, t := range conducting {
		a, p := r.total(src, int(t)), g.piece[t]
		var x, y T
		for k := range a {
			j := a[k] + r.v[src][p]
			x += portable.ProductOf(j, r.s.lift(w.tri[i][k].X))
			y += portable.ProductOf(j, r.s.lift(w.tri[i][k].Y))
		}
		bx -= portable.ProductOf(r.s.mass[p], x)
		by -= portable.ProductOf(r.s.mass[p], y)
	}
	return bx, by
}

// inside returns the total flux density at q inside an active piece, from the
// derivative of the elements, with a bound from the estimate of the triangle.
func (r *reaction[T]) inside(q geom.Point, src int) (bx, by T, bound float64) {
	g := r.s.g
	t := g.m.Locate(q)
	if t < 0 {
		return bx, by, math.NaN()
	}
	xi, eta := g.local(t, q)
	dXi, dEta := element.ShapeGrad(xi, eta)
	x, y := g.nodes(t)
	j := element.NewJacobian(&x, &y, &dXi, &dEta)
	a, exact := r.reduced(src, t), r.drives[src].src.flux(q)
	if g.iron(t) {
		a, exact = r.total(src, t), geom.Point{}
	}
	for i := range a {
		dx, dy := j.Push(dXi[i], dEta[i])
		bx += portable.ProductOf(a[i], r.s.lift(dy))
		by -= portable.ProductOf(a[i], r.s.lift(dx))
	}
	bx += r.s.lift(exact.X)
	by += r.s.lift(exact.Y)
	return bx, by, 3 * r.eta[src][t] / math.Sqrt(r.s.nuAbs(t)*g.area[t])
}

// local returns the reference coordinates of q in triangle t; for curved triangles by
// Newton's method from those of the straight one.
func (g *grid) local(t int, q geom.Point) (xi, eta float64) {
	v := g.m.Tris[t]
	a, b, c := g.m.Nodes[v[0]], g.m.Nodes[v[1]], g.m.Nodes[v[2]]
	ab, ac, aq := b.Sub(a), c.Sub(a), q.Sub(a)
	det := ab.Cross(ac)
	xi, eta = aq.Cross(ac)/det, ab.Cross(aq)/det
	if !g.q.Curved[t] {
		return xi, eta
	}
	x, y := g.nodes(t)
	for range 8 {
		var at geom.Point
		for i, n := range element.Shape(xi, eta) {
			at.X += float64(n * x[i])
			at.Y += float64(n * y[i])
		}
		dXi, dEta := element.ShapeGrad(xi, eta)
		j := element.NewJacobian(&x, &y, &dXi, &dEta)
		d := q.Sub(at)
		xi += (float64(j.YEta*d.X) - float64(j.XEta*d.Y)) / j.Det
		eta += (float64(-j.YXi*d.X) + float64(j.XXi*d.Y)) / j.Det
	}
	return xi, eta
}

// reducedAt returns Ar at q.
func (r *reaction[T]) reducedAt(q geom.Point, src int) (a T, ok bool) {
	g := r.s.g
	t := g.m.Locate(q)
	if t < 0 {
		return a, false
	}
	xi, eta := g.local(t, q)
	n := element.Shape(xi, eta)
	for i, v := range r.reduced(src, t) {
		a += portable.ProductOf(v, r.s.lift(n[i]))
	}
	return a, true
}
