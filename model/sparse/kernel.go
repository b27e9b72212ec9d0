package sparse

// kernels are the dense inner loops for one kind of number. All matrices are column
// after column with the given distance between columns; all row counts are multiples of
// four. Each result has one fixed order of operations, without fused multiply-add, so
// the portable and the vector versions give the same bytes.
type kernels[T Scalar] struct {
	// update subtracts A Wᵀ from the lower trapezoid of C, or with store set writes
	// C = -A Wᵀ: for rows i in [from, to) and columns j < cols in tiles of four by four
	// that touch or lie below the diagonal i = j,
	//
	//	C[i,j] -= Σ_p A[i,p] W[j,p], p = 0..depth-1 ascending
	//
	// A tile may also write its part above the diagonal. from is a multiple of eight,
	// to and cols of four.
	update func(c []T, ldc int, a []T, lda int, w []T, ldw int, from, to, cols, depth int, store bool)
	// eliminate applies the unit lower triangle of four columns to the rows of x, which
	// has four columns: x_1 -= l10 x_0, x_2 -= l20 x_0 + l21 x_1, and so on. The six
	// factors come as l10, l20, l21, l30, l31, l32.
	eliminate func(x []T, ld, rows int, l *[6]T)
	// scale sets y = factor x. y and x have equal length and may be the same.
	scale func(y, x []T, factor T)
	// spread is the forward step of a solution for four right-hand sides, stored row
	// after row: y[4j+q] -= Σ_p v[4p+q] L[j,p] for rows j, a multiple of four of them, and
	// p = 0..depth-1 ascending.
	spread func(y, l []T, ld int, v []T, rows, depth int)
	// gather is the backward step: v[4c+q] -= Σ_i L[i,c] x[4i+q] for columns c = 0..cols-1
	// and i = 0..rows-1 ascending.
	gather func(v, l []T, ld int, x []T, cols, rows int)
	columns[T]
}

// columns are products with single columns of a matrix, the same on every processor.
type columns[T Scalar] struct {
	// take sets y -= l v, add y += l v, and addFour y += l0 v0 + l1 v1 + l2 v2 + l3 v3, one after the other.
	take, add func(y, l []T, v T)
	addFour   func(y []T, l [4][]T, v [4]T)
	// dot returns the sum of l[i] x[i] and dotFour those of four columns.
	dot     func(l, x []T) T
	dotFour func(l [4][]T, x []T) (s0, s1, s2, s3 T)
	// takeRows sets y[4i+q] -= l[i] v[q] for rows i of four right-hand sides, and gatherRows v[q] -= Σ_i l[i] y[4i+q].
	takeRows, gatherRows func(y, l, v []T)
	// scatter sets y[rows[k]] += values[k] v and returns sum with all values[k] x[rows[k]] added.
	scatter func(y, x, values []T, rows []int32, v, sum T) T
}

func realColumns() columns[float64] {
	return columns[float64]{takeReal, addReal, addFourReal, dotReal, dotFourReal, takeRowsReal, gatherRowsReal, scatterReal}
}

func complexColumns() columns[complex128] {
	return columns[complex128]{takeComplex, addComplex, addFourComplex, dotComplex, dotFourComplex, takeRowsComplex, gatherRowsComplex,
		scatterComplex}
}

func kernelsFor[T Scalar]() *kernels[T] {
	var set any
	switch any(*new(T)).(type) {
	case float64:
		set = realKernels()
	case complex128:
		set = complexKernels()
	}
	return set.(*kernels[T])
}
