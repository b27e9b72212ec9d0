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
	act  *action // with its vectors
	d    drive
	size float64 // norm of φ_s, without its mean

	still []geom.Point3 // magnetisation by currents through closed rings alone, which makes no field; nil without

	own     [][]float32 // of the last Jacobian: the linear systems ask for three digits
	chord   *jacobian   // the last one, while its steps still serve; else nil
	factors *blocks     // of the last one or of an earlier one; nil: make new ones
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
	n.act.of(p.mag, p.residual)
	for i := range p.residual {
		p.residual[i] = phi[i] - n.d.phi[i] - p.residual[i]
	}
	p.norm = norm(p.residual) / n.size
	return p
}

// jacobian is I + (1/4π) Σ G·(dM/dH)∇, with block factors that may belong to an earlier
// step.
type jacobian struct {
	*blocks
	act *action
	own [][]float32   // of each piece on itself
	far [][][]float64 // of each cross of act, by node
}

func (n *newton) jacobian(bends []bend) *jacobian {
	m := n.m
	bent := make([][3]geom.Point3, len(m.tets)) // dM/dH times the gradients but the last
	for e := range bent {
		b := &bends[e]
		for k, d := range m.grad[e][:3] {
			bent[e][k] = d.Scale(b.secant).Add(b.along.Scale((b.slope - b.secant) * b.along.Dot(d)))
		}
	}
	if n.own == nil {
		for _, r := range m.nodeRange {
			n.own = append(n.own, make([]float32, (r[1]-r[0])*(r[1]-r[0])))
		}
	}
	j := &jacobian{act: n.act, own: n.own, far: make([][][]float64, len(n.act.far))}
	for p, own := range n.own {
		size := m.nodeRange[p][1] - m.nodeRange[p][0]
		m.bentSums(p, split(n.act.raw[p], size), bent, func(i int, row []float64) {
			row[i]++
			for k, v := range row {
				own[i*size+k] = float32(v)
			}
		})
	}
	for k := range j.far {
		d := &n.act.far[k]
		j.far[k] = make([][]float64, len(d.w))
		m.bentSums(d.from, d.w, bent, func(i int, row []float64) { j.far[k][i] = slices.Clone(row) })
	}
	if n.factors == nil {
		n.factors = &blocks{m: m}
		for p, r := range m.nodeRange {
			own := make([]float64, len(n.own[p]))
			for i, v := range n.own[p] {
				own[i] = float64(v)
			}
			n.factors.lu = append(n.factors.lu, factorised(own, r[1]-r[0]))
		}
	}
	j.blocks = n.factors
	return j
}

// split returns the rows of a matrix.
func split(a []float32, rows int) [][]float32 {
	out := make([][]float32, rows)
	for i := range out {
		out[i] = a[i*len(a)/rows : (i+1)*len(a)/rows]
	}
	return out
}

// bentSums calls use with Σ g_e·bent_ej at every node j of a piece, for each row of numbers g of its tetrahedra. Several rows
// are taken at a time, for each reads all that is bent.
func (m *tetra) bentSums(piece int, rows [][]float32, bent [][3]geom.Point3, use func(i int, row []float64)) {
	nodes, tets := m.nodeRange[piece], m.tetRange[piece]
	parallel.Each((len(rows)+3)/4, maxWorkers, func(_, k int) {
		at := func(i int) int { return min(4*k+i, len(rows)-1) }
		g0, g1, g2, g3 := rows[at(0)], rows[at(1)], rows[at(2)], rows[at(3)]
		sums := make([][4]float64, nodes[1]-nodes[0])
		for e := tets[0]; e < tets[1]; e++ {
			i := 3 * (e - tets[0])
			a, b, c, d := g0[i:i+3:i+3], g1[i:i+3:i+3], g2[i:i+3:i+3], g3[i:i+3:i+3]
			t, to := &m.tets[e], &bent[e]
			var last [4]float64 // the gradients add up to nothing
			for n := range 3 {
				x, y, z, s := to[n].X, to[n].Y, to[n].Z, &sums[int(t[n])-nodes[0]]
				v0 := float64(float64(a[0])*x) + float64(float64(a[1])*y) + float64(float64(a[2])*z)
				v1 := float64(float64(b[0])*x) + float64(float64(b[1])*y) + float64(float64(b[2])*z)
				v2 := float64(float64(c[0])*x) + float64(float64(c[1])*y) + float64(float64(c[2])*z)
				v3 := float64(float64(d[0])*x) + float64(float64(d[1])*y) + float64(float64(d[2])*z)
				s[0], s[1], s[2], s[3] = s[0]+v0, s[1]+v1, s[2]+v2, s[3]+v3
				last[0], last[1], last[2], last[3] = last[0]+v0, last[1]+v1, last[2]+v2, last[3]+v3
			}
			s := &sums[int(t[3])-nodes[0]]
			s[0], s[1], s[2], s[3] = s[0]-last[0], s[1]-last[1], s[2]-last[2], s[3]-last[3]
		}
		row := make([]float64, len(sums))
		for i := range min(4, len(rows)-4*k) {
			for n := range sums {
				row[n] = sums[n][i]
			}
			use(4*k+i, row)
		}
	})
}

func (j *jacobian) multiply(x, y []float64) {
	a := j.act
	far := a.sums(func(k int, d *distant, out []float64) {
		r := a.m.nodeRange[d.from]
		products(j.far[k], x[r[0]:r[1]], out)
	})
	a.each(func(p, i, row int) {
		r := a.m.nodeRange[p]
		n := r[1] - r[0]
		y[i] = sparse.DotSingle(j.own[p][row*n:(row+1)*n], x[r[0]:r[1]]) + a.fromFar(p, i, row, &far)
	})
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
		out[i] -= float64(t * step[i])
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
		if next := n.at(less(now.phi, step, t)); next.norm < (1-float64(1e-3*t))*now.norm {
			return next
		}
	}
	return nil
}
