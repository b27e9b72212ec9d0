package sparse

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
)

// The factor of K + 1.01 M solves K + M by refinement alone: the error shrinks at least by
// 0.01 a step, as K is positive semidefinite.
func TestSolveRefined(t *testing.T) {
	m := quadraticMesh(10, 10)
	s := Analyse(m.pattern)
	near := append([]float64(nil), m.stiff...)
	for k := range near {
		near[k] += 0.01 * m.mass[k]
	}
	f, err := FactorNumeric(s, near, nil)
	if err != nil {
		t.Fatal(err)
	}
	n := m.pattern.n
	b := wave(2*n, 3)
	x := append([]float64(nil), b...)
	result, err := f.SolveRefined(m.stiff, x, 2, RefineOptions{MaxSteps: 40})
	if err != nil {
		t.Fatal(err)
	}
	if !(result.First > 1e-8) || result.Steps < 2 {
		t.Errorf("nothing to refine: %+v", result)
	}
	if r := Residual(m.pattern, m.stiff, x, b, 2); r != result.Residual || !(r <= result.Tolerance) || result.Tolerance != 0x1p-50 {
		t.Errorf("residual %g, reported %+v", r, result)
	}

	x = append(x[:0], b...)
	result, err = f.SolveRefined(m.stiff, x, 2, RefineOptions{MaxSteps: 1})
	var not *NotConvergedError
	if !errors.As(err, &not) || not.Result != result || result.Steps != 1 {
		t.Fatalf("one step: %+v, %v", result, err)
	}
	if text := err.Error(); !strings.Contains(text, "1 refinement step") || !strings.Contains(text, "8.88e-16") {
		t.Errorf("message %q lacks steps or tolerance", text)
	}
	if r := Residual(m.pattern, m.stiff, x, b, 2); r != result.Residual || !(r < result.First) {
		t.Errorf("one step: residual %g, reported %+v", r, result)
	}

	x = append(x[:0], b...)
	if result, err = f.SolveRefined(m.stiff, x, 2, RefineOptions{MaxSteps: -1, Tolerance: 1}); err != nil || result.Steps != 0 || result.Residual != result.First {
		t.Errorf("no steps: %+v, %v", result, err)
	}

	// With 3 A for A the first correction turns x into -x and doubles the residual: it is dropped.
	far := append([]float64(nil), near...)
	for k := range far {
		far[k] *= 3
	}
	plain := append([]float64(nil), b...)
	f.Solve(plain, 2)
	x = append(x[:0], b...)
	result, err = f.SolveRefined(far, x, 2, RefineOptions{})
	if !errors.As(err, &not) || result.Steps != 1 || result.Residual != result.First || !slices.Equal(x, plain) {
		t.Errorf("diverging: %+v, %v", result, err)
	}
}

func TestSolveRefinedNaN(t *testing.T) {
	m := quadraticMesh(2, 2)
	f, err := FactorNumeric(Analyse(m.pattern), m.harmonic(1), nil)
	if err != nil {
		t.Fatal(err)
	}
	b := complexWave(m.pattern.n, 1)
	b[3] = complex(math.NaN(), 0)
	if result, err := f.SolveRefined(m.harmonic(1), b, 1, RefineOptions{}); err == nil || !math.IsNaN(result.Residual) {
		t.Errorf("NaN on the right: %+v, %v", result, err)
	}
	clean := complexWave(m.pattern.n, 1)
	if result, err := f.SolveRefined(m.harmonic(1), clean, 1, RefineOptions{}); err != nil {
		t.Errorf("clean: %+v, %v", result, err)
	}
}

// FuzzSolve builds small systems from bytes: pairs are entries, one byte in a pattern of up
// to forty rows. Dominant matrices must be solved to rounding, real and complex.
func FuzzSolve(f *testing.F) {
	f.Add([]byte{3, 0, 1, 1, 2, 2, 0})
	f.Add([]byte{39, 0, 1, 0, 2, 0, 3, 0, 4, 0, 5, 9, 8, 7, 6, 30, 20, 10, 38})
	f.Add([]byte{0})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) == 0 || len(data) > 400 {
			return
		}
		n := 1 + int(data[0])%40
		data = data[1:]
		var rows, cols []int32
		for k := 0; k+1 < len(data); k += 2 {
			rows, cols = append(rows, int32(int(data[k])%n)), append(cols, int32(int(data[k+1])%n))
		}
		p, _ := NewPattern(n, rows, cols)
		s := Analyse(p)
		columns, _ := naiveFill(p, minimumDegree(p))
		checkSymbolic(t, s, fillOf(columns))
		values := make([]float64, p.Len())
		cplx := make([]complex128, p.Len())
		for j := range n {
			below, at := p.Column(j)
			for k, i := range below[1:] {
				v := float64(int(i)%7-3) / 3
				values[at+1+k] = v
				values[at] += math.Abs(v)
				values[p.Index(int(i), int(i))] += math.Abs(v)
			}
			values[at] += 0.5
		}
		for k, v := range values {
			cplx[k] = complex(v, v/3)
		}
		for _, nrhs := range []int{1, 5} {
			real, err := FactorNumeric(s, values, nil)
			if err != nil {
				t.Fatal(err)
			}
			b := wave(n*nrhs, 1)
			x := append([]float64(nil), b...)
			real.Solve(x, nrhs)
			if r := Residual(p, values, x, b, nrhs); !(r < 1e-14) {
				t.Errorf("real residual %g", r)
			}
			c, err := FactorNumeric(s, cplx, nil)
			if err != nil {
				t.Fatal(err)
			}
			cb := complexWave(n*nrhs, 1)
			cx := append([]complex128(nil), cb...)
			c.Solve(cx, nrhs)
			if r := Residual(p, cplx, cx, cb, nrhs); !(r < 1e-14) {
				t.Errorf("complex residual %g", r)
			}
		}
	})
}
