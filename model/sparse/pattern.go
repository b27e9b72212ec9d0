package sparse

// Pattern is where a symmetric matrix may be non-zero: its lower triangle in
// compressed columns, row numbers strictly increasing in each column, every
// diagonal entry present. It does not change after NewPattern.
//
// Values of a matrix of this pattern are a slice of length Len, one slot for
// each stored entry, owned by the caller.
type Pattern struct {
	n        int
	colStart []int32 // len n+1, column starts; strictly increasing
	rows     []int32 // len colStart[n]; the first of each column is its diagonal
}

// NewPattern returns the pattern of an n×n symmetric matrix from triplets, and
// for each triplet k the slot scatter[k] its value is to be added to.
//
// Triplets on and below the diagonal (rows[k] >= cols[k]) are kept; those above
// are ignored and have slot -1, so whole element matrices can be passed as they
// are. Entries given more than once share a slot. Diagonal entries exist
// whether given or not. The arguments are only read. n < 0, unequal lengths and
// indices outside 0..n-1 panic. Time and memory grow in proportion to n plus the number of
// triplets.
func NewPattern(n int, rows, cols []int32) (pattern *Pattern, scatter []int32) {
	if n < 0 {
		panic("sparse: negative size")
	}
	if len(rows) != len(cols) {
		panic("sparse: rows and columns of triplets differ in length")
	}
	scatter = make([]int32, len(rows))
	rowStart := make([]int32, n+1)
	colStart := make([]int32, n+1)
	for k, r := range rows {
		c := cols[k]
		if r < 0 || int(r) >= n {
			panic("sparse: row out of range")
		}
		if c < 0 || int(c) >= n {
			panic("sparse: column out of range")
		}
		if r > c {
			rowStart[r+1]++
			colStart[c+1]++
		}
	}
	for i := range n {
		rowStart[i+1] += rowStart[i]
		colStart[i+1] += colStart[i]
	}
	// Two stable counting sorts, by row and then by column, leave the triplets
	// of each column with rows ascending.
	byRow := make([]int32, rowStart[n])
	fill := make([]int32, n)
	copy(fill, rowStart)
	for k, r := range rows {
		if r > cols[k] {
			byRow[fill[r]] = int32(k)
			fill[r]++
		}
	}
	byCol := make([]int32, colStart[n])
	copy(fill, colStart)
	for _, k := range byRow {
		c := cols[k]
		byCol[fill[c]] = k
		fill[c]++
	}
	p := &Pattern{n: n, colStart: make([]int32, n+1), rows: make([]int32, 0, n+len(byCol))}
	for c := range n {
		p.rows = append(p.rows, int32(c))
		last := int32(c)
		for _, k := range byCol[colStart[c]:colStart[c+1]] {
			if rows[k] != last {
				last = rows[k]
				p.rows = append(p.rows, last)
			}
			scatter[k] = int32(len(p.rows) - 1)
		}
		p.colStart[c+1] = int32(len(p.rows))
	}
	for k, r := range rows {
		switch c := cols[k]; {
		case r == c:
			scatter[k] = p.colStart[c]
		case r < c:
			scatter[k] = -1
		}
	}
	return p, scatter
}

// Size returns the number of rows.
func (p *Pattern) Size() int { return p.n }

// Len returns the number of stored entries, the length of a slice of values.
func (p *Pattern) Len() int { return len(p.rows) }

// Column returns the row numbers of the stored entries of column j, ascending
// from j, and the slot of the first; the others follow it. The slice belongs to
// the pattern and must not be written. j outside 0..n-1 panics.
func (p *Pattern) Column(j int) (rows []int32, firstSlot int) {
	if j < 0 || j >= p.n {
		panic("sparse: column out of range")
	}
	return p.rows[p.colStart[j]:p.colStart[j+1]], int(p.colStart[j])
}

// Index returns the slot of the entry (i, j), which is also that of (j, i), or
// -1 when the pattern has no such entry. Indices outside 0..n-1 panic.
func (p *Pattern) Index(i, j int) int {
	if i < j {
		i, j = j, i
	}
	if j < 0 || i >= p.n {
		panic("sparse: index out of range")
	}
	lo, hi := int(p.colStart[j]), int(p.colStart[j+1])
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if int(p.rows[mid]) < i {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo < int(p.colStart[j+1]) && int(p.rows[lo]) == i {
		return lo
	}
	return -1
}

// Assemble adds triplet values to their slots, in index order: values[scatter[k]]
// += triplets[k], skipping slots of -1. scatter comes from NewPattern. Unequal
// lengths of triplets and scatter panic.
func Assemble[T Scalar](values []T, scatter []int32, triplets []T) {
	if len(scatter) != len(triplets) {
		panic("sparse: scatter list and triplets differ in length")
	}
	for k, slot := range scatter {
		if slot >= 0 {
			values[slot] += triplets[k]
		}
	}
}
