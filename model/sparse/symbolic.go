package sparse

// Symbolic is what can be said of the factor from the pattern alone: the order of
// elimination, the fronts with their rows, where every value goes, and the room needed.
// It does not change after Analyse and may be shared by any number of factors.
type Symbolic struct {
	pattern *Pattern
	n       int
	order   []int32 // order[k] is the column eliminated as the k-th
	inverse []int32 // inverse[order[k]] == k

	// For each front, numbered so that children come before parents:
	first    []int32 // len fronts+1, first pivot column; strictly increasing
	parent   []int32 // -1 for roots
	rowStart []int   // len fronts+1, where its border begins in rows and places
	lead     []int32 // distance of columns in its block of L
	blockAt  []int   // len fronts+1, where its block of L begins
	updateAt []int   // where its update matrix lies in the arena

	rows   []int32 // border rows, elimination numbers, ascending in each front
	places []int32 // place of each border row in the parent's front, pivots first

	childStart []int32 // len fronts+1
	children   []int32 // ascending in each front

	valueStart []int32 // len fronts+1, values that enter each front
	valueSlot  []int32
	valueAt    []int32 // place in the front's panel

	tasks           []task
	arena           int // entries of all update matrices alive at once
	panel           int // entries of the largest panel
	fill            int64
	multiplications float64
}

// Analyse orders the columns of a pattern and lays out its factor. The same pattern
// gives the same result, whatever the number of processors.
func Analyse(p *Pattern) *Symbolic {
	return analyseOrdered(p, minimumDegree(p))
}

// analyseOrdered lays out the factor for a given order, which it may refine to an
// equivalent one.
func analyseOrdered(p *Pattern, order []int32) *Symbolic {
	n := p.n
	inverse := invert(order)
	parent := eliminationTree(permutedLower(p, inverse, true))
	post := postorder(parent)
	order = compose(order, post)
	inverse = invert(order)
	parent = renumber(parent, post)
	counts := columnCounts(permutedLower(p, inverse, false), parent)
	tree := buildFronts(parent, counts)

	s := &Symbolic{pattern: p, n: n}
	s.number(tree, order)
	larger := permutedLower(p, s.inverse, false)
	s.findRows(larger)
	s.layOut()
	s.findPlaces(larger)
	s.schedule()
	return s
}

// number fixes the final order: fronts in tree order, their pivots consecutive.
func (s *Symbolic) number(tree *frontTree, order []int32) {
	sequence := tree.order()
	fronts := len(sequence)
	s.order = make([]int32, 0, s.n)
	s.first = make([]int32, fronts+1)
	s.rowStart = make([]int, fronts+1)
	place := make([]int32, fronts)
	for f, old := range sequence {
		place[old] = int32(f)
		ranges := tree.ranges[old]
		for r := 0; r < len(ranges); r += 2 {
			for c := ranges[r]; c < ranges[r+1]; c++ {
				s.order = append(s.order, order[c])
			}
		}
		s.first[f+1] = int32(len(s.order))
		s.rowStart[f+1] = s.rowStart[f] + int(tree.border[old])
	}
	s.inverse = invert(s.order)
	s.parent = make([]int32, fronts)
	s.childStart = make([]int32, fronts+1)
	for f, old := range sequence {
		s.parent[f] = -1
		if up := tree.parent[old]; up >= 0 {
			s.parent[f] = place[up]
			s.childStart[place[up]+1]++
		}
	}
	for f := range fronts {
		s.childStart[f+1] += s.childStart[f]
	}
	s.children = make([]int32, s.childStart[fronts])
	fill := append([]int32(nil), s.childStart[:fronts]...)
	for f, up := range s.parent {
		if up >= 0 {
			s.children[fill[up]] = int32(f)
			fill[up]++
		}
	}
}

// findRows gathers the border rows of every front from the matrix and the children.
func (s *Symbolic) findRows(larger *adjacency) {
	fronts := len(s.parent)
	rows := make([]int32, s.rowStart[fronts])
	seen := make([]int32, s.n)
	for i := range seen {
		seen[i] = -1
	}
	perRow := make([]int32, s.n+1)
	for f := range int32(fronts) {
		put, end := s.rowStart[f], s.rowStart[f+1]
		last := s.first[f+1]
		add := func(list []int32) {
			for _, r := range list {
				if r >= last && seen[r] != f {
					seen[r] = f
					rows[put] = r
					perRow[r+1]++
					put++
				}
			}
		}
		for c := s.first[f]; c < last; c++ {
			add(larger.of(c))
		}
		for _, c := range s.childrenOf(f) {
			add(rows[s.rowStart[c]:s.rowStart[c+1]])
		}
		if put != end {
			panic("sparse: column counts do not match the structure")
		}
	}
	// Sort all borders at once: list the fronts of each row, then deal them out again
	// with rows ascending.
	for i := range s.n {
		perRow[i+1] += perRow[i]
	}
	frontsOf := make([]int32, len(rows))
	for f := range fronts {
		for _, r := range rows[s.rowStart[f]:s.rowStart[f+1]] {
			frontsOf[perRow[r]] = int32(f)
			perRow[r]++
		}
	}
	fill := append([]int(nil), s.rowStart[:fronts]...)
	at := int32(0)
	for r := range int32(s.n) {
		for ; at < perRow[r]; at++ {
			f := frontsOf[at]
			rows[fill[f]] = r
			fill[f]++
		}
	}
	s.rows = rows
}

// layOut places the blocks of L and counts entries and work.
func (s *Symbolic) layOut() {
	fronts := len(s.parent)
	s.lead = make([]int32, fronts)
	s.blockAt = make([]int, fronts+1)
	for f := range int32(fronts) {
		k, m := s.shape(f)
		// Kernels work on whole groups of rows, counted from the first pivot in the
		// panel and from the first border row in the update.
		lead := max(padded(k+m), k+padded(m))
		s.lead[f] = int32(lead)
		s.blockAt[f+1] = s.blockAt[f] + lead*k
		s.panel = max(s.panel, lead*padded(k))
		for c := k + m; c > m; c-- {
			s.fill += int64(c)
			s.multiplications += float64(c) * float64(c+1) / 2
		}
	}
}

// findPlaces maps matrix values into panels and border rows into parents.
func (s *Symbolic) findPlaces(larger *adjacency) {
	fronts := len(s.parent)
	s.places = make([]int32, len(s.rows))
	s.valueStart = make([]int32, fronts+1)
	s.valueSlot = make([]int32, 0, s.pattern.Len())
	s.valueAt = make([]int32, 0, s.pattern.Len())
	place := make([]int32, s.n)
	for f := range int32(fronts) {
		from, to := s.first[f], s.first[f+1]
		for c := from; c < to; c++ {
			place[c] = c - from
		}
		for i, r := range s.rowsOf(f) {
			place[r] = to - from + int32(i)
		}
		for _, c := range s.childrenOf(f) {
			for q := s.rowStart[c]; q < s.rowStart[c+1]; q++ {
				s.places[q] = place[s.rows[q]]
			}
		}
		for c := from; c < to; c++ {
			column := (c - from) * s.lead[f]
			s.valueSlot = append(s.valueSlot, s.pattern.colStart[s.order[c]])
			s.valueAt = append(s.valueAt, column+c-from)
			for q := larger.start[c]; q < larger.start[c+1]; q++ {
				s.valueSlot = append(s.valueSlot, larger.slots[q])
				s.valueAt = append(s.valueAt, column+place[larger.items[q]])
			}
		}
		s.valueStart[f+1] = int32(len(s.valueSlot))
	}
}

// shape returns the number of pivots and of border rows of front f.
func (s *Symbolic) shape(f int32) (pivots, border int) {
	return int(s.first[f+1] - s.first[f]), s.rowStart[f+1] - s.rowStart[f]
}

func (s *Symbolic) rowsOf(f int32) []int32 { return s.rows[s.rowStart[f]:s.rowStart[f+1]] }

func (s *Symbolic) childrenOf(f int32) []int32 {
	return s.children[s.childStart[f]:s.childStart[f+1]]
}

// Pattern returns the pattern that was analysed.
func (s *Symbolic) Pattern() *Pattern { return s.pattern }

// FactorNonzeros returns the number of entries of L with its diagonal, a few explicit
// zeros included.
func (s *Symbolic) FactorNonzeros() int64 { return s.fill }

// Flops returns the number of floating-point operations of one factorisation of a real
// matrix, a multiplication and an addition each counting one. A complex one takes four
// times as many.
func (s *Symbolic) Flops() float64 { return 2 * s.multiplications }

// Bytes returns the memory, in bytes, that a Factor of a real or complex matrix takes on
// top of the Symbolic, its working storage included: what FactorNumeric will allocate.
func (s *Symbolic) Bytes(complexValues bool) int64 {
	scalar := int64(8)
	if complexValues {
		scalar = 16
	}
	entries := int64(s.blockAt[len(s.parent)]) + int64(s.arena) + workers*int64(s.panel) + 2*int64(s.n)
	return entries*scalar + int64(s.n)*8
}

// invert returns the inverse of a permutation.
func invert(order []int32) []int32 {
	inverse := make([]int32, len(order))
	for k, j := range order {
		inverse[j] = int32(k)
	}
	return inverse
}

// compose returns order[post[k]] for each k.
func compose(order, post []int32) []int32 {
	out := make([]int32, len(post))
	for k, j := range post {
		out[k] = order[j]
	}
	return out
}

// renumber returns the parents of a tree whose nodes are listed in a new order.
func renumber(parent, order []int32) []int32 {
	inverse := invert(order)
	out := make([]int32, len(parent))
	for k, j := range order {
		out[k] = -1
		if up := parent[j]; up >= 0 {
			out[k] = inverse[up]
		}
	}
	return out
}

// padded rounds up to a whole number of kernel rows.
func padded(k int) int { return (k + 3) &^ 3 }
