// Package sparse solves large sparse symmetric systems A x = b directly, real
// or complex symmetric (A = Aᵀ, not Hermitian), by A = P L D Lᵀ Pᵀ with a unit
// lower triangular L, a diagonal D and a permutation P chosen for low fill.
//
// The work is cut in three. NewPattern turns triplets into compressed columns
// and tells each triplet its value slot; Analyse finds the permutation and the
// shape of L from the pattern alone; FactorNumeric computes L and D for one set
// of values. Newton steps and frequency sweeps repeat only the last step.
//
// No pivots are exchanged. That is safe for real positive definite A, and for
// complex symmetric A whose real and imaginary parts are both positive
// (semi)definite, one of them definite, where the growth of the elements is
// bounded (N. J. Higham, Factorizing complex symmetric matrices with positive
// definite real and imaginary parts, Math. Comp. 67 (1998) 1591–1599). For
// any other matrix the factorisation may still succeed: a zero or lost pivot is
// a PivotError, Factor.Growth and Factor.WeakestPivot tell how much was lost,
// and Factor.SolveRefined says how small the residual became.
//
// The method is multifrontal (I. S. Duff, J. K. Reid, The multifrontal solution
// of indefinite sparse symmetric linear equations, ACM Trans. Math. Softw. 9
// (1983) 302–325): columns of like structure form a front, a dense block
// eliminated by dense kernels. Independent subtrees of fronts run at the same
// time; every sum has a fixed order, so the bytes of a factor do not depend on
// the number of processors.
//
// The package knows no physics and no units: whatever units A and b have, x has
// those of b divided by those of A.
package sparse
