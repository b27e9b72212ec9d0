package sparse

// adjacency holds, for each column (or row), the off-diagonal entries of the lower
// triangle of a permuted matrix, unsorted.
type adjacency struct {
	start []int32 // len n+1
	items []int32
	slots []int32 // value slot of each item; nil unless asked for
}

func (a *adjacency) of(j int32) []int32 { return a.items[a.start[j]:a.start[j+1]] }

// permutedLower returns the strictly lower triangle of the matrix renumbered by
// inverse (new number of each old one): by rows, the smaller neighbours of each row,
// or by columns, the larger neighbours of each column with their slots.
func permutedLower(p *Pattern, inverse []int32, byRow bool) *adjacency {
	n := p.n
	a := &adjacency{start: make([]int32, n+1), items: make([]int32, p.Len()-n)}
	if !byRow {
		a.slots = make([]int32, len(a.items))
	}
	place := func(visit func(key, item, slot int32)) {
		for j := range n {
			pj := inverse[j]
			for k := p.colStart[j] + 1; k < p.colStart[j+1]; k++ {
				lo, hi := pj, inverse[p.rows[k]]
				if lo > hi {
					lo, hi = hi, lo
				}
				if byRow {
					lo, hi = hi, lo
				}
				visit(lo, hi, k)
			}
		}
	}
	place(func(key, _, _ int32) { a.start[key+1]++ })
	for j := range n {
		a.start[j+1] += a.start[j]
	}
	fill := make([]int32, n)
	copy(fill, a.start)
	place(func(key, item, slot int32) {
		at := fill[key]
		fill[key] = at + 1
		a.items[at] = item
		if a.slots != nil {
			a.slots[at] = slot
		}
	})
	return a
}

// eliminationTree returns the parent of each column, -1 for roots: the row of the
// first entry below the diagonal of L. smaller lists for each row its entries left
// of the diagonal.
//
// Source: J. W. H. Liu, The role of elimination trees in sparse factorization,
// SIAM J. Matrix Anal. Appl. 11 (1990) 134–172, algorithm with path compression.
func eliminationTree(smaller *adjacency) []int32 {
	n := len(smaller.start) - 1
	parent := make([]int32, n)
	ancestor := make([]int32, n)
	for k := range int32(n) {
		parent[k], ancestor[k] = -1, -1
		for _, i := range smaller.of(k) {
			for {
				up := ancestor[i]
				if up == k {
					break
				}
				ancestor[i] = k
				if up < 0 {
					parent[i] = k
					break
				}
				i = up
			}
		}
	}
	return parent
}

// postorder returns the nodes of a forest so that each comes after its children and
// every subtree is contiguous; children and roots in ascending order.
func postorder(parent []int32) []int32 {
	firstChild, sibling := childLists(parent)
	return traverse(parent, firstChild, sibling)
}

// traverse is postorder with the children of each node linked in any order. It uses
// firstChild up.
func traverse(parent, firstChild, sibling []int32) []int32 {
	n := len(parent)
	order := make([]int32, 0, n)
	var stack []int32
	for root := range int32(n) {
		if parent[root] >= 0 {
			continue
		}
		stack = append(stack[:0], root)
		for len(stack) > 0 {
			j := stack[len(stack)-1]
			if c := firstChild[j]; c >= 0 {
				firstChild[j] = sibling[c]
				stack = append(stack, c)
				continue
			}
			stack = stack[:len(stack)-1]
			order = append(order, j)
		}
	}
	return order
}

// childLists links the children of each node in ascending order.
func childLists(parent []int32) (firstChild, sibling []int32) {
	n := len(parent)
	firstChild, sibling = make([]int32, n), make([]int32, n)
	for j := range firstChild {
		firstChild[j], sibling[j] = -1, -1
	}
	for j := int32(n) - 1; j >= 0; j-- {
		if up := parent[j]; up >= 0 {
			sibling[j] = firstChild[up]
			firstChild[up] = j
		}
	}
	return firstChild, sibling
}

// columnCounts returns the number of entries of each column of L, the diagonal
// included. Columns must be in postorder of their elimination tree; larger lists
// for each column its entries below the diagonal.
//
// Source: J. R. Gilbert, E. G. Ng, B. W. Peyton, An efficient algorithm to compute
// row and column counts for sparse Cholesky factorization, SIAM J. Matrix Anal.
// Appl. 15 (1994) 1075–1091, section 3.
func columnCounts(larger *adjacency, parent []int32) []int32 {
	n := len(parent)
	counts := make([]int32, n)
	firstDesc := make([]int32, n)
	prevLeaf := make([]int32, n)
	maxFirst := make([]int32, n)
	set := make([]int32, n) // union of processed subtrees, by highest member
	for j := range firstDesc {
		firstDesc[j], prevLeaf[j], maxFirst[j], set[j] = -1, -1, -1, int32(j)
	}
	for j := range int32(n) {
		if firstDesc[j] < 0 { // a leaf of the tree
			firstDesc[j] = j
			counts[j] = 1
		}
		if up := parent[j]; up >= 0 && firstDesc[up] < 0 {
			firstDesc[up] = firstDesc[j]
		}
	}
	for j := range int32(n) {
		if up := parent[j]; up >= 0 {
			counts[up]--
		}
		for _, i := range larger.of(j) {
			if firstDesc[j] <= maxFirst[i] {
				continue // j is no leaf of the row subtree of i
			}
			maxFirst[i] = firstDesc[j]
			counts[j]++
			if prev := prevLeaf[i]; prev >= 0 {
				top := prev
				for top != set[top] {
					top = set[top]
				}
				for prev != top {
					prev, set[prev] = set[prev], top
				}
				counts[top]--
			}
			prevLeaf[i] = j
		}
		if up := parent[j]; up >= 0 {
			set[j] = up
		}
	}
	for j, up := range parent {
		if up >= 0 {
			counts[up] += counts[j]
		}
	}
	return counts
}
