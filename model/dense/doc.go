// Package dense has the few steps on full matrices that the other packages need: triangular factors, the solution of small
// systems, and singular values. All are in plain Go with products rounded before they are added, in a fixed order, so that every
// processor gives the same bytes.
//
// The package knows no physics and no units. Small matrices are slices of rows, large ones a slice of numbers row by row.
package dense
