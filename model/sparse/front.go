package sparse

import "slices"

// A front is a set of pivot columns of like structure, eliminated together as one dense
// block: pivots rows of its own and border rows it updates in its ancestors.

// merging limits how many explicit zeros joining a front with its parent may store:
// below pivots columns, at most share of the stored entries. Larger dense blocks run
// faster, so a few zeros pay. The figures are tuned on quadratic triangles.
var merging = [...]struct {
	pivots int32
	share  float64
}{{4, 1}, {16, 0.5}, {48, 0.12}, {1 << 30, 0.04}}

// frontTree is a forest of fronts over columns in postorder of the elimination tree.
type frontTree struct {
	parent []int32   // -1 for roots; parents come after their children
	pivots []int32   // number of pivot columns
	border []int32   // number of rows below the pivots
	ranges [][]int32 // pivot columns as half-open ranges, ascending
}

// buildFronts joins columns of nested structure (supernodes), then joins fronts with
// their parents where that stores few zeros.
//
// Source: C. Ashcraft, R. Grimes, The influence of relaxed supernode partitions on the
// multifrontal method, ACM Trans. Math. Softw. 15 (1989) 291–309.
func buildFronts(parent, counts []int32) *frontTree {
	n := int32(len(parent))
	children := make([]int32, n)
	for _, up := range parent {
		if up >= 0 {
			children[up]++
		}
	}
	frontOf := make([]int32, n)
	var first []int32
	for j := range n {
		if j == 0 || parent[j-1] != j || counts[j-1] != counts[j]+1 || children[j] != 1 {
			first = append(first, j)
		}
		frontOf[j] = int32(len(first) - 1)
	}
	count := len(first)
	t := &frontTree{
		parent: make([]int32, count),
		pivots: make([]int32, count),
		border: make([]int32, count),
	}
	for f, from := range first {
		to := n
		if f+1 < count {
			to = first[f+1]
		}
		t.pivots[f] = to - from
		t.border[f] = counts[to-1] - 1
		t.parent[f] = -1
		if up := parent[to-1]; up >= 0 {
			t.parent[f] = frontOf[up]
		}
	}
	t.amalgamate(first, n)
	return t
}

// amalgamate merges fronts upwards and drops those merged away.
func (t *frontTree) amalgamate(first []int32, n int32) {
	count := len(t.parent)
	zeros := make([]int64, count)
	into := make([]int32, count) // front each was merged into, itself if kept
	firstChild, sibling := childLists(t.parent)
	type candidate struct {
		extra int64
		front int32
	}
	var list []candidate
	for p := range int32(count) {
		into[p] = p
		list = list[:0]
		for c := firstChild[p]; c >= 0; c = sibling[c] {
			extra := int64(t.pivots[c]) * int64(t.pivots[p]+t.border[p]-t.border[c])
			list = append(list, candidate{extra, c})
		}
		slices.SortFunc(list, func(a, b candidate) int {
			if a.extra != b.extra {
				return int(min(max(a.extra-b.extra, -1), 1))
			}
			return int(a.front - b.front)
		})
		for _, cand := range list {
			c := cand.front
			pivots := t.pivots[c] + t.pivots[p]
			extra := int64(t.pivots[c])*int64(t.pivots[p]+t.border[p]-t.border[c]) + zeros[c] + zeros[p]
			if !worthMerging(pivots, t.border[p], extra) {
				continue
			}
			into[c] = p
			t.pivots[p] = pivots
			zeros[p] = extra
		}
	}
	// Parents have larger numbers, so going down resolves chains of merges.
	for f := int32(count) - 1; f >= 0; f-- {
		if into[f] != f {
			into[f] = into[into[f]]
		}
	}
	number := make([]int32, count)
	kept := int32(0)
	for f := range int32(count) {
		if into[f] == f {
			number[f] = kept
			kept++
		}
	}
	merged := &frontTree{
		parent: make([]int32, kept), pivots: make([]int32, kept),
		border: make([]int32, kept), ranges: make([][]int32, kept),
	}
	for f := range count {
		to := n
		if f+1 < count {
			to = first[f+1]
		}
		root := into[f]
		g := number[root]
		merged.ranges[g] = append(merged.ranges[g], first[f], to)
		if int(root) != f {
			continue
		}
		merged.pivots[g], merged.border[g] = t.pivots[f], t.border[f]
		merged.parent[g] = -1
		if up := t.parent[f]; up >= 0 {
			merged.parent[g] = number[into[up]]
		}
	}
	*t = *merged
}

func worthMerging(pivots, border int32, zeros int64) bool {
	k, m := float64(pivots), float64(border)
	entries := k*(k+1)/2 + float64(k*m)
	for _, limit := range merging {
		if pivots <= limit.pivots {
			return float64(zeros) <= limit.share*entries
		}
	}
	return false
}

// order returns the fronts in a postorder that keeps the stack of pending updates low:
// children that need more room than they leave come first.
//
// Source: J. W. H. Liu, On the storage requirement in the out-of-core multifrontal
// method for sparse factorization, ACM Trans. Math. Softw. 12 (1986) 249–264.
func (t *frontTree) order() []int32 {
	count := len(t.parent)
	firstChild, sibling := childLists(t.parent)
	children := make([][]int32, count)
	peak := make([]int64, count)
	left := make([]int64, count)
	for f := range count {
		m := int64(t.border[f])
		left[f] = m * m
		for c := firstChild[f]; c >= 0; c = sibling[c] {
			children[f] = append(children[f], c)
		}
		slices.SortStableFunc(children[f], func(a, b int32) int {
			da, db := peak[a]-left[a], peak[b]-left[b]
			switch {
			case da > db:
				return -1
			case da < db:
				return 1
			}
			return 0
		})
		held := int64(0)
		for _, c := range children[f] {
			peak[f] = max(peak[f], held+peak[c])
			held += left[c]
		}
		peak[f] = max(peak[f], held+left[f])
	}
	order := make([]int32, 0, count)
	visited := make([]int32, count)
	var stack []int32
	for root := range count {
		if t.parent[root] >= 0 {
			continue
		}
		stack = append(stack[:0], int32(root))
		for len(stack) > 0 {
			f := stack[len(stack)-1]
			if v := int(visited[f]); v < len(children[f]) {
				visited[f]++
				stack = append(stack, children[f][v])
				continue
			}
			stack = stack[:len(stack)-1]
			order = append(order, f)
		}
	}
	return order
}
