package sparse

import "fmt"

// PivotError says that the factorisation met a pivot it could not divide by: zero, NaN,
// infinite, or without a significant digit left (at most lostPivot of the diagonal entry
// it was made from). The matrix is singular to working precision, needs pivoting, or has
// NaN among its values.
type PivotError struct {
	Column int     // row and column of the matrix, from 0
	Size   float64 // modulus of the pivot, in the unit of the matrix; may be NaN
	From   float64 // modulus of the diagonal entry before elimination
}

func (e *PivotError) Error() string {
	return fmt.Sprintf("sparse: pivot of column %d is unusable: size %.3g, from diagonal entry of size %.3g",
		e.Column, e.Size, e.From)
}

// NotConvergedError says that iterative refinement ended above the tolerance. The
// solution slice holds the best iterate, which Result describes.
type NotConvergedError struct {
	Result Refinement
}

func (e *NotConvergedError) Error() string {
	return fmt.Sprintf("sparse: residual %.3g after %d refinement steps, tolerance %.3g",
		e.Result.Residual, e.Result.Steps, e.Result.Tolerance)
}
