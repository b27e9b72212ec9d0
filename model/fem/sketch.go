package fem

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"
	"sync"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// Sketch returns, for drawings, A_z in Wb/m and the flux density in tesla at q per
// ampere of bar number bar: straight from the elements, so that many points cost
// little. In air it is coarser than B and has no bound. Outside the circle of the
// mesh the reaction goes on as the series
//
//	Ar = Σ (R/r)^n (a_n cos nθ + b_n sin nθ)
//
// fitted on the circle up to n = 8. The potential has the gauge of
// closedform.PolygonAWbPerM.
func (s *Solution) Sketch(q geom.Point, bar int) (aWbPerM, bx, by complex128) {
	if s.engine == nil {
		b := s.srcs[bar].flux(q)
		return complex(s.srcs[bar].potential(q), 0), complex(b.X, 0), complex(b.Y, 0)
	}
	return s.engine.sketch(q, bar)
}

// Sketch is that of Solution for the currents of the state.
func (n *Nonlinear) Sketch(q geom.Point) (aWbPerM, bx, by float64) {
	if n.l == nil {
		b := n.src.flux(q)
		return n.src.potential(q), b.X, b.Y
	}
	a, x, y := n.l.sketch(q, 0)
	return real(a), real(x), real(y)
}

func (l *linear[T]) sketch(q geom.Point, src int) (a, bx, by complex128) {
	g := l.s.g
	s := l.r.drives[src].src
	t := g.m.Locate(q)
	if t < 0 {
		a, bx, by = l.rimSeries(src).at(q.Sub(g.d.centre))
		b := s.flux(q)
		return a + complex(s.potential(q), 0), bx + complex(b.X, 0), by + complex(b.Y, 0)
	}
	xi, eta := g.local(t, q)
	shape := element.Shape(xi, eta)
	dXi, dEta := element.ShapeGrad(xi, eta)
	x, y := g.nodes(t)
	j := element.NewJacobian(&x, &y, &dXi, &dEta)
	nodal := l.r.reduced(src, t)
	iron := g.iron(t)
	if iron {
		nodal = l.r.total(src, t)
	}
	for i, v := range nodal {
		c := toComplex(v)
		dx, dy := j.Push(dXi[i], dEta[i])
		a += portable.Times(c, complex(shape[i], 0))
		bx += portable.Times(c, complex(dy, 0))
		by -= portable.Times(c, complex(dx, 0))
	}
	if !iron {
		b := s.flux(q)
		a += complex(s.potential(q), 0)
		bx += complex(b.X, 0)
		by += complex(b.Y, 0)
	}
	return a, bx, by
}

// sketchTerms is how far the series outside the circle goes in a sketch.
const sketchTerms = 8

// series is a reaction outside the circle of radius radiusM about the origin.
type series struct {
	radiusM  float64
	cos, sin [sketchTerms + 1]complex128
}

// outer keeps the series of each source.
type outer struct {
	once sync.Once
	of   []series
}

func (l *linear[T]) rimSeries(src int) *series {
	l.outer.once.Do(func() {
		l.outer.of = make([]series, len(l.r.drives))
		for i := range l.outer.of {
			l.outer.of[i] = fitSeries(l.s.g, l.r.ar[i])
		}
	})
	return &l.outer.of[src]
}

// fitSeries projects the values on the circle; each node stands for half the arc
// to either neighbour.
func fitSeries[T sparse.Scalar](g *grid, ar []T) series {
	out := series{radiusM: g.d.radiusM}
	type node struct {
		angle float64
		v     complex128
	}
	nodes := make([]node, 0, len(g.rim.node))
	for _, k := range g.rim.node {
		p := g.q.Nodes[k].Sub(g.d.centre)
		nodes = append(nodes, node{portable.Atan2(p.Y, p.X), toComplex(ar[k])})
	}
	slices.SortFunc(nodes, func(a, b node) int { return cmp.Compare(a.angle, b.angle) })
	m := len(nodes)
	for i, k := range nodes {
		before, after := nodes[(i+m-1)%m].angle, nodes[(i+1)%m].angle
		if i == 0 {
			before -= 2 * math.Pi
		}
		if i == m-1 {
			after += 2 * math.Pi
		}
		w := portable.Times(complex((after-before)/2/math.Pi, 0), k.v)
		for n := 1; n <= sketchTerms; n++ {
			sin, cos := portable.Sincos(float64(n) * k.angle)
			out.cos[n] += portable.Times(w, complex(cos, 0))
			out.sin[n] += portable.Times(w, complex(sin, 0))
		}
	}
	return out
}

// at returns Ar and its curl at p from the centre. With z = x + jy the terms are the
// real and the imaginary part of conj(z^-n).
func (s *series) at(p geom.Point) (a, bx, by complex128) {
	z := complex(p.X, p.Y)
	w := portable.Quotient(complex(s.radiusM, 0), z) // (R/r) e^{-jθ}
	power := complex(1, 0)
	for n := 1; n <= sketchTerms; n++ {
		power = portable.Times(power, w)
		cos, sin := real(power), -imag(power)
		a += portable.Times(s.cos[n], complex(cos, 0)) + portable.Times(s.sin[n], complex(sin, 0))
		// d(w^n)/dz = −n w^n / z; cos = Re w^n, sin = −Im w^n.
		d := portable.Quotient(portable.Times(complex(float64(-n), 0), power), z)
		dcx, dcy := real(d), -imag(d)  // ∂Re/∂x = Re d, ∂Re/∂y = −Im d
		dsx, dsy := -imag(d), -real(d) // ∂(−Im)/∂x = −Im d, ∂(−Im)/∂y = −Re d
		bx += portable.Times(s.cos[n], complex(dcy, 0)) + portable.Times(s.sin[n], complex(dsy, 0))
		by -= portable.Times(s.cos[n], complex(dcx, 0)) + portable.Times(s.sin[n], complex(dsx, 0))
	}
	if cmplx.IsNaN(a) {
		nan := complex(math.NaN(), math.NaN())
		return nan, nan, nan
	}
	return a, bx, by
}
