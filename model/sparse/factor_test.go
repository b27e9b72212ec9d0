package sparse

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// definite gives a pattern random values that make it diagonally dominant.
func definite(rng *rand.Rand, p *Pattern) []float64 {
	values := make([]float64, p.Len())
	for j := range p.n {
		rows, at := p.Column(j)
		for k, i := range rows[1:] {
			v := rng.NormFloat64()
			values[at+1+k] = v
			values[at] += math.Abs(v)
			values[p.Index(int(i), int(i))] += math.Abs(v)
		}
		values[at] += 0.1 + rng.Float64()
	}
	return values
}

// reconstruct returns the entry (i, j) of P L D Lᵀ Pᵀ for all i, j.
func reconstruct[T Scalar](f *Factor[T]) [][]T {
	s := f.sym
	n := s.n
	lower := make([][]T, n)
	for i := range lower {
		lower[i] = make([]T, n)
		lower[i][i] = 1
	}
	for x := range int32(len(s.parent)) {
		k, _ := s.shape(x)
		first, lead := int(s.first[x]), int(s.lead[x])
		for c := range k {
			column := f.lower[s.blockAt[x]+c*lead:]
			for i := c + 1; i < k; i++ {
				lower[first+i][first+c] = column[i]
			}
			for i, r := range s.rowsOf(x) {
				lower[r][first+c] = column[k+i]
			}
		}
	}
	out := make([][]T, n)
	for i := range out {
		out[i] = make([]T, n)
	}
	for i := range n {
		for j := range n {
			var sum T
			for p := range min(i, j) + 1 {
				sum += lower[i][p] * f.diagonal[p] * lower[j][p]
			}
			out[s.order[i]][s.order[j]] = sum
		}
	}
	return out
}

func TestRealAgainstDense(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for name, p := range testPatterns() {
		if p.n == 0 || p.n > 500 {
			continue
		}
		t.Run(name, func(t *testing.T) {
			values := definite(rng, p)
			f, err := FactorNumeric(Analyse(p), values, nil)
			if err != nil {
				t.Fatal(err)
			}
			dense := denseOf(p, values)
			for i, row := range reconstruct(f) {
				for j, v := range row {
					if math.Abs(v-dense.At(i, j)) > 1e-13*NormInf(p, values) {
						t.Fatalf("L D Lᵀ has %g at (%d, %d), A %g", v, i, j, dense.At(i, j))
					}
				}
			}
			for _, nrhs := range []int{1, 2, 4, 7} {
				b := wave(p.n*nrhs, nrhs)
				var want mat.Dense
				right := mat.NewDense(nrhs, p.n, append([]float64(nil), b...)).T()
				if err := want.Solve(dense, right); err != nil {
					t.Fatal(err)
				}
				f.Solve(b, nrhs)
				for c := range nrhs {
					for i := range p.n {
						// Condition numbers stay below a thousand or so.
						if got, want := b[c*p.n+i], want.At(i, c); math.Abs(got-want) > 1e-11*(1+math.Abs(want)) {
							t.Fatalf("%d sides: x[%d] = %g, dense %g", nrhs, i, got, want)
						}
					}
				}
			}
			if g := f.Growth(); math.Abs(g-1) > 1e-13 {
				t.Errorf("growth %g of a positive definite matrix, want 1", g)
			}
			// det A = det D, since P and L have determinant ±1 twice and 1.
			logDet, sign := mat.LogDet(dense)
			sum := 0.0
			for _, d := range f.diagonal {
				sum += math.Log(d)
			}
			if sign != 1 || math.Abs(sum-logDet) > 1e-11*(1+math.Abs(logDet)) {
				t.Errorf("log of determinant %g, dense %g", sum, logDet)
			}
		})
	}
}

// Complex symmetric systems, written as real ones of twice the size and solved densely:
// (K + jM)(x + jy) = b + jc  is  K x - M y = b, M x + K y = c.
func TestComplexAgainstDense(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	for name, p := range testPatterns() {
		if p.n == 0 || p.n > 300 {
			continue
		}
		t.Run(name, func(t *testing.T) {
			re, im := definite(rng, p), definite(rng, p)
			values := make([]complex128, len(re))
			for k := range values {
				values[k] = complex(re[k], im[k])
			}
			f, err := FactorNumeric(Analyse(p), values, nil)
			if err != nil {
				t.Fatal(err)
			}
			n := p.n
			double := mat.NewDense(2*n, 2*n, nil)
			k, m := denseOf(p, re), denseOf(p, im)
			for i := range n {
				for j := range n {
					double.Set(i, j, k.At(i, j))
					double.Set(n+i, n+j, k.At(i, j))
					double.Set(i, n+j, -m.At(i, j))
					double.Set(n+i, j, m.At(i, j))
				}
			}
			for i, row := range reconstruct(f) {
				for j, v := range row {
					if d := v - complex(k.At(i, j), m.At(i, j)); cmplx.Abs(d) > 1e-13*NormInf(p, values) {
						t.Fatalf("L D Lᵀ has %g at (%d, %d)", v, i, j)
					}
				}
			}
			for _, nrhs := range []int{1, 3, 5} {
				b := complexWave(n*nrhs, nrhs)
				right := mat.NewDense(2*n, nrhs, nil)
				for c := range nrhs {
					for i := range n {
						right.Set(i, c, real(b[c*n+i]))
						right.Set(n+i, c, imag(b[c*n+i]))
					}
				}
				var want mat.Dense
				if err := want.Solve(double, right); err != nil {
					t.Fatal(err)
				}
				f.Solve(b, nrhs)
				for c := range nrhs {
					for i := range n {
						want := complex(want.At(i, c), want.At(n+i, c))
						if got := b[c*n+i]; cmplx.Abs(got-want) > 1e-11*(1+cmplx.Abs(want)) {
							t.Fatalf("%d sides: x[%d] = %g, dense %g", nrhs, i, got, want)
						}
					}
				}
			}
			// Higham (see package comment): with both parts positive definite no element
			// that arises in the elimination is over three times the largest of A. The pivots are such elements.
			top := 0.0
			for _, v := range values {
				top = max(top, cmplx.Abs(v))
			}
			for j, d := range f.diagonal {
				if !(cmplx.Abs(d) < 3*top) {
					t.Errorf("pivot %d is %g, largest entry of A %g", j, d, top)
				}
			}
		})
	}
}

// The pivots of the path with diagonal 2 are (k+1)/k in natural order, hence determinant
// n+1 in any order (G. Strang, Introduction to Linear Algebra, 5th ed., section 5.1).
func TestPathDeterminant(t *testing.T) {
	const n = 1000
	p := gridPattern(n, 1)
	values := make([]float64, p.Len())
	for j := range n {
		rows, at := p.Column(j)
		values[at] = 2
		if len(rows) > 1 {
			values[at+1] = -1
		}
	}
	f, err := FactorNumeric(Analyse(p), values, nil)
	if err != nil {
		t.Fatal(err)
	}
	product := 1.0
	for _, d := range f.diagonal {
		product *= d
	}
	if math.Abs(product/(n+1)-1) > 1e-11 {
		t.Errorf("determinant %.15g, want %d", product, n+1)
	}
}

// Large meshes use vector kernels, several tasks and split updates; the bytes must not
// depend on the processors.
func TestSameBytesOnAnyProcessors(t *testing.T) {
	p := quadraticMesh(90, 90)
	s := Analyse(p.pattern)
	harmonic := p.harmonic(300)
	var real *Factor[float64]
	var cplx *Factor[complex128]
	for _, procs := range []int{1, 2, 8} {
		old := runtime.GOMAXPROCS(procs)
		r, err := FactorNumeric(s, p.stiff, nil)
		if err != nil {
			t.Fatal(err)
		}
		c, err := FactorNumeric(s, harmonic, nil)
		if err != nil {
			t.Fatal(err)
		}
		runtime.GOMAXPROCS(old)
		if real == nil {
			real, cplx = r, c
			continue
		}
		if !slices.Equal(r.lower, real.lower) || !slices.Equal(r.diagonal, real.diagonal) {
			t.Errorf("real factor with %d processors differs", procs)
		}
		if !slices.Equal(c.lower, cplx.lower) || !slices.Equal(c.diagonal, cplx.diagonal) {
			t.Errorf("complex factor with %d processors differs", procs)
		}
	}
	// Portable kernels too.
	plain := &Factor[float64]{}
	plain.reserve(s)
	plain.kern = portableReal()
	if err := plain.run(p.stiff); err != nil || !slices.Equal(plain.lower, real.lower) {
		t.Errorf("real factor with portable kernels differs (error %v)", err)
	}
	plainC := &Factor[complex128]{}
	plainC.reserve(s)
	plainC.kern = portableComplex()
	if err := plainC.run(harmonic); err != nil || !slices.Equal(plainC.lower, cplx.lower) {
		t.Errorf("complex factor with portable kernels differs (error %v)", err)
	}
	n := p.pattern.Size()
	b := wave(n, 2)
	x := append([]float64(nil), b...)
	real.Solve(x, 1)
	if r := Residual(p.pattern, p.stiff, x, b, 1); !(r < 1e-14) {
		t.Errorf("real residual %g", r)
	}
	cb := complexWave(n*3, 2)
	cx := append([]complex128(nil), cb...)
	cplx.Solve(cx, 3)
	if r := Residual(p.pattern, harmonic, cx, cb, 3); !(r < 1e-14) {
		t.Errorf("complex residual %g", r)
	}
}

// A linear function solves the Laplace equation; quadratic elements reproduce it. Rows of
// the boundary are made identities by moving known values to the right.
func TestQuadraticPatch(t *testing.T) {
	m := quadraticMesh(12, 9)
	p := m.pattern
	width := 25
	exact := func(i int) float64 { return 3*float64(i%width)/24 - 2*float64(i/width)/18 + 1 }
	onBoundary := func(i int) bool {
		return i%width == 0 || i%width == width-1 || i < width || i >= p.Size()-width
	}
	values := make([]float64, p.Len())
	b := make([]float64, p.Size())
	for j := range p.Size() {
		rows, at := p.Column(j)
		for k, r := range rows {
			i := int(r)
			v := m.stiff[at+k] - m.mass[at+k]
			switch {
			case i == j && onBoundary(i):
				values[at+k] = 1
				b[i] = exact(i)
			case onBoundary(i) && !onBoundary(j):
				b[j] -= v * exact(i)
			case onBoundary(j) && !onBoundary(i):
				b[i] -= v * exact(j)
			case !onBoundary(i):
				values[at+k] = v
			}
		}
	}
	f, err := FactorNumeric(Analyse(p), values, nil)
	if err != nil {
		t.Fatal(err)
	}
	f.Solve(b, 1)
	for i, v := range b {
		if math.Abs(v-exact(i)) > 1e-12 { // condition number about a thousand
			t.Fatalf("node %d: %g, want %g", i, v, exact(i))
		}
	}
}

func TestPivotErrors(t *testing.T) {
	two, _ := NewPattern(2, []int32{1}, []int32{0})
	neumann := quadraticMesh(6, 6)
	floating := make([]float64, neumann.pattern.Len())
	for k, v := range neumann.stiff {
		floating[k] = v - neumann.mass[k]
	}
	large := quadraticMesh(60, 60)
	broken := append([]float64(nil), large.stiff...)
	for _, j := range []int{17, 5000, 9999} {
		_, at := large.pattern.Column(j)
		broken[at] = math.NaN()
	}
	// NaN travels towards the root only, so the first column hit by it is one of the three.
	first := func(s *Symbolic) int {
		return slices.MinFunc([]int{17, 5000, 9999}, func(a, b int) int { return int(s.inverse[a] - s.inverse[b]) })
	}
	rows := []struct {
		name    string
		pattern *Pattern
		values  []float64
		size    func(float64) bool
	}{
		{"needs exchange", two, []float64{0, 1, 0}, func(s float64) bool { return s == 0 }},
		{"singular", two, []float64{1, 1, 1}, func(s float64) bool { return s == 0 }},
		{"NaN", two, []float64{math.NaN(), 1, 1}, math.IsNaN},
		{"infinite", two, []float64{1, 0, math.Inf(-1)}, func(s float64) bool { return math.IsInf(s, 1) }},
		{"constant in the null space", neumann.pattern, floating, func(s float64) bool { return s < 1e-14 }},
		{"three NaN in different subtrees", large.pattern, broken, math.IsNaN},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			s := Analyse(row.pattern)
			column := -1
			for _, procs := range []int{1, 8, 8, 8} {
				old := runtime.GOMAXPROCS(procs)
				f, err := FactorNumeric(s, row.values, nil)
				runtime.GOMAXPROCS(old)
				var bad *PivotError
				if f != nil || !errors.As(err, &bad) {
					t.Fatalf("factor %v, error %v; want a PivotError", f, err)
				}
				if !row.size(bad.Size) || bad.Column < 0 || bad.Column >= row.pattern.n {
					t.Errorf("unexpected: %v", bad)
				}
				if column >= 0 && bad.Column != column {
					t.Errorf("column %d on one run, %d on another", column, bad.Column)
				}
				column = bad.Column
			}
			if row.pattern == large.pattern && column != first(s) {
				t.Errorf("column %d, the first one eliminated is %d", column, first(s))
			}
			values := make([]complex128, len(row.values))
			for k, v := range row.values {
				values[k] = complex(0, v)
			}
			var bad *PivotError
			if _, err := FactorNumeric(s, values, nil); !errors.As(err, &bad) || bad.Column != column {
				t.Errorf("complex: %v, want column %d", err, column)
			}
		})
	}
	diagonal, _ := NewPattern(5, nil, nil)
	var bad *PivotError
	if _, err := FactorNumeric(Analyse(diagonal), []float64{1, 1, 1, 0, 1}, nil); !errors.As(err, &bad) ||
		bad.Column != 3 || bad.From != 0 {
		t.Errorf("zero at column 3: %v", err)
	} else if !strings.Contains(err.Error(), "column 3") {
		t.Errorf("message %q lacks the column", err)
	}
}

// An indefinite matrix with harmless pivots works; one with a tiny pivot shows in Growth.
func TestIndefinite(t *testing.T) {
	p, _ := NewPattern(2, []int32{1}, []int32{0})
	s := Analyse(p)
	f, err := FactorNumeric(s, []float64{1, 2, -3}, nil)
	if err != nil {
		t.Fatal(err)
	}
	b := []float64{5, -4} // x = (1, 2)
	f.Solve(b, 1)
	if math.Abs(b[0]-1) > 1e-15 || math.Abs(b[1]-2) > 1e-15 {
		t.Errorf("solution %v, want [1 2]", b)
	}
	// With ε first: L21 = 1/ε, D = (ε, ε - 1/ε), so |L||D||L|ᵀ has 1/ε + |ε - 1/ε| in the second corner.
	const eps = 1e-6
	if f, err = FactorNumeric(s, []float64{eps, 1, eps}, f); err != nil {
		t.Fatal(err)
	}
	want := (1/eps + (1/eps - eps)) / eps
	if got := f.Growth(); math.Abs(got/want-1) > 1e-12 {
		t.Errorf("growth %g, want %g", got, want)
	}
	// A positive definite one that loses six digits: pivot 1e-6 from 1.
	if f, err = FactorNumeric(s, []float64{1, 1, 1 + 1e-6}, f); err != nil {
		t.Fatal(err)
	}
	if ratio, _ := f.WeakestPivot(); math.Abs(ratio/1e-6-1) > 1e-5 {
		t.Errorf("weakest pivot ratio %g, want 1e-6", ratio)
	}
}

func TestReuse(t *testing.T) {
	m := quadraticMesh(20, 20)
	s := Analyse(m.pattern)
	fresh, err := FactorNumeric(s, m.stiff, nil)
	if err != nil {
		t.Fatal(err)
	}
	used, err := FactorNumeric(s, m.mass, nil)
	if err != nil {
		t.Fatal(err)
	}
	spoiled := append([]float64(nil), m.stiff...)
	spoiled[len(spoiled)/2] = math.NaN()
	if f, err := FactorNumeric(s, spoiled, used); err == nil || f != nil {
		t.Fatal("NaN was accepted")
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("a failed factor solves")
			}
		}()
		used.Solve(wave(s.n, 1), 1)
	}()
	again, err := FactorNumeric(s, m.stiff, used)
	if err != nil || again != used {
		t.Fatalf("reuse failed: %v", err)
	}
	if !slices.Equal(again.lower, fresh.lower) || !slices.Equal(again.diagonal, fresh.diagonal) {
		t.Error("reused storage gives another factor")
	}
	perRun := testing.AllocsPerRun(5, func() {
		if _, err := FactorNumeric(s, m.stiff, used); err != nil {
			t.Error(err)
		}
	})
	if perRun > 20 { // a goroutine here and there, no storage
		t.Errorf("%.0f allocations in a repeated factorisation", perRun)
	}
	other := quadraticMesh(3, 2)
	if _, err = FactorNumeric(Analyse(other.pattern), other.stiff, used); err != nil {
		t.Fatal(err)
	}
	b := wave(other.pattern.n, 1)
	x := append([]float64(nil), b...)
	used.Solve(x, 1)
	if r := Residual(other.pattern, other.stiff, x, b, 1); !(r < 1e-15) {
		t.Errorf("residual %g after changing to another pattern", r)
	}
}
