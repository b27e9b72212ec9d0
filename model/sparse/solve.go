package sparse

import (
	"slices"

	"busgauss/model/portable"
)

// Right-hand sides are solved four at a time, laid out row after row, so that each entry
// of L is read once for all four.
const together = 4

// solveWork is what one call of Solve works in.
type solveWork[T Scalar] struct {
	x, local []T // the right-hand sides, and the rows of the largest front of each
}

// Solve replaces b, which holds nrhs right-hand sides of length n one after the other, by
// the solutions of A x = b. A length other than n·nrhs panics, and so does a factor that
// was never made. Many goroutines may solve with one factor at the same time. One right-hand side may
// come out different in the last bits from the same among several.
func (f *Factor[T]) Solve(b []T, nrhs int) {
	f.mustBeValid()
	n := f.sym.n
	if nrhs < 0 || len(b) != n*nrhs {
		panic("sparse: right-hand sides do not fit the matrix")
	}
	if n == 0 || nrhs == 0 {
		return
	}
	work, ok := f.work.Get().(*solveWork[T])
	if !ok {
		longest := 0
		for _, lead := range f.sym.lead {
			longest = max(longest, int(lead))
		}
		work = &solveWork[T]{x: make([]T, n*together), local: make([]T, longest*together)}
	}
	defer f.work.Put(work)
	x, local := work.x, work.local
	if nrhs == 1 {
		f.solveOne(b, x[:n], local)
		return
	}
	for at := 0; at < nrhs; at += together {
		width := min(together, nrhs-at)
		clear(x)
		for c := range width {
			column := b[(at+c)*n : (at+c+1)*n]
			for k, j := range f.sym.order {
				x[k*together+c] = column[j]
			}
		}
		f.solveFour(x, local)
		for c := range width {
			column := b[(at+c)*n : (at+c+1)*n]
			for k, j := range f.sym.order {
				column[j] = x[k*together+c]
			}
		}
	}
}

// solveOne solves for a single right-hand side; x has length n, border that of the
// longest border.
func (f *Factor[T]) solveOne(b, x, border []T) {
	s := f.sym
	for k, j := range s.order {
		x[k] = b[j]
	}
	for front := range int32(len(s.parent)) {
		k, m := s.shape(front)
		block, lead := f.lower[s.blockAt[front]:s.blockAt[front+1]], int(s.lead[front])
		own := x[s.first[front]:s.first[front+1]]
		sums := border[:m]
		clear(sums)
		for c := range own {
			f.kern.take(own[c+1:], block[c*lead+c+1:c*lead+k], own[c])
		}
		c := 0
		for ; c+4 <= k; c += 4 {
			f.kern.addFour(sums, fourColumns(block, c, lead, k, m), [4]T(own[c:]))
		}
		for ; c < k; c++ {
			f.kern.add(sums, block[c*lead+k:][:m], own[c])
		}
		for i, r := range s.rowsOf(front) {
			x[r] -= sums[i]
		}
	}
	for k, r := range f.reciprocal {
		x[k] = portable.ProductOf(x[k], r)
	}
	for front := int32(len(s.parent)) - 1; front >= 0; front-- {
		k, m := s.shape(front)
		block, lead := f.lower[s.blockAt[front]:s.blockAt[front+1]], int(s.lead[front])
		own := x[s.first[front]:s.first[front+1]]
		below := border[:m]
		for i, r := range s.rowsOf(front) {
			below[i] = x[r]
		}
		c := k
		for ; c >= 4; c -= 4 {
			s0, s1, s2, s3 := f.kern.dotFour(fourColumns(block, c-4, lead, k, m), below)
			own[c-4] -= s0
			own[c-3] -= s1
			own[c-2] -= s2
			own[c-1] -= s3
		}
		for c--; c >= 0; c-- {
			own[c] -= f.kern.dot(block[c*lead+k:][:m], below)
		}
		for c := k - 1; c >= 0; c-- {
			own[c] -= f.kern.dot(block[c*lead+c+1:c*lead+k], own[c+1:])
		}
	}
	for k, j := range s.order {
		b[j] = x[k]
	}
}

// fourColumns returns rows k to k+m of four columns from c.
func fourColumns[T Scalar](block []T, c, lead, k, m int) [4][]T {
	return [4][]T{block[c*lead+k:][:m], block[(c+1)*lead+k:][:m], block[(c+2)*lead+k:][:m], block[(c+3)*lead+k:][:m]}
}

// solveBlock is how many pivots are solved one by one before the rows below them.
const solveBlock = 8

// solveFour solves for four right-hand sides stored row after row in x. local holds the
// rows of the largest front.
func (f *Factor[T]) solveFour(x, local []T) {
	s := f.sym
	for front := range int32(len(s.parent)) {
		k, m := s.shape(front)
		block, lead := f.lower[s.blockAt[front]:s.blockAt[front+1]], int(s.lead[front])
		own := x[int(s.first[front])*together : int(s.first[front+1])*together]
		if !slices.ContainsFunc(own, func(v T) bool { return v != 0 }) {
			continue // nothing to take from the rows below: loads that are few leave most fronts so
		}
		y := local[:lead*together]
		clear(y[copy(y, own):])
		for from := 0; from < k; from += solveBlock {
			to := min(from+solveBlock, k)
			for c := from; c < to; c++ {
				f.kern.takeRows(y[(c+1)*together:], block[c*lead+c+1:c*lead+to], y[c*together:][:together])
			}
			f.kern.spread(y[to*together:], block[from*lead+to:], lead, y[from*together:], padded(k+m-to), to-from)
		}
		copy(own, y)
		for i, r := range s.rowsOf(front) {
			to, from := x[int(r)*together:][:together], y[(k+i)*together:][:together]
			to[0] += from[0]
			to[1] += from[1]
			to[2] += from[2]
			to[3] += from[3]
		}
	}
	for k, r := range f.reciprocal {
		row := x[k*together:][:together]
		for q := range row {
			row[q] = portable.ProductOf(row[q], r)
		}
	}
	for front := int32(len(s.parent)) - 1; front >= 0; front-- {
		k, m := s.shape(front)
		block, lead := f.lower[s.blockAt[front]:s.blockAt[front+1]], int(s.lead[front])
		own := x[int(s.first[front])*together : int(s.first[front+1])*together]
		y := local[:(k+m)*together]
		copy(y, own)
		for i, r := range s.rowsOf(front) {
			copy(y[(k+i)*together:][:together], x[int(r)*together:])
		}
		for to := k; to > 0; {
			from := (to - 1) / solveBlock * solveBlock
			f.kern.gather(y[from*together:], block[from*lead+to:], lead, y[to*together:], to-from, k+m-to)
			for c := to - 2; c >= from; c-- {
				f.kern.gatherRows(y[c*together:][:together], block[c*lead+c+1:c*lead+to], y[(c+1)*together:])
			}
			to = from
		}
		copy(own, y)
	}
}
