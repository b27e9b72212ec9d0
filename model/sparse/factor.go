package sparse

import (
	"math"
	"sync"

	"busgauss/model/parallel"
)

// lostPivot is the share of its diagonal entry below which a pivot holds rounding noise
// only: eight times the spacing of float64 numbers at one.
const lostPivot = 8 * 0x1p-52

// Factor holds P, L and D of one matrix with P A Pᵀ = L D Lᵀ. Many goroutines may solve
// with it at the same time, but none while FactorNumeric writes into it.
type Factor[T Scalar] struct {
	sym        *Symbolic
	kern       *kernels[T]
	lower      []T       // blocks of L, unit diagonal not stored
	diagonal   []T       // D, by elimination number
	reciprocal []T       // 1/D
	original   []float64 // modulus of the diagonal entry of A, by elimination number
	bench      *bench[T] // while factorising
	work       sync.Pool // of *solveWork
	valid      bool
}

// FactorNumeric factorises the matrix with the pattern that was analysed and these
// values. With into nil it returns a new Factor; otherwise into is overwritten, its
// its
// storage reused where it is large enough, and returned. values is only read.
// A slice that does not fit the pattern panics. The only error is a *PivotError, for the
// first unusable pivot in the order of elimination; then the Factor returned is nil and
// into cannot solve until it is overwritten successfully.
//
// Up to four goroutines share the work; the result does not depend on how many.
func FactorNumeric[T Scalar](s *Symbolic, values []T, into *Factor[T]) (*Factor[T], error) {
	if len(values) != s.pattern.Len() {
		panic("sparse: values do not fit the pattern")
	}
	f := into
	if f == nil {
		f = new(Factor[T])
	}
	f.valid = false
	f.reserve(s)
	if err := f.run(values); err != nil {
		return nil, err
	}
	f.valid = true
	return f, nil
}

// reserve makes the storage fit s.
func (f *Factor[T]) reserve(s *Symbolic) {
	if f.sym == s {
		return
	}
	f.sym = s
	f.kern = kernelsFor[T]()
	f.lower = cleared(f.lower, s.blockAt[len(s.parent)])
	f.diagonal = cleared(f.diagonal, s.n)
	f.reciprocal = cleared(f.reciprocal, s.n)
	f.original = cleared(f.original, s.n)
	f.work = sync.Pool{}
}

// run eliminates all tasks: subtrees at the same time, then the top.
func (f *Factor[T]) run(values []T) error {
	s := f.sym
	f.bench = benchFor[T](s)
	defer func() { benches[T]().Put(f.bench); f.bench = nil }()
	subtrees := s.tasks[:len(s.tasks)-1]
	failed := make([]int32, len(subtrees)) // elimination number of a bad pivot, -1 if none
	parallel.Each(len(subtrees), workers, func(w, t int) { failed[t] = f.runTask(values, subtrees[t], w, 1) })
	// Tasks do not know of each other's failures, so the lowest is the same every time.
	worst := int32(math.MaxInt32)
	for _, c := range failed {
		if c >= 0 {
			worst = min(worst, c)
		}
	}
	if worst == math.MaxInt32 {
		if c := f.runTask(values, s.tasks[len(s.tasks)-1], 0, parallel.Workers(workers, workers)); c >= 0 {
			worst = c
		}
	}
	if worst != math.MaxInt32 {
		return &PivotError{
			Column: int(s.order[worst]),
			Size:   modulus(f.diagonal[worst]),
			From:   f.original[worst],
		}
	}
	return nil
}

// runTask eliminates the fronts of a task with the panel of goroutine w. It returns the
// elimination number of the first unusable pivot, or -1.
func (f *Factor[T]) runTask(values []T, t task, w, helpers int) int32 {
	if len(t.fronts) == 0 {
		return -1
	}
	e := eliminator[T]{Factor: f, panel: f.bench.panel(w, f.sym), helpers: helpers}
	for _, x := range t.fronts {
		if bad := e.front(x, values); bad >= 0 {
			return bad
		}
	}
	return -1
}

// Symbolic returns the analysis this factor was made with.
func (f *Factor[T]) Symbolic() *Symbolic { return f.sym }

// WeakestPivot returns the smallest ratio of a pivot's modulus to that of the diagonal
// entry of A it came from, a pure number, and its column from 0. For a positive definite matrix
// the ratio is at most one; about -log10(ratio) digits were lost to cancellation in that
// column. Entries that were zero in A count as infinite ratio. The column is -1 and the
// ratio +Inf for an empty matrix.
func (f *Factor[T]) WeakestPivot() (ratio float64, column int) {
	f.mustBeValid()
	ratio, column = math.Inf(1), -1
	for j, d := range f.diagonal {
		if r := modulus(d) / f.original[j]; r < ratio {
			ratio, column = r, int(f.sym.order[j])
		}
	}
	return ratio, column
}

// Growth returns a measure of the growth of elements, a pure number,
//
//	max_i (|L| |D| |L|ᵀ)_ii / max_i |a_ii|
//
// where bars mean moduli entry by entry; by the Cauchy–Schwarz inequality no other entry
// of |L| |D| |L|ᵀ is larger than the largest on its diagonal. It is 1, to rounding,
// for a real positive definite matrix, stays small when leaving out pivoting was harmless, and a
// value g says that about log10(g) digits more than usual were lost. NaN when A has a
// zero diagonal.
//
// Source: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed., SIAM
// 2002, section 9.3 (backward error bounded by |L| |U|), here with U = D Lᵀ.
func (f *Factor[T]) Growth() float64 {
	f.mustBeValid()
	s := f.sym
	sums := make([]float64, s.n)
	for x := range int32(len(s.parent)) {
		k, _ := s.shape(x)
		rows := s.rowsOf(x)
		first := int(s.first[x])
		lead := int(s.lead[x])
		for c := range k {
			column := f.lower[s.blockAt[x]+c*lead : s.blockAt[x]+(c+1)*lead]
			d := modulus(f.diagonal[first+c])
			sums[first+c] += d
			for i := c + 1; i < k; i++ {
				sums[first+i] += float64(d * square(column[i]))
			}
			for i, r := range rows {
				sums[r] += float64(d * square(column[k+i]))
			}
		}
	}
	top := largest(f.original)
	if top == 0 && s.n > 0 {
		return math.NaN()
	}
	return largest(sums) / top
}

// square returns |z|².
func square[T Scalar](z T) float64 {
	switch v := any(z).(type) {
	case float64:
		return v * v
	case complex128:
		return float64(real(v)*real(v)) + float64(imag(v)*imag(v))
	}
	return math.NaN()
}

func (f *Factor[T]) mustBeValid() {
	if !f.valid {
		panic("sparse: factor used without a successful factorisation")
	}
}
