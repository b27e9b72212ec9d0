package sparse

import "golang.org/x/sys/cpu"

// Vector kernels for processors with AVX. They use multiplications and additions in the
// order of the portable ones, not fused, so that both give the same bytes.

func realKernels() *kernels[float64] {
	if !cpu.X86.HasAVX {
		return portableReal()
	}
	return &kernels[float64]{updateRealVector, eliminateRealVector, scaleRealVector, spreadRealVector, gatherRealVector, realColumns()}
}

func complexKernels() *kernels[complex128] {
	if !cpu.X86.HasAVX {
		return portableComplex()
	}
	return &kernels[complex128]{updateComplexVector, eliminateComplexVector, scaleComplexVector, spreadComplexVector, gatherComplexVector, complexColumns()}
}

// The strips below handle 8 or 4 rows against tiles of columns; distances are in
// elements, depth and tiles are positive.

//go:noescape
func stripReal8(c *float64, ldc int, a *float64, lda int, w *float64, ldw int, tiles, depth int, store bool)

//go:noescape
func stripReal4(c *float64, ldc int, a *float64, lda int, w *float64, ldw int, tiles, depth int, store bool)

//go:noescape
func stripComplex4(c *complex128, ldc int, a *complex128, lda int, w *complex128, ldw int, tiles, depth int, store bool)

//go:noescape
func eliminateRealAVX(x *float64, ld, rows int, l *[6]float64)

//go:noescape
func eliminateComplexAVX(x *complex128, ld, rows int, l *[6]complex128)

//go:noescape
func scaleComplexAVX(y, x *complex128, pairs int, factor *complex128)

// The sums below are over rows of x with each of the columns l0, l1, ..., which may be
// the same; rows is positive.

//go:noescape
func gatherRealAVX(sums *[16]float64, l0, l1, l2, l3, x *float64, rows int)

//go:noescape
func gatherComplexAVX(sums *[8]complex128, l0, l1, x *complex128, rows int)

//go:noescape
func scaleRealAVX(y, x *float64, quads int, factor float64)

func updateRealVector(c []float64, ldc int, a []float64, lda int, w []float64, ldw int, from, to, cols, depth int, store bool) {
	if from >= to || cols == 0 {
		return
	}
	if depth == 0 {
		updateReal(c, ldc, a, lda, w, ldw, from, to, cols, depth, store)
		return
	}
	// The last elements touched, so that a wrong shape panics here.
	_, _, _ = c[to-1+(min(cols, (to+7)&^7)-1)*ldc], a[to-1+(depth-1)*lda], w[min(cols, (to+7)&^7)-1+(depth-1)*ldw]
	i := from
	for ; i+8 <= to; i += 8 {
		stripReal8(&c[i], ldc, &a[i], lda, &w[0], ldw, min(cols, i+8)/4, depth, store)
	}
	if i < to {
		stripReal4(&c[i], ldc, &a[i], lda, &w[0], ldw, min(cols, i+8)/4, depth, store)
	}
}

func updateComplexVector(c []complex128, ldc int, a []complex128, lda int, w []complex128, ldw int, from, to, cols, depth int, store bool) {
	if from >= to || cols == 0 {
		return
	}
	if depth == 0 {
		updateComplex(c, ldc, a, lda, w, ldw, from, to, cols, depth, store)
		return
	}
	_, _, _ = c[to-1+(min(cols, to)-1)*ldc], a[to-1+(depth-1)*lda], w[min(cols, to)-1+(depth-1)*ldw]
	for i := from; i < to; i += 4 {
		stripComplex4(&c[i], ldc, &a[i], lda, &w[0], ldw, min(cols, i+4)/2, depth, store)
	}
}

func eliminateRealVector(x []float64, ld, rows int, l *[6]float64) {
	if rows == 0 {
		return
	}
	_ = x[3*ld+rows-1]
	eliminateRealAVX(&x[0], ld, rows, l)
}

func eliminateComplexVector(x []complex128, ld, rows int, l *[6]complex128) {
	if rows == 0 {
		return
	}
	_ = x[3*ld+rows-1]
	eliminateComplexAVX(&x[0], ld, rows, l)
}

func scaleRealVector(y, x []float64, factor float64) {
	y = y[:len(x)]
	quads := len(x) / 4
	if quads > 0 {
		scaleRealAVX(&y[0], &x[0], quads, factor)
	}
	for i := 4 * quads; i < len(x); i++ {
		y[i] = x[i] * factor
	}
}

func scaleComplexVector(y, x []complex128, factor complex128) {
	y = y[:len(x)]
	pairs := len(x) / 2
	if pairs > 0 {
		scaleComplexAVX(&y[0], &x[0], pairs, &factor)
	}
	if i := 2 * pairs; i < len(x) {
		y[i] = times(x[i], factor)
	}
}

func spreadRealVector(y, l []float64, ld int, v []float64, rows, depth int) {
	if rows == 0 || depth == 0 {
		return
	}
	_, _, _ = y[4*rows-1], l[rows-1+(depth-1)*ld], v[4*depth-1]
	stripReal4(&y[0], 4, &v[0], 4, &l[0], ld, rows/4, depth, false)
}

func spreadComplexVector(y, l []complex128, ld int, v []complex128, rows, depth int) {
	if rows == 0 || depth == 0 {
		return
	}
	_, _, _ = y[4*rows-1], l[rows-1+(depth-1)*ld], v[4*depth-1]
	stripComplex4(&y[0], 4, &v[0], 4, &l[0], ld, rows/2, depth, false)
}

func gatherRealVector(v, l []float64, ld int, x []float64, cols, rows int) {
	if rows == 0 || cols == 0 {
		return
	}
	_, _, _ = v[4*cols-1], l[rows-1+(cols-1)*ld], x[4*rows-1]
	var sums [16]float64
	for c := 0; c < cols; c += 4 {
		last := cols - 1
		gatherRealAVX(&sums, &l[c*ld], &l[min(c+1, last)*ld], &l[min(c+2, last)*ld], &l[min(c+3, last)*ld], &x[0], rows)
		into := v[4*c : min(4*c+16, 4*cols)]
		for q := range into {
			into[q] -= sums[q]
		}
	}
}

func gatherComplexVector(v, l []complex128, ld int, x []complex128, cols, rows int) {
	if rows == 0 || cols == 0 {
		return
	}
	_, _, _ = v[4*cols-1], l[rows-1+(cols-1)*ld], x[4*rows-1]
	var sums [8]complex128
	for c := 0; c < cols; c += 2 {
		gatherComplexAVX(&sums, &l[c*ld], &l[min(c+1, cols-1)*ld], &x[0], rows)
		into := v[4*c : min(4*c+8, 4*cols)]
		for q := range into {
			into[q] -= sums[q]
		}
	}
}
