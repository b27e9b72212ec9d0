package eddy

import "math"

// reduction is a system projected on a Krylov space of R⁻¹L: x = V y with VᵀRV = 1 and
//
//	(1 + jωT) y = −jω c,  T = VᵀLV,  c = Vᵀb
//
// The space is grown block by block from R⁻¹b, kept orthogonal in full. R and L are
// symmetric and R is positive, so that the projection is the best of the space in the norm of
// either, at all frequencies at once.
//
// Sources: C. Lanczos, J. Res. Nat. Bur. Stand. 45 (1950) 255; V. Druskin, L. Knizhnerman,
// Radio Science 29 (1994) 937 (spectral Lanczos decomposition for diffusive fields) (both from
// memory).
type reduction struct {
	y       *system
	b       [][]float64 // of each source
	v, rv   [][]float64
	moments [][]float64 // of the cells, of each v that has its column of t
	t       [][]float64 // t[j][i], i up to the vectors known when column j was made
	next    int         // first vector without column
}

const (
	sameVector   = 1e-3 // part of a source that is left beside others and counts as nothing
	lostVector   = 1e-9 // part of a vector that is left beside others and is rounding
	settled      = 1e-7 // change of the energy of every source that ends the growth
	mostVectors  = 900
	decadeLowest = 1e3 // Hz; the least frequency that a space is grown for
)

// newReduction starts the space of some sources given by their b.
func newReduction(y *system, b [][]float64) *reduction {
	g := &reduction{y: y, b: b}
	var starts [][]float64
	for _, k := range pivots(b, y.diagonal()) {
		starts = append(starts, b[k])
	}
	g.add(starts, 1e-6)
	return g
}

// diagonal returns the diagonal of R.
func (y *system) diagonal() []float64 {
	d := make([]float64, y.u.n)
	for i := range d {
		d[i] = y.r[y.look.Index(i, i)]
	}
	return d
}

// pivots returns vectors of b that span the others up to sameVector of the largest, by
// elimination with pivots in the norm of 1/d.
func pivots(b [][]float64, d []float64) (chosen []int) {
	left := make([][]float64, len(b))
	size := make([]float64, len(b))
	most := 0.0
	norm := func(v []float64) float64 {
		s := 0.0
		for i, x := range v {
			s += x * x / d[i]
		}
		return math.Sqrt(s)
	}
	for k := range b {
		left[k] = append([]float64(nil), b[k]...)
		size[k] = norm(b[k])
		most = max(most, size[k])
	}
	for range b {
		best, ratio := -1, 0.0
		for k := range left {
			if n := norm(left[k]); size[k] > 1e-9*most && n > ratio*size[k] {
				best, ratio = k, n/size[k]
			}
		}
		if best < 0 || ratio < sameVector {
			return chosen
		}
		chosen = append(chosen, best)
		n := norm(left[best])
		q := append([]float64(nil), left[best]...)
		for i := range q {
			q[i] /= n
		}
		for k := range left {
			f := 0.0
			for i := range q {
				f += q[i] * left[k][i] / d[i]
			}
			for i := range q {
				left[k][i] -= f * q[i]
			}
		}
	}
	return chosen
}

// add puts R⁻¹w into the space for each w, orthogonal to what is there.
func (g *reduction) add(ws [][]float64, lost float64) {
	n := g.y.u.n
	all := make([]float64, 0, n*len(ws))
	for _, w := range ws {
		all = append(all, w...)
	}
	g.y.factor.Solve(all, len(ws))
	for k, w := range ws {
		v, rv := all[k*n:(k+1)*n], append([]float64(nil), w...)
		before := math.Sqrt(max(0, dot(v, rv)))
		if before == 0 {
			continue
		}
		for range 2 {
			for i := range g.v {
				f := dot(g.v[i], rv)
				axpy(-f, g.v[i], v)
				axpy(-f, g.rv[i], rv)
			}
		}
		after := math.Sqrt(max(0, dot(v, rv)))
		if !(after > lost*before) {
			continue
		}
		scale(1/after, v)
		scale(1/after, rv)
		g.v, g.rv = append(g.v, v), append(g.rv, rv)
	}
}

// grow adds one block; false where the space is closed.
func (g *reduction) grow() bool {
	block := g.v[g.next:]
	if len(block) == 0 {
		return false
	}
	l, moments := g.y.inductance(block)
	for j := range block {
		col := make([]float64, len(g.v))
		for i := range g.v {
			col[i] = dot(g.v[i], l[j])
		}
		g.t = append(g.t, col)
		g.moments = append(g.moments, moments[j])
	}
	g.next = len(g.v)
	g.add(l, lostVector)
	return len(g.v) > g.next
}

// reach grows the space until the energy of every source stands still at freqHz and returns
// the number of vectors that it takes.
func (g *reduction) reach(freqHz float64) int {
	omega := 2 * math.Pi * freqHz
	var before []float64
	for {
		more := g.grow()
		now := g.energies(omega)
		if before != nil {
			worst := 0.0
			for s := range now {
				if now[s] > 0 {
					worst = max(worst, math.Abs(now[s]-before[s])/now[s])
				}
			}
			if worst < settled {
				return g.next
			}
		}
		if !more || g.next > mostVectors {
			return g.next
		}
		before = now
	}
}

// energies returns cᵀ(1/ω + T)⁻¹c of each source.
func (g *reduction) energies(omega float64) []float64 {
	n := g.next
	a := make([][]complex128, n)
	for j := range a {
		a[j] = make([]complex128, j+1)
		for i := range a[j] {
			a[j][i] = complex(g.t[j][i], 0)
		}
		a[j][j] += complex(1/omega, 0)
	}
	factorise(a)
	out := make([]float64, len(g.b))
	for s := range g.b {
		x := g.right(s, n)
		c := append([]complex128(nil), x...)
		solve(a, x)
		for i := range x {
			out[s] += real(x[i] * c[i])
		}
	}
	return out
}

// right returns c of source s in the first n vectors.
func (g *reduction) right(s, n int) []complex128 {
	c := make([]complex128, n)
	for i := range c {
		c[i] = complex(dot(g.v[i], g.b[s]), 0)
	}
	return c
}

// solveAt returns the coefficients y of every source in the first n vectors.
func (g *reduction) solveAt(freqHz float64, n int) [][]complex128 {
	omega := 2 * math.Pi * freqHz
	a := make([][]complex128, n)
	for j := range a {
		a[j] = make([]complex128, j+1)
		for i := range a[j] {
			a[j][i] = complex(0, omega*g.t[j][i])
		}
		a[j][j] += 1
	}
	factorise(a)
	out := make([][]complex128, len(g.b))
	for s := range g.b {
		x := g.right(s, n)
		for i := range x {
			x[i] *= complex(0, -omega)
		}
		solve(a, x)
		out[s] = x
	}
	return out
}

// factorise turns the lower triangle a into LDLᵀ, D on its diagonal, without exchange of
// pivots: its real and imaginary parts are positive (N. J. Higham, Math. Comp. 67 (1998) 1591).
func factorise(a [][]complex128) {
	for j := range a {
		for i := range j {
			s := a[j][i]
			for k := range i {
				s -= a[j][k] * a[i][k]
			}
			a[j][i] = s // L·D so far
		}
		for i := range j {
			l := a[j][i] / a[i][i]
			a[j][j] -= l * a[j][i]
			a[j][i] = l
		}
	}
}

func solve(a [][]complex128, x []complex128) {
	for j := range a {
		for k := range j {
			x[j] -= a[j][k] * x[k]
		}
	}
	for j := range a {
		x[j] /= a[j][j]
	}
	for j := len(a) - 1; j >= 0; j-- {
		for k := range j {
			x[k] -= a[j][k] * x[j]
		}
	}
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

func axpy(f float64, x, y []float64) {
	for i, v := range x {
		y[i] += f * v
	}
}

func scale(f float64, x []float64) {
	for i := range x {
		x[i] *= f
	}
}
