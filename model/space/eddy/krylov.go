package eddy

import (
	"math"

	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

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
	start   []int       // sources that the others are combinations of
	whole   int         // sources that are wanted whole come first
	v       [][]float64
	c       [][]float64 // of each v that has its column of t, with each source
	moments [][]float64 // of the cells, of each v that has its column of t
	t       [][]float64 // t[j][i], i up to the vectors known when column j was made, with iron to those that it brought
	next    int         // first vector without column
}

const (
	sameVector   = 1e-3 // part of a source that is left beside others and counts as nothing
	samePart     = 0.2  // the same of one that comes in small amounts
	lostVector   = 1e-6 // part of a vector that is left beside others and is not worth a vector
	onceEnough   = 1e-4 // part that is left below which it is taken off once more
	settled      = 1e-5 // change of the energy of every whole source that ends the growth, and
	settledPart  = 1e-3 // of the others
	mostVectors  = 900
	decadeLowest = 1e3 // Hz; the least frequency that a space is grown for
)

// newReduction starts the space of some sources given by their b, of which the first are
// wanted whole and the others come in small amounts.
func newReduction(y *system, b [][]float64, whole int) *reduction {
	g := &reduction{y: y, b: b, whole: whole, start: pivots(b, y.diagonal(), whole)}
	var starts [][]float64
	for _, k := range g.start {
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

// pivots returns vectors of b that span the others, by elimination with pivots in the norm of
// 1/d: first from those that are wanted whole, up to sameVector of each, then from the others.
func pivots(b [][]float64, d []float64, whole int) (chosen []int) {
	left := make([][]float64, len(b))
	size := make([]float64, len(b))
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
	}
	now := append([]float64(nil), size...)
	for _, stage := range []struct {
		from, to int
		same     float64
	}{{0, whole, sameVector}, {whole, len(b), samePart}} {
		for {
			best, ratio := -1, stage.same
			for k := stage.from; k < stage.to; k++ {
				if size[k] > 0 && now[k] > ratio*size[k] {
					best, ratio = k, now[k]/size[k]
				}
			}
			if best < 0 {
				break
			}
			chosen = append(chosen, best)
			q := append([]float64(nil), left[best]...)
			scale(1/now[best], q)
			parallel.Each(len(b), 8, func(_, k int) {
				f := 0.0
				for i := range q {
					f += q[i] * left[k][i] / d[i]
				}
				axpy(-f, q, left[k])
				now[k] = norm(left[k])
			})
			now[best] = 0
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
		before := math.Sqrt(max(0, sparse.Dot(v, rv)))
		if before == 0 {
			continue
		}
		after := g.strip(v, rv)
		if after < onceEnough*before {
			after = g.strip(v, rv)
		}
		if !(after > lost*before) {
			continue
		}
		scale(1/after, v)
		g.v = append(g.v, v)
	}
}

// strip takes off v what it has of the vectors of the space, sets rv = R v, and returns the
// norm of what is left.
func (g *reduction) strip(v, rv []float64) float64 {
	if len(g.v) > 0 {
		f := make([]float64, len(g.v))
		parallel.Each(len(g.v), 8, func(_, i int) { f[i] = sparse.Dot(g.v[i], rv) })
		const part = 512
		parallel.Each((len(v)+part-1)/part, 8, func(_, b int) {
			from, to := b*part, min(len(v), (b+1)*part)
			for i := range g.v {
				axpy(-f[i], g.v[i][from:to], v[from:to])
			}
		})
		sparse.MulVec(g.y.look, g.y.r, v, rv)
	}
	return math.Sqrt(max(0, sparse.Dot(v, rv)))
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
			col[i] = sparse.Dot(g.v[i], l[j])
		}
		g.t = append(g.t, col)
		g.moments = append(g.moments, moments[j])
		c := make([]float64, len(g.b))
		for s := range g.b {
			c[s] = sparse.Dot(block[j], g.b[s])
		}
		g.c = append(g.c, c)
	}
	first := g.next
	g.next = len(g.v)
	g.add(l, lostVector)
	if g.y.iron != nil { // collocation is not symmetric to the last: T is Hessenberg's
		for j := range l {
			for _, v := range g.v[g.next:] {
				g.t[first+j] = append(g.t[first+j], sparse.Dot(v, l[j]))
			}
		}
	}
	return len(g.v) > g.next
}

// reach grows the space until the energy of every source stands still at freqHz and returns
// the number of vectors that it takes. pay is called before each block, whose error ends it.
func (g *reduction) reach(freqHz float64, pay func(steps float64) error) (int, error) {
	omega := 2 * math.Pi * freqHz
	var before []float64
	for {
		if err := pay(g.growSteps()); err != nil {
			return 0, err
		}
		more := g.grow()
		now := g.energies(omega)
		if before != nil {
			moving := false
			for k, s := range g.start {
				least := settled
				if s >= g.whole {
					least = settledPart
				}
				moving = moving || math.Abs(now[k]-before[k]) > least*now[k]
			}
			if !moving {
				return g.next, nil
			}
		}
		if !more || g.next > mostVectors {
			return g.next, nil
		}
		before = now
	}
}

// energies returns cᵀ(1/ω + T)⁻¹c of each source that the space starts from.
func (g *reduction) energies(omega float64) []float64 {
	n := g.next
	solve := g.solver(n, complex(1/omega, 0), 1)
	out := make([]float64, len(g.start))
	for k, s := range g.start {
		x := make([]complex128, n)
		for i := range x {
			x[i] = complex(g.c[i][s], 0)
		}
		solve(x)
		for i := range x {
			out[k] += float64(real(x[i]) * g.c[i][s])
		}
	}
	return out
}

// solveAt returns y in the first n vectors of each combination of sources.
func (g *reduction) solveAt(freqHz float64, n int, weights [][]complex128) [][]complex128 {
	omega := 2 * math.Pi * freqHz
	solve := g.solver(n, 1, complex(0, omega))
	out := make([][]complex128, len(weights))
	for k, w := range weights {
		x := make([]complex128, n)
		for s, f := range w {
			if f == 0 {
				continue
			}
			f = portable.Times(f, complex(0, -omega))
			for i := range x {
				x[i] += portable.Times(f, complex(g.c[i][s], 0))
			}
		}
		solve(x)
		out[k] = x
	}
	return out
}

// solver factorises one + share T of the first n vectors.
func (g *reduction) solver(n int, one, share complex128) func(x []complex128) {
	a := make([][]complex128, n)
	if g.y.iron == nil {
		for j := range a {
			a[j] = make([]complex128, j+1)
			for i := range a[j] {
				a[j][i] = portable.Times(share, complex(g.t[j][i], 0))
			}
			a[j][j] += one
		}
		factorise(a)
		return func(x []complex128) { solve(a, x) }
	}
	for i := range a {
		a[i] = make([]complex128, n)
	}
	for j := range a {
		for i, v := range g.t[j][:min(n, len(g.t[j]))] {
			a[i][j] = portable.Times(share, complex(v, 0))
		}
		a[j][j] += one
	}
	eliminate(a)
	return func(x []complex128) { substitute(a, x) }
}

// eliminate turns a into its triangular factors, the lower with a diagonal of 1, without exchange of pivots: what a is
// apart from a matrix whose real and imaginary parts are positive is small.
func eliminate(a [][]complex128) {
	for k := range a {
		for i := k + 1; i < len(a); i++ {
			if a[i][k] == 0 {
				continue
			}
			f := portable.Quotient(a[i][k], a[k][k])
			a[i][k] = f
			for j := k + 1; j < len(a); j++ {
				a[i][j] -= portable.Times(f, a[k][j])
			}
		}
	}
}

func substitute(a [][]complex128, x []complex128) {
	for i := range a {
		for k := range i {
			x[i] -= portable.Times(a[i][k], x[k])
		}
	}
	for i := len(a) - 1; i >= 0; i-- {
		for k := i + 1; k < len(a); k++ {
			x[i] -= portable.Times(a[i][k], x[k])
		}
		x[i] = portable.Quotient(x[i], a[i][i])
	}
}

// factorise turns the lower triangle a into LDLᵀ, D on its diagonal, without exchange of
// pivots: its real and imaginary parts are positive (N. J. Higham, Math. Comp. 67 (1998) 1591).
func factorise(a [][]complex128) {
	for j := range a {
		for i := range j {
			s := a[j][i]
			for k := range i {
				s -= portable.Times(a[j][k], a[i][k])
			}
			a[j][i] = s // L·D so far
		}
		for i := range j {
			l := portable.Quotient(a[j][i], a[i][i])
			a[j][j] -= portable.Times(l, a[j][i])
			a[j][i] = l
		}
	}
}

func solve(a [][]complex128, x []complex128) {
	for j := range a {
		for k := range j {
			x[j] -= portable.Times(a[j][k], x[k])
		}
	}
	for j := range a {
		x[j] = portable.Quotient(x[j], a[j][j])
	}
	for j := len(a) - 1; j >= 0; j-- {
		for k := range j {
			x[k] -= portable.Times(a[j][k], x[j])
		}
	}
}

func axpy(f float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += float64(f * v)
	}
}

func scale(f float64, x []float64) {
	for i := range x {
		x[i] *= f
	}
}
