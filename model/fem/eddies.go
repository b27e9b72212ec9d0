package fem

import (
	"math"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// cloud is the eddy current of all sources as currents at the points of the
// quadrature rule: what weightsAt and apply sum for a triangle far from the point,
// with the shape functions taken out of the loop over points.
type cloud[T sparse.Scalar] struct {
	tri    []int32      // of each group of points
	centre []geom.Point // of its triangle
	farM   []float64    // distance beyond which the points stand for it
	at     []geom.Point // len(rule3) a group
	j      []T          // μ0 I/2π of each source at each point
}

// newCloud takes the currents of r.
func newCloud[T sparse.Scalar](r *reaction[T], conducting []int32) *cloud[T] {
	g, n, k := r.s.g, len(r.drives), len(rule3)
	c := &cloud[T]{tri: conducting}
	c.at = make([]geom.Point, 0, k*len(conducting))
	c.j = make([]T, 0, n*k*len(conducting))
	for _, t := range conducting {
		x, y := g.nodes(int(t))
		c.centre = append(c.centre, geom.Point{X: (x[0] + x[1] + x[2]) / 3, Y: (y[0] + y[1] + y[2]) / 3})
		long := math.Max(portable.Hypot(x[1]-x[0], y[1]-y[0]), math.Max(portable.Hypot(x[2]-x[1], y[2]-y[1]), portable.Hypot(x[0]-x[2], y[0]-y[2])))
		c.farM = append(c.farM, farTri*long)
		totals := make([][6]T, n)
		for src := range totals {
			totals[src] = r.total(src, int(t))
		}
		p := g.piece[t]
		for _, q := range rule3 {
			shape := element.Shape(q.Xi, q.Eta)
			dXi, dEta := element.ShapeGrad(q.Xi, q.Eta)
			jac := element.NewJacobian(&x, &y, &dXi, &dEta)
			var at geom.Point
			for i, s := range shape {
				at.X += float64(s * x[i])
				at.Y += float64(s * y[i])
			}
			c.at = append(c.at, at)
			f := r.s.lift(-q.W * jac.Det / (2 * math.Pi))
			for src := range n {
				var sum T
				for i, s := range shape {
					sum += portable.ProductOf(r.s.lift(s), totals[src][i]+r.v[src][p])
				}
				c.j = append(c.j, portable.ProductOf(portable.ProductOf(f, r.s.mass[p]), sum))
			}
		}
	}
	return c
}

// eddies adds the field of the eddy currents at q to pv.
func (l *linear[T]) eddies(q geom.Point, pv *pointValue[T]) {
	if len(l.conducting) == 0 {
		return
	}
	if l.cloud == nil {
		l.cloud = newCloud(l.r, l.conducting)
	}
	c, n, k := l.cloud, len(l.r.drives), len(rule3)
	var near []int32
	for i, t := range c.tri {
		if d := c.centre[i].Sub(q); d.Dot(d) <= c.farM[i]*c.farM[i] {
			near = append(near, t)
			continue
		}
		for m := i * k; m < (i+1)*k; m++ {
			r := c.at[m].Sub(q)
			f := 1 / r.Dot(r)
			x, y := l.s.lift(f*r.Y), l.s.lift(-f*r.X)
			for src, j := range c.j[m*n : (m+1)*n] {
				pv.bx[src] += portable.ProductOf(j, x)
				pv.by[src] += portable.ProductOf(j, y)
			}
		}
	}
	if len(near) == 0 {
		return
	}
	w := &weights{tri: make([][6]geom.Point, len(near))}
	for i, t := range near {
		x, y := l.s.g.nodes(int(t))
		triKernel(&x, &y, q, [3][2]float64{{0, 0}, {1, 0}, {0, 1}}, l.s.g.rule, maxQuarts, &w.tri[i])
	}
	for src := range n {
		x, y := l.r.applyEddies(w, near, src)
		pv.bx[src] += x
		pv.by[src] += y
	}
}
