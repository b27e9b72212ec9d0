package sparse

// Residual returns η of SolveRefined for given solutions x of right-hand sides b, the
// largest over all nrhs, a pure number; NaN when a value is NaN. Wrong lengths panic.
func Residual[T Scalar](p *Pattern, values, x, b []T, nrhs int) float64 {
	if nrhs < 0 || len(x) != p.n*nrhs || len(b) != len(x) {
		panic("sparse: vectors do not fit the matrix")
	}
	norm := NormInf(p, values)
	y := make([]T, p.n)
	worst := 0.0
	for c := range nrhs {
		bc, xc := b[c*p.n:(c+1)*p.n], x[c*p.n:(c+1)*p.n]
		MulVec(p, values, xc, y)
		for i, v := range bc {
			y[i] = v - y[i]
		}
		if r := vectorNorm(y); r != 0 {
			worst = max(worst, r/(norm*vectorNorm(xc)+vectorNorm(bc)))
		}
	}
	return worst
}
