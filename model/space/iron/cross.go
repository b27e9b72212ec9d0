package iron

import (
	"math"

	"busgauss/model/sparse"
)

// crossTolerance is how much of a matrix its crosses may leave, in the root of the sum of squares: the digits that single
// precision keeps of it.
const crossTolerance = 1e-8

// lookedRows are looked at before crosses are believed.
const lookedRows = 8

// matrix gives rows and columns of a matrix that is too costly to have whole.
type matrix struct {
	rows, cols int
	row        func(i int, out []float64)
	col        func(j int, out []float64)
}

// crossed approximates a matrix by a sum of crosses, A = Σ u_k v_kᵀ: the column through the largest number of a row of what
// is left, times that row. Several rows of what is left are looked at before it stops. It returns false where more than most
// crosses would be needed.
//
// Source: M. Bebendorf, Numer. Math. 86 (2000) 565 (adaptive cross approximation, from memory).
func crossed(a matrix, most int) (u, v [][]float64, ok bool) {
	used := make([]bool, a.rows)
	row := make([]float64, a.cols)
	square := 0.0 // of what the crosses add up to
	left := func(i int) {
		a.row(i, row)
		for k := range u {
			axpy(-u[k][i], v[k], row)
		}
	}
	for i := 0; i >= 0; {
		used[i] = true
		left(i)
		j := largest(row, nil)
		if row[j] == 0 {
			i = a.mostLeft(left, row, used, 0)
			continue
		}
		if len(u) == most {
			return nil, nil, false
		}
		across, down := scaled(row, 1/row[j]), make([]float64, a.rows)
		a.col(j, down)
		for k := range u {
			axpy(-v[k][j], u[k], down)
		}
		for k := range u {
			square += float64(2 * sparse.Dot(u[k], down) * sparse.Dot(v[k], across))
		}
		last := float64(sparse.Dot(down, down) * sparse.Dot(across, across))
		square += last
		u, v = append(u, down), append(v, across)
		if i = largest(down, used); last <= crossTolerance*crossTolerance*square {
			i = a.mostLeft(left, row, used, crossTolerance*crossTolerance*square/float64(a.rows))
		}
	}
	return u, v, true
}

// mostLeft looks at some rows that were not used and returns the one that has most left in the sum of squares, -1 where none
// has more than enough.
func (a matrix) mostLeft(left func(int), row []float64, used []bool, enough float64) int {
	worst, at := enough, -1
	for k := range lookedRows {
		i := (2*k + 1) * a.rows / (2 * lookedRows)
		for i < a.rows && used[i] {
			i++
		}
		if i == a.rows {
			continue
		}
		left(i)
		if s := sparse.Dot(row, row); s > worst {
			worst, at = s, i
		}
	}
	return at
}

// largest returns the place of the largest size in v where it is not used, -1 where all are.
func largest(v []float64, used []bool) int {
	at := -1
	for i := range v {
		if (used == nil || !used[i]) && (at < 0 || math.Abs(v[i]) > math.Abs(v[at])) {
			at = i
		}
	}
	return at
}

// axpy adds f x to y.
func axpy(f float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += float64(f * v)
	}
}
