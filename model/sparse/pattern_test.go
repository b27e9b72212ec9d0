package sparse

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func TestNewPattern(t *testing.T) {
	// Lower triangle of   x . x      given with one duplicate, both triangles of (2,0), no
	//                     . x .      (1,1) at all.
	//                     x . x
	rows := []int32{2, 0, 0, 2, 2, 2}
	cols := []int32{0, 2, 0, 2, 0, 2}
	p, scatter := NewPattern(3, rows, cols)
	if want := []int32{0, 2, 1, 2}; !slices.Equal(p.rows, want) {
		t.Errorf("rows %v, want %v", p.rows, want)
	}
	if want := []int32{0, 2, 3, 4}; !slices.Equal(p.colStart, want) {
		t.Errorf("column starts %v, want %v", p.colStart, want)
	}
	if want := []int32{1, -1, 0, 3, 1, 3}; !slices.Equal(scatter, want) {
		t.Errorf("scatter %v, want %v", scatter, want)
	}
	values := make([]float64, p.Len())
	Assemble(values, scatter, []float64{1, 100, 2, 4, 8, 16})
	if want := []float64{2, 9, 0, 20}; !slices.Equal(values, want) {
		t.Errorf("values %v, want %v", values, want)
	}
	for _, c := range []struct{ i, j, want int }{{0, 0, 0}, {2, 0, 1}, {0, 2, 1}, {1, 1, 2}, {2, 2, 3}, {1, 0, -1}, {2, 1, -1}} {
		if got := p.Index(c.i, c.j); got != c.want {
			t.Errorf("Index(%d, %d) = %d, want %d", c.i, c.j, got, c.want)
		}
	}
	if got, at := p.Column(0); !slices.Equal(got, []int32{0, 2}) || at != 0 {
		t.Errorf("Column(0) = %v from %d", got, at)
	}
}

// Duplicates are summed in index order: 1e16 + 1 - 1e16 loses the one, other orders keep it.
func TestAssembleOrder(t *testing.T) {
	_, scatter := NewPattern(1, []int32{0, 0, 0}, []int32{0, 0, 0})
	values := []float64{0}
	Assemble(values, scatter, []float64{1e16, 1, -1e16})
	if values[0] != 0 {
		t.Errorf("sum %g, want 0 from left to right", values[0])
	}
	values[0] = 0
	Assemble(values, scatter, []float64{1e16, -1e16, 1})
	if values[0] != 1 {
		t.Errorf("sum %g, want 1 from left to right", values[0])
	}
}

func TestPanics(t *testing.T) {
	p, scatter := NewPattern(2, nil, nil)
	f, err := FactorNumeric(Analyse(p), []float64{1, 1}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, call := range map[string]func(){
		"size":     func() { NewPattern(-1, nil, nil) },
		"lengths":  func() { NewPattern(1, []int32{0}, nil) },
		"row":      func() { NewPattern(1, []int32{1}, []int32{0}) },
		"column":   func() { NewPattern(1, []int32{0}, []int32{-1}) },
		"scatter":  func() { Assemble([]float64{0, 0}, scatter, []float64{1}) },
		"index":    func() { p.Index(2, 0) },
		"col":      func() { p.Column(2) },
		"values":   func() { FactorNumeric(Analyse(p), []float64{1}, nil) },
		"rhs":      func() { f.Solve([]float64{1}, 1) },
		"nrhs":     func() { f.Solve(nil, -1) },
		"unmade":   func() { new(Factor[float64]).Solve(nil, 0) },
		"product":  func() { MulVec(p, []float64{1, 1}, []float64{1}, []float64{1, 1}) },
		"matrix":   func() { MulVec(p, []float64{1}, []float64{1, 1}, []float64{1, 1}) },
		"norm":     func() { NormInf(p, []float64{1}) },
		"residual": func() { Residual(p, []float64{1, 1}, []float64{1}, []float64{1}, 1) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			call()
		})
	}
}

// randomPattern gives about extra off-diagonal entries.
func randomPattern(rng *rand.Rand, n, extra int) *Pattern {
	var rows, cols []int32
	for range extra {
		rows = append(rows, int32(rng.IntN(n)))
		cols = append(cols, int32(rng.IntN(n)))
	}
	p, _ := NewPattern(n, rows, cols)
	return p
}

// gridPattern is the five-point grid of nx by ny nodes.
func gridPattern(nx, ny int) *Pattern {
	var rows, cols []int32
	for i := range nx * ny {
		if i%nx > 0 {
			rows, cols = append(rows, int32(i)), append(cols, int32(i-1))
		}
		if i >= nx {
			rows, cols = append(rows, int32(i)), append(cols, int32(i-nx))
		}
	}
	p, _ := NewPattern(nx*ny, rows, cols)
	return p
}

// denseOf spells a real matrix out.
func denseOf(p *Pattern, values []float64) *mat.SymDense {
	d := mat.NewSymDense(p.n, nil)
	for j := range p.n {
		rows, at := p.Column(j)
		for k, i := range rows {
			d.SetSym(int(i), j, values[at+k])
		}
	}
	return d
}

func TestMulVecAndNorm(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 20 {
		n := 1 + rng.IntN(30)
		p := randomPattern(rng, n, 3*n)
		values := make([]float64, p.Len())
		twice := make([]complex128, p.Len())
		for k := range values {
			values[k] = rng.NormFloat64()
			twice[k] = complex(values[k], -2*values[k])
		}
		x, y := wave(n, 1), make([]float64, n)
		MulVec(p, values, x, y)
		var want mat.VecDense
		want.MulVec(denseOf(p, values), mat.NewVecDense(n, x))
		z := make([]complex128, n)
		for i, v := range x {
			z[i] = complex(0, v)
		}
		cy := make([]complex128, n)
		MulVec(p, twice, z, cy)
		for i := range y {
			// n products, each rounded once.
			if math.Abs(y[i]-want.AtVec(i)) > 1e-13 {
				t.Fatalf("row %d: %g, want %g", i, y[i], want.AtVec(i))
			}
			if d := cy[i] - complex(2*y[i], y[i]); modulus(d) > 1e-13 {
				t.Fatalf("complex row %d: %g", i, cy[i])
			}
		}
		if got, want := NormInf(p, values), mat.Norm(denseOf(p, values), math.Inf(1)); math.Abs(got-want) > 1e-13*want {
			t.Fatalf("norm %g, want %g", got, want)
		}
	}
	p, _ := NewPattern(2, nil, nil)
	if got := NormInf(p, []float64{math.NaN(), 7}); !math.IsNaN(got) {
		t.Errorf("norm with NaN is %g", got)
	}
}
