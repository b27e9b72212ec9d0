package sparse

// Refinement tells how iterative refinement ended.
type Refinement struct {
	Steps     int     // corrections computed
	Residual  float64 // ‖b-Ax‖∞ / (‖A‖∞ ‖x‖∞ + ‖b‖∞) of the solution returned, largest over right-hand sides
	First     float64 // the same before any correction
	Tolerance float64 // what was asked
}

// RefineOptions steer SolveRefined. The zero value is usable.
type RefineOptions struct {
	// Tolerance is the scaled residual to reach; 0 means 4·2⁻⁵² (pure number).
	Tolerance float64
	// MaxSteps is the most corrections tried; 0 means 5, negative none.
	MaxSteps int
}

// SolveRefined replaces b by the solutions like Solve, then corrects each by the solution for
// its residual until the scaled residual (normwise backward error)
//
//	η = ‖b - A x‖∞ / (‖A‖∞ ‖x‖∞ + ‖b‖∞)
//
// is at most the tolerance. values are those of the matrix that was factorised, or of one
// close to it: then A is the matrix of these values. A correction that does not lower the
// residual is dropped and ends the loop. If the tolerance was not met the error is a
// *NotConvergedError and b holds the best solution.
//
// Source: R. D. Skeel, Iterative refinement implies numerical stability for Gaussian elimination,
// Math. Comp. 35 (1980) 817–832; η after J. L. Rigal, J. Gaches, J. ACM 14 (1967) 543–548.
func (f *Factor[T]) SolveRefined(values, b []T, nrhs int, opt RefineOptions) (Refinement, error) {
	if opt.Tolerance == 0 {
		opt.Tolerance = 4 * 0x1p-52
	}
	switch {
	case opt.MaxSteps == 0:
		opt.MaxSteps = 5
	case opt.MaxSteps < 0:
		opt.MaxSteps = 0
	}
	p := f.sym.pattern
	norm := NormInf(p, values)
	given := append([]T(nil), b...)
	f.Solve(b, nrhs)
	out := Refinement{Tolerance: opt.Tolerance}
	work := make([]T, 2*p.n)
	for c := range nrhs {
		one := f.refineOne(values, given[c*p.n:(c+1)*p.n], b[c*p.n:(c+1)*p.n], work, norm, opt)
		out.Steps = max(out.Steps, one.Steps)
		out.Residual = max(out.Residual, one.Residual)
		out.First = max(out.First, one.First)
	}
	if !(out.Residual <= opt.Tolerance) {
		return out, &NotConvergedError{Result: out}
	}
	return out, nil
}

// refineOne corrects x, the solution for b. work has length 2n.
func (f *Factor[T]) refineOne(values, b, x, work []T, norm float64, opt RefineOptions) Refinement {
	p := f.sym.pattern
	residual, next := work[:p.n], work[p.n:]
	size := vectorNorm(b)
	eta := func(x []T) float64 {
		MulVec(p, values, x, residual)
		for i, v := range b {
			residual[i] = v - residual[i]
		}
		r := vectorNorm(residual)
		if r == 0 {
			return 0
		}
		return r / (float64(norm*vectorNorm(x)) + size)
	}
	out := Refinement{First: eta(x), Tolerance: opt.Tolerance}
	out.Residual = out.First
	for out.Steps < opt.MaxSteps && !(out.Residual <= opt.Tolerance) {
		f.Solve(residual, 1)
		for i, v := range x {
			next[i] = v + residual[i]
		}
		out.Steps++
		now := eta(next)
		if !(now < out.Residual) {
			break
		}
		copy(x, next)
		out.Residual = now
	}
	return out
}
