package fem

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/mesh"
	"busgauss/model/portable"
	"busgauss/model/work"
)

// Nonlinear is the plane field of saturating iron for one set of direct currents
// and one uniform field.
type Nonlinear struct {
	Unknowns, Levels int
	Steps            int     // Newton steps, over all meshes
	Decrement        float64 // how Newton ended: energy norm of the last step over that of the field

	p      *Problem
	src    *combined
	shield []int
	l      *linear[float64] // nil when no piece reacts
	extra  float64          // share of |B| added to bounds for missing convergence
}

// Saturating solves one problem for several sets of currents: the mesh and its
// analysis are kept, and each solution starts from the one before. Not for use from
// several goroutines.
type Saturating struct {
	p    *Problem
	opt  Options
	d    *drawing
	z    *saturated
	m    *mesh.Mesh
	last []float64
}

// NewSaturating prepares p. Pieces with a Curve follow it; others keep MuRel.
// Errors as Solve.
func NewSaturating(p *Problem, opt Options) (*Saturating, error) {
	if err := p.check(0); err != nil {
		return nil, err
	}
	return &Saturating{p: p, opt: opt.resolved(), d: newDrawing(p, 0, true)}, nil
}

// SolveSaturating returns the field of one set of bar currents in amperes, one a
// bar, in a uniform field in tesla along x and y.
func SolveSaturating(p *Problem, currentsA []float64, uniformT [2]float64, opt Options) (*Nonlinear, error) {
	z, err := NewSaturating(p, opt)
	if err != nil {
		return nil, err
	}
	return z.Solve(currentsA, uniformT)
}

// Solve returns the field of one set of currents. The error is *NotConverged with
// the best state when Newton's method, and then raising the load in steps, fail.
func (w *Saturating) Solve(currentsA []float64, uniformT [2]float64) (*Nonlinear, error) {
	srcs := primarySources(w.p)
	if len(currentsA) != len(srcs)-2 {
		panic("fem: one current for each bar")
	}
	weights := append(append([]float64(nil), currentsA...), uniformT[0], uniformT[1])
	for _, v := range weights {
		if !finite(v) {
			return nil, &InputError{-1, "a current or field is not a number"}
		}
	}
	src := &combined{srcs, weights}
	n := &Nonlinear{p: w.p, src: src}
	_, n.shield = w.p.bars()
	if w.d == nil || zero(weights) {
		return n, nil
	}
	if w.z == nil { // with the first mesh
		if err := w.opt.Work.Take(0, "saturating iron in the plane section"); err != nil {
			return nil, err
		}
	}
	if err := w.start(src); err != nil {
		return nil, err
	}
	for {
		n.Levels++
		if err := w.converge(n); err != nil {
			return nil, err
		}
		cost := w.price()
		if err := w.opt.Work.Take(float64(len(w.p.Sensors))*(cost.dual+cost.point), what(w.z.s.g.n, "the error of a state")); err != nil {
			return nil, err
		}
		n.l = w.review(src)
		n.Unknowns = w.z.s.g.n
		if n.Decrement > newtonTolerance || math.IsNaN(n.Decrement) {
			n.extra = math.Max(n.Decrement, 0)
			if math.IsNaN(n.extra) {
				n.extra = math.Inf(1)
			}
			w.z, w.last = nil, nil
			return nil, &NotConverged{Best: n, Steps: n.Steps, Decrement: n.Decrement, Tolerance: newtonTolerance}
		}
		marks, done := n.l.review(w.opt)
		if done || n.Levels >= w.opt.MaxLevels {
			return n, nil
		}
		err := w.refine(marks, src)
		if over := (*work.Over)(nil); errors.As(err, &over) {
			return nil, err
		}
		if err != nil {
			return n, nil // ceiling: the bounds say what the field is worth
		}
	}
}

func zero(x []float64) bool {
	for _, v := range x {
		if v != 0 {
			return false
		}
	}
	return true
}

// start makes the first grid, or puts a new source on the last one.
func (w *Saturating) start(src *combined) error {
	if w.z != nil {
		// Solutions handed out keep their system; this one gets its own.
		w.z = newSaturated(w.z.s.g, src, w.z.elems)
		return nil
	}
	g, err := w.opt.Meshes.first(w.d, w.p.Sensors, w.opt)
	if err != nil {
		return err
	}
	m := *g.m
	w.m = &m
	return w.on(g, src, nil)
}

// on makes the problem of a grid, starting from an older solution.
func (w *Saturating) on(g *grid, src *combined, old *linear[float64]) error {
	if need := g.matrix().sym.Bytes(false) + int64(g.n)*8*int64(12+2*len(w.p.Sensors)); need > w.opt.MaxBytes {
		return &TooLarge{NeededBytes: need, MaxBytes: w.opt.MaxBytes, NeededUnknowns: g.n, MaxUnknowns: w.opt.MaxUnknowns,
			Why: fmt.Sprintf("saturating iron with %d unknowns", g.n)}
	}
	if err := w.opt.Work.Take(meshSteps*float64(g.n), what(g.n, "a mesh")); err != nil {
		return err
	}
	z := newSaturated(g, src, g.curveElements())
	x := make([]float64, g.n)
	if old != nil {
		for i, q := range g.q.Nodes {
			x[i], _ = old.r.reducedAt(q, 0)
		}
	}
	w.z, w.last = z, x
	return nil
}

// refine leaves all as it was where it returns an error.
func (w *Saturating) refine(marks []bool, src *combined) error {
	keep := *w.m
	if err := w.m.Refine(marks, w.opt.MaxUnknowns/2); err != nil {
		return err
	}
	old := &linear[float64]{r: &reaction[float64]{s: w.z.s, drives: []drive{w.z.d}, ar: [][]float64{w.last}}}
	keepZ, keepX := w.z, w.last
	g, err := analysed(w.d, w.m, w.opt)
	if err == nil {
		err = w.on(g, src, old)
	}
	if err != nil {
		*w.m, w.z, w.last = keep, keepZ, keepX
		return err
	}
	return nil
}

// converge runs Newton's method from the last state, then, if that fails, by steps
// of the load from zero.
func (w *Saturating) converge(n *Nonlinear) error {
	budget := w.opt.MaxSteps / 2
	x := append([]float64(nil), w.last...)
	used, dec, err := w.z.newton(x, 1, budget, w.pay)
	n.Steps += used
	if err != nil {
		return err
	}
	if !(dec <= newtonTolerance) {
		y := make([]float64, len(x))
		const parts = 6
		for k := 1; k <= parts; k++ {
			factor := float64(k) / parts
			used, d, err := w.z.newton(y, factor, budget, w.pay)
			n.Steps += used
			if err != nil {
				return err
			}
			if k == parts && (d < dec || math.IsNaN(dec)) {
				x, dec = y, d
			}
			if d > newtonTolerance || math.IsNaN(d) {
				break
			}
		}
	}
	n.Decrement = dec
	w.last = x
	return nil
}

// review makes the state of the last iterate with its error estimate. The
// factor is that of the tangent there.
func (w *Saturating) review(src *combined) *linear[float64] {
	z, g := w.z, w.z.s.g
	s := z.s
	x := w.last
	s.nuMin = make([]float64, len(g.q.Tris))
	for t := range s.nuMin {
		s.nuMin[t] = s.nuOf(t)
	}
	s.tensor = make([][3]float64, len(z.elems))
	corner := make([][3][2]float64, len(z.elems)) // ∇A
	for e := range z.elems {
		c := &z.elems[e]
		least := math.Inf(1)
		a := z.total(c.tri, x)
		for k := range c.w {
			gx, gy := c.gradient(k, &a)
			b2 := float64(gx*gx) + float64(gy*gy)
			nu, slope := c.reluctivity(g, b2)
			least = math.Min(least, math.Min(nu, nu+float64(2*slope*b2)))
			f := c.w[k] / g.area[c.tri]
			n := &s.tensor[e]
			n[0] += float64(f * (nu + float64(2*slope*gx*gx)))
			n[1] += float64(f * 2 * slope * gx * gy)
			n[2] += float64(f * (nu + float64(2*slope*gy*gy)))
		}
		s.nuMin[c.tri] = least
	}
	est := newEstimator(s)
	for e := range z.elems {
		t := z.elems[e].tri
		var a [6]lanes
		for i, v := range z.total(t, x) {
			a[i][0] = v
		}
		var f flux
		est.corners(t, &a, lanes{1, 0}, &f)
		for i := range f {
			corner[e][i] = [2]float64{f[i][0][0], f[i][1][0]}
		}
	}
	// corners multiplies by nu of the piece, which is 0 for curves; the bend hook
	// needs the bare gradient.
	for k := range g.d.media {
		if g.d.media[k].curve {
			est.nu[k] = lanes{1, 0}
		}
	}
	tangent := false
	est.bend = func(t int, f *flux) {
		e := s.tangentAt[t]
		if e < 0 {
			return
		}
		for i := range f {
			g0 := corner[e][i]
			nu, slope := z.elems[e].reluctivity(g, float64(g0[0]*g0[0])+float64(g0[1]*g0[1]))
			for k := range 2 {
				fx, fy := f[i][0][k], f[i][1][k]
				along := 0.0
				if tangent {
					along = 2 * slope * (float64(g0[0]*fx) + float64(g0[1]*fy))
				}
				f[i][0][k], f[i][1][k] = float64(nu*fx)+float64(along*g0[0]), float64(nu*fy)+float64(along*g0[1])
			}
		}
	}
	l := &linear[float64]{p: w.p, s: s, est: est, clearM: g.d.clearances(w.p.Sensors), bars: 1, points: map[geom.Point]*pointValue[float64]{}, walls: map[wallKey]wallDual{}, kept: map[string]Wall{}}
	l.work = w.opt.Work
	l.r = &reaction[float64]{s: s, drives: []drive{z.d}, ar: [][]float64{x}, v: [][]float64{make([]float64, len(g.d.pieces))}}
	l.r.eta = make([][]float64, 1)
	l.r.estimate(est, 0, 1, nil)
	w.addBending(l.r.eta[0], corner, x)
	tangent = true // adjoints see the tangent
	l.volume = func(q geom.Point) (float64, float64) { return z.volumeField(x, q) }
	return l
}

// addBending adds to the estimate what a curve does inside a triangle: the norm of
// ν(B) ∇A less its linear part through the corners, which the jumps do not see and
// the quadrature only in part.
func (w *Saturating) addBending(eta []float64, corner [][3][2]float64, x []float64) {
	z, g := w.z, w.z.s.g
	rule := element.Rule6()
	for e := range z.elems {
		c := &z.elems[e]
		a := z.total(c.tri, x)
		var f [3][2]float64
		for i, d := range corner[e] {
			nu, _ := c.reluctivity(g, float64(d[0]*d[0])+float64(d[1]*d[1]))
			f[i] = [2]float64{nu * d[0], nu * d[1]}
		}
		sum := 0.0
		for k, q := range rule {
			gx, gy := c.gradient(k, &a)
			nu, _ := c.reluctivity(g, float64(gx*gx)+float64(gy*gy))
			l := 1 - q.Xi - q.Eta
			dx := float64(nu*gx) - float64(l*f[0][0]) - float64(q.Xi*f[1][0]) - float64(q.Eta*f[2][0])
			dy := float64(nu*gy) - float64(l*f[0][1]) - float64(q.Xi*f[1][1]) - float64(q.Eta*f[2][1])
			sum += float64(c.w[k] * (float64(dx*dx) + float64(dy*dy)))
		}
		eta[c.tri] = math.Sqrt(float64(eta[c.tri]*eta[c.tri]) + sum/z.s.nuEdge(c.tri))
	}
}

// B returns the flux density at q in tesla and the half-width of its error.
func (n *Nonlinear) B(q geom.Point) (bx, by, boundT float64) {
	exact := n.src.flux(q)
	if n.l == nil {
		return exact.X, exact.Y, roundingRel * exact.Norm()
	}
	pv := n.l.at(q)
	bx, by, boundT = pv.bx[0], pv.by[0], pv.bound[0]
	if !pv.inside {
		bx, by = bx+exact.X, by+exact.Y
	}
	return bx, by, boundT + float64((n.extra+10*newtonTolerance)*portable.Hypot(bx, by))
}

// Wall returns the flux density of shield number shield; see Solution.Wall.
func (n *Nonlinear) Wall(shield int) (Wall, error) {
	if n.l == nil {
		s := &Solution{p: n.p, srcs: []source{n.src}}
		return s.bareWall(n.shield[shield], []complex128{1}), nil
	}
	w, err := n.l.wall(n.shield[shield], []complex128{1})
	w.PeakBoundT += float64((n.extra + 10*newtonTolerance) * w.PeakT)
	rms := w.Rms
	w.Rms = func() (rmsT, boundT float64) {
		rmsT, boundT = rms()
		return rmsT, boundT + float64((n.extra+10*newtonTolerance)*rmsT)
	}
	return w, err
}
