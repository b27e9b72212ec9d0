package sparse

import (
	"busgauss/model/parallel"
	"busgauss/model/portable"
)

// blockColumns is how many pivots are eliminated before the rest of the front is brought
// up to date; a strip of that many columns stays in the first-level cache.
const blockColumns = 64

// sharedWork is the number of multiplications from which an update is split between
// goroutines.
const sharedWork = 1 << 19

// eliminator works through fronts one after the other.
type eliminator[T Scalar] struct {
	*Factor[T]
	panel   []T
	helpers int  // goroutines a large update may use
	corner  [6]T // scratch of pivots
}

// front assembles and eliminates front x: its columns of L go to their block, the update
// of its ancestors to the arena. It returns the first unusable pivot, or -1.
func (e *eliminator[T]) front(x int32, values []T) int32 {
	s := e.sym
	k, m := s.shape(x)
	lead := int(s.lead[x])
	panel := e.panel[:lead*padded(k)]
	clear(panel)
	slots := s.valueSlot[s.valueStart[x]:s.valueStart[x+1]]
	for q, at := range s.valueAt[s.valueStart[x]:s.valueStart[x+1]] {
		panel[at] += values[slots[q]]
	}
	first := int(s.first[x])
	for c := range k {
		e.original[first+c] = modulus(panel[c*lead+c])
	}
	for _, c := range s.childrenOf(x) {
		e.addPivotColumns(c, panel, lead, k)
	}
	block := e.lower[s.blockAt[x]:s.blockAt[x+1]]
	mp := padded(m)
	update := e.bench.arena[s.updateAt[x] : s.updateAt[x]+mp*mp]
	for from := 0; from < k; from += blockColumns {
		to := min(from+blockColumns, k)
		if bad := e.pivots(panel, block, lead, padded(k+m), from, to, first); bad >= 0 {
			return bad
		}
		// Columns to..k of the panel, then the update, with the pivots just found.
		depth := to - from
		if to < k {
			e.share(panel[to*lead+to:], lead, block[from*lead+to:], lead, panel[from*lead+to:], lead,
				padded(k+m)-to, padded(k)-to, depth, false)
		}
		if m > 0 {
			e.share(update, mp, block[from*lead+k:], lead, panel[from*lead+k:], lead, mp, mp, depth, from == 0)
		}
	}
	for _, c := range s.childrenOf(x) {
		e.addBorderColumns(c, update, mp, k)
	}
	return -1
}

// addPivotColumns adds those columns of a child's update that are pivots here.
func (e *eliminator[T]) addPivotColumns(child int32, panel []T, lead, k int) {
	places, update, mp := e.pending(child)
	for j, pj := range places {
		if int(pj) >= k {
			return
		}
		addColumn(panel[int(pj)*lead:int(pj)*lead+lead], update[j*mp:j*mp+len(places)], places, j, 0)
	}
}

// addBorderColumns adds the other columns of a child's update to the update of this front.
func (e *eliminator[T]) addBorderColumns(child int32, into []T, ld, k int) {
	places, update, mp := e.pending(child)
	from := 0
	for from < len(places) && int(places[from]) < k {
		from++
	}
	for j := from; j < len(places); j++ {
		at := (int(places[j]) - k) * ld
		addColumn(into[at:at+ld], update[j*mp:j*mp+len(places)], places, j, int32(k))
	}
}

// addColumn adds column[j:] to the places of its rows, less a shift.
func addColumn[T Scalar](into, column []T, places []int32, j int, shift int32) {
	last := len(places) - 1
	if int(places[last]-places[j]) == last-j { // one run
		into = into[places[j]-shift:]
		column = column[j:]
		into = into[:len(column)]
		for i, v := range column {
			into[i] += v
		}
		return
	}
	column = column[:len(places)]
	for i := j; i < len(places); i++ {
		into[places[i]-shift] += column[i]
	}
}

// pending returns the update a child left, with the place of its rows in the parent.
func (e *eliminator[T]) pending(child int32) (places []int32, update []T, mp int) {
	s := e.sym
	_, m := s.shape(child)
	mp = padded(m)
	at := s.updateAt[child]
	return s.places[s.rowStart[child]:s.rowStart[child+1]], e.bench.arena[at : at+mp*mp], mp
}

// pivots eliminates columns from..to of the panel, four at a time. The panel keeps
// W = L D, the block gets L. Rows reach to height. from is a multiple of four.
func (e *eliminator[T]) pivots(panel, block []T, lead, height, from, to, first int) int32 {
	l := &e.corner
	for j := from; j < to; j += 4 {
		width := min(4, to-j)
		if j > from {
			e.kern.update(panel[j*lead+j:], lead, block[from*lead+j:], lead, panel[from*lead+j:], lead,
				0, height-j, 4, j-from, false)
		}
		// The four by four corner: its factors, then its reciprocal pivots.
		*l = [6]T{}
		for c := range width {
			column := panel[(j+c)*lead+j : (j+c)*lead+j+4]
			for p := range c {
				factor := l[c*(c-1)/2+p]
				source := panel[(j+p)*lead+j : (j+p)*lead+j+4]
				for i := c; i < 4; i++ {
					column[i] -= portable.ProductOf(source[i], factor)
				}
			}
			d := column[c]
			e.diagonal[first+j+c] = d
			size := modulus(d)
			if !usable(size) || size <= lostPivot*e.original[first+j+c] {
				return int32(first + j + c)
			}
			reciprocal := portable.QuotientOf(1, d)
			e.reciprocal[first+j+c] = reciprocal
			for i := c + 1; i < width; i++ {
				l[i*(i-1)/2+c] = portable.ProductOf(column[i], reciprocal)
			}
		}
		e.kern.eliminate(panel[j*lead+j+4:], lead, height-j-4, l)
		for c := range width {
			at := (j+c)*lead + j + c + 1
			end := (j+c)*lead + height
			e.kern.scale(block[at:end], panel[at:end], e.reciprocal[first+j+c])
		}
	}
	return -1
}

// share runs an update kernel, on several goroutines if it is large. Strips are
// independent of each other, so where they are split does not show in the result.
func (e *eliminator[T]) share(c []T, ldc int, a []T, lda int, w []T, ldw int, rows, cols, depth int, store bool) {
	parts := e.helpers
	if parts < 2 || rows*cols*depth < sharedWork {
		e.kern.update(c, ldc, a, lda, w, ldw, 0, rows, cols, depth, store)
		return
	}
	// Each part gets a like share of the tiles in the lower trapezoid.
	strip := func(i int) int { return min(cols, i+8) }
	total := 0
	for i := 0; i < rows; i += 8 {
		total += strip(i)
	}
	var ends [workers + 1]int
	to, done := 0, 0
	for p := 1; p <= parts; p++ {
		for to < rows && done*parts < total*p {
			done += strip(to)
			to += 8
		}
		ends[p] = min(to, rows)
	}
	parallel.Each(parts, parts, func(_, p int) {
		if from, to := ends[p], ends[p+1]; from < to {
			e.kern.update(c, ldc, a, lda, w, ldw, from, to, cols, depth, store)
		}
	})
}
