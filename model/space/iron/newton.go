package iron

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/sparse"
)

const (
	newtonSteps     = 60
	newtonTolerance = 1e-5 // residual of the potential over the potential of the source
	innerTolerance  = 3e-3 // of each linear system, relative to the residual
	shortestStep    = 1.0 / 256
	staleSteps      = 25   // inner steps that call for new factors
	chordShare      = 0.25 // of the residual may be left by a step with the matrix of an earlier one
)

// NotConvergedError says that Newton's method stopped short. State is the best found;
// its numbers are no result.
type NotConvergedError struct {
	Steps               int
	Residual, Tolerance float64
	State               *State
}

func (e *NotConvergedError) Error() string {
	return fmt.Sprintf("iron: no convergence after %d steps: residual %.2g, asked %.2g", e.Steps, e.Residual, e.Tolerance)
}

// newton is the saturating problem on one mesh,
//
//	F(φ) = φ − φ_s − (1/4π) Σ_e G_e·M(−∇φ + R) = 0.
type newton struct {
	m    *tetra
	laws []law
	raw  []float32
	d    drive
	size float64 // norm of φ_s, without its mean

	still []geom.Point3 // magnetisation by currents through closed rings alone, which makes no field; nil without

	matrix  []float32 // of the last Jacobian: the linear systems ask for three digits
	chord   *jacobian // the last one, while its steps still serve; else nil
	factors *blocks   // of the last one or of an earlier one; nil: make new ones
}

// point is a potential with what follows from it.
type point struct {
	phi      []float64
	h, mag   []geom.Point3 // mag without newton.still
	bends    []bend
	still    []geom.Point3 // see newton
	residual []float64
	norm     float64 // of the residual, over the size
}

func (n *newton) at(phi []float64) *point {
	m := n.m
	p := &point{phi: phi, h: m.fieldOf(phi, n.d.rest)}
	p.mag, p.bends = make([]geom.Point3, len(m.tets)), make([]bend, len(m.tets))
	parallel.Each(len(m.tets), maxWorkers, func(_, e int) {
		if n.still != nil {
			p.h[e] = p.h[e].Add(n.d.ring[e])
		}
		p.mag[e], p.bends[e] = n.laws[m.piece[e]].magnetise(p.h[e])
		if n.still != nil {
			p.mag[e] = p.mag[e].Sub(n.still[e])
		}
	})
	p.still = n.still
	p.residual = make([]float64, len(phi))
	sumRaw(n.raw, p.mag, p.residual)
	for i := range p.residual {
		p.residual[i] = phi[i] - n.d.phi[i] - p.residual[i]
	}
	p.norm = norm(p.residual) / n.size
	return p
}

// sumRaw sets out to (1/4π) Σ G·v at every node, from the vectors that kernel makes; over the stretch alone in which v is not 0.
func sumRaw(raw []float32, v []geom.Point3, out []float64) {
	some := func(x geom.Point3) bool { return x != geom.Point3{} }
	from := slices.IndexFunc(v, some)
	if from < 0 {
		clear(out)
		return
	}
	to := len(v)
	for !some(v[to-1]) {
		to--
	}
	flat := make([]float64, 0, 3*(to-from))
	for _, x := range v[from:to] {
		flat = append(flat, x.X, x.Y, x.Z)
	}
	width := 3 * len(v)
	parallel.Each(len(out), maxWorkers, func(_, i int) {
		out[i] = sparse.DotSingle(raw[i*width+3*from:i*width+3*to], flat)
	})
}

// jacobian is I + (1/4π) Σ G·(dM/dH)∇, with block factors that may belong to an earlier
// step.
type jacobian struct {
	*blocks
	a []float32
}

func (n *newton) jacobian(bends []bend) *jacobian {
	m := n.m
	size := len(m.nodes)
	if n.matrix == nil {
		n.matrix = make([]float32, size*size)
	}
	bent := make([][4]geom.Point3, len(m.tets)) // dM/dH times the gradients
	for e := range bent {
		b := &bends[e]
		for k, d := range m.grad[e] {
			bent[e][k] = d.Scale(b.secant).Add(b.along.Scale((b.slope - b.secant) * b.along.Dot(d)))
		}
	}
	width := 3 * len(m.tets)
	parallel.Each(size, maxWorkers, func(_, i int) {
		row := make([]float64, size)
		g := n.raw[i*width : (i+1)*width]
		for e := range m.tets {
			x, y, z := float64(g[3*e]), float64(g[3*e+1]), float64(g[3*e+2])
			c, d := &m.tets[e], &bent[e]
			for k := range 4 {
				row[c[k]] += x*d[k].X + y*d[k].Y + z*d[k].Z
			}
		}
		row[i]++
		for j, v := range row {
			n.matrix[i*size+j] = float32(v)
		}
	})
	if n.factors == nil {
		n.factors = &blocks{m: m}
		for _, r := range m.nodeRange {
			own := make([]float64, 0, (r[1]-r[0])*(r[1]-r[0]))
			for i := r[0]; i < r[1]; i++ {
				for _, v := range n.matrix[i*size+r[0] : i*size+r[1]] {
					own = append(own, float64(v))
				}
			}
			n.factors.lu = append(n.factors.lu, factorised(own, r[1]-r[0]))
		}
	}
	return &jacobian{n.factors, n.matrix}
}

func (j *jacobian) multiply(x, y []float64) {
	n := len(x)
	parallel.Each(n, maxWorkers, func(_, i int) { y[i] = sparse.DotSingle(j.a[i*n:(i+1)*n], x) })
}

// solve runs Newton's method with a line search from a start. Where the full slope
// gives no descent, a step with secants instead of slopes is tried. A step that leaves
// little is followed by chord steps, which keep its matrix: the matrix costs many times
// what a step with it does.
//
// Source: C. T. Kelley, Iterative Methods for Linear and Nonlinear Equations, SIAM
// 1995, sections 5.4.1 (chord method) and 8.1 (line search).
func (n *newton) solve(phi []float64) (*point, int, bool) {
	now := n.at(phi)
	for step := range newtonSteps {

		if now.norm <= newtonTolerance {
			return now, step, true
		}
		if next := n.chordStep(now); next != nil {
			now = next
			continue
		}
		next := n.search(now, now.bends)
		if next == nil {
			secants := slices.Clone(now.bends)
			for e := range secants {
				secants[e].slope = secants[e].secant
			}
			if next = n.search(now, secants); next == nil {
				return now, step, false
			}
			n.chord = nil
		}
		if next.norm > chordShare*now.norm {
			n.chord = nil
		}
		now = next
	}
	return now, newtonSteps, now.norm <= newtonTolerance
}

// chordStep returns the point after a full step with the last matrix; nil when there
// is none, or when it leaves too much.
func (n *newton) chordStep(now *point) *point {
	if n.chord == nil {
		return nil
	}
	step, _, err := gmres(n.chord, now.residual, make([]float64, len(now.phi)), innerTolerance)
	if err == nil {
		if next := n.at(less(now.phi, step, 1)); next.norm <= chordShare*now.norm {
			return next
		}
	}
	n.chord = nil
	return nil
}

// less returns phi − t step.
func less(phi, step []float64, t float64) []float64 {
	out := slices.Clone(phi)
	for i := range out {
		out[i] -= t * step[i]
	}
	return out
}

// search returns a point with a smaller residual along the step of a Jacobian, nil when
// there is none.
func (n *newton) search(now *point, bends []bend) *point {
	if math.IsNaN(now.norm) {
		return nil
	}
	fresh := n.factors == nil
	n.chord = n.jacobian(bends)
	step, inner, err := gmres(n.chord, now.residual, make([]float64, len(now.phi)), innerTolerance)
	if err != nil && !fresh {
		n.factors = nil
		n.chord = n.jacobian(bends)
		step, inner, err = gmres(n.chord, now.residual, make([]float64, len(now.phi)), innerTolerance)
	}
	if err != nil {
		return nil
	}
	if inner > staleSteps {
		n.factors = nil
	}
	for t := 1.0; t >= shortestStep; t /= 2 {
		if next := n.at(less(now.phi, step, t)); next.norm < (1-1e-3*t)*now.norm {
			return next
		}
	}
	return nil
}
