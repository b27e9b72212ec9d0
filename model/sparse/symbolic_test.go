package sparse

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// naiveFill eliminates column after column on sets of rows, the definition of fill.
func naiveFill(p *Pattern, order []int32) (columns [][]int32, parent []int32) {
	n := p.n
	inverse := invert(order)
	sets := make([]map[int32]bool, n)
	for j := range sets {
		sets[j] = map[int32]bool{}
	}
	for j := range n {
		rows, _ := p.Column(j)
		for _, i := range rows {
			a, b := inverse[i], inverse[j]
			if a != b {
				sets[min(a, b)][max(a, b)] = true
			}
		}
	}
	parent = make([]int32, n)
	for j := range n {
		var rows []int32
		for r := range sets[j] {
			rows = append(rows, r)
		}
		slices.Sort(rows)
		columns = append(columns, rows)
		parent[j] = -1
		if len(rows) > 0 {
			parent[j] = rows[0]
			for _, r := range rows[1:] {
				sets[rows[0]][r] = true
			}
		}
	}
	return columns, parent
}

func fillOf(columns [][]int32) int {
	total := len(columns)
	for _, c := range columns {
		total += len(c)
	}
	return total
}

func isPermutation(order []int32, n int) bool {
	seen := make([]bool, n)
	for _, j := range order {
		if j < 0 || int(j) >= n || seen[j] {
			return false
		}
		seen[j] = true
	}
	return len(order) == n
}

// testPatterns are shapes that meet every branch of ordering and analysis.
func testPatterns() map[string]*Pattern {
	rng := rand.New(rand.NewPCG(7, 7))
	full := func(n int) *Pattern {
		var rows, cols []int32
		for i := range n {
			for j := range i {
				rows, cols = append(rows, int32(i)), append(cols, int32(j))
			}
		}
		p, _ := NewPattern(n, rows, cols)
		return p
	}
	star := func(n, hub int) *Pattern {
		var rows, cols []int32
		for i := range n {
			if i != hub {
				rows, cols = append(rows, int32(max(i, hub))), append(cols, int32(min(i, hub)))
			}
		}
		p, _ := NewPattern(n, rows, cols)
		return p
	}
	empty, _ := NewPattern(0, nil, nil)
	diagonal, _ := NewPattern(9, nil, nil)
	out := map[string]*Pattern{
		"empty": empty, "diagonal": diagonal, "one": full(1), "full": full(30),
		"star": star(50, 20), "wide star": star(3000, 0), "line": gridPattern(40, 1), "grid": gridPattern(13, 17),
		"quadratic": quadraticMesh(5, 6).pattern,
		"sparse":    randomPattern(rng, 200, 150), "medium": randomPattern(rng, 120, 400),
		"thick": randomPattern(rng, 60, 900),
	}
	return out
}

func TestAnalyse(t *testing.T) {
	for name, p := range testPatterns() {
		t.Run(name, func(t *testing.T) {
			order := minimumDegree(p)
			if !isPermutation(order, p.n) {
				t.Fatal("minimum degree order is no permutation")
			}
			if !slices.Equal(order, minimumDegree(p)) {
				t.Fatal("order differs from run to run")
			}
			columns, parent := naiveFill(p, order)
			inverse := invert(order)
			if got := eliminationTree(permutedLower(p, inverse, true)); !slices.Equal(got, parent) {
				t.Errorf("elimination tree %v, want %v", got, parent)
			}
			post := postorder(parent)
			if !isPermutation(post, p.n) {
				t.Fatal("postorder is no permutation")
			}
			inPost := compose(order, post)
			posted, postParent := naiveFill(p, inPost)
			if fillOf(posted) != fillOf(columns) {
				t.Error("postorder changed the fill")
			}
			if !slices.Equal(postParent, renumber(parent, post)) {
				t.Error("renumbered tree is not that of the postordered matrix")
			}
			counts := columnCounts(permutedLower(p, invert(inPost), false), postParent)
			for j, c := range posted {
				if int(counts[j]) != len(c)+1 {
					t.Fatalf("count of column %d is %d, want %d", j, counts[j], len(c)+1)
				}
			}
			checkSymbolic(t, Analyse(p), fillOf(columns))
		})
	}
}

// checkSymbolic compares fronts with elimination by the definition.
func checkSymbolic(t *testing.T, s *Symbolic, fill int) {
	t.Helper()
	if !isPermutation(s.order, s.n) {
		t.Fatal("final order is no permutation")
	}
	columns, _ := naiveFill(s.pattern, s.order)
	if fillOf(columns) != fill {
		t.Errorf("final order has fill %d, minimum degree %d: not equivalent", fillOf(columns), fill)
	}
	stored := 0
	for f := range int32(len(s.parent)) {
		rows := s.rowsOf(f)
		if !slices.IsSorted(rows) {
			t.Fatalf("rows of front %d are not ascending", f)
		}
		k, m := s.shape(f)
		stored += k*(k+1)/2 + k*m
		for c := s.first[f]; c < s.first[f+1]; c++ {
			for _, r := range columns[c] {
				if _, found := slices.BinarySearch(rows, r); r >= s.first[f+1] && !found {
					t.Fatalf("front %d lacks row %d", f, r)
				}
			}
		}
		up := s.parent[f]
		if up >= 0 && up <= f || up < 0 && m > 0 {
			t.Fatalf("front %d with %d border rows has parent %d", f, m, up)
		}
		for i, r := range rows {
			at := int(s.places[s.rowStart[f]+i])
			pk, _ := s.shape(up)
			if at < pk && r != s.first[up]+int32(at) || at >= pk && s.rowsOf(up)[at-pk] != r {
				t.Fatalf("row %d of front %d is at the wrong place of its parent", r, f)
			}
		}
	}
	if int64(stored) != s.FactorNonzeros() || stored < fill {
		t.Errorf("entries %d, stored %d, needed %d", s.FactorNonzeros(), stored, fill)
	}
	seen := make([]bool, s.pattern.Len())
	for _, slot := range s.valueSlot {
		if seen[slot] {
			t.Fatal("a value enters twice")
		}
		seen[slot] = true
	}
	if len(s.valueSlot) != len(seen) {
		t.Error("a value enters nowhere")
	}
	handled := 0
	for _, task := range s.tasks {
		handled += len(task.fronts)
	}
	if handled != len(s.parent) {
		t.Errorf("%d of %d fronts belong to a task", handled, len(s.parent))
	}
}

// Minimum degree orders a tree without fill, for a leaf is always there to take.
//
// Source: S. Parter, The use of linear graphs in Gauss elimination, SIAM Rev. 3 (1961) 119–130.
func TestTreesHaveNoFill(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{2, 10, 100, 3000} {
		var rows, cols []int32
		label := rng.Perm(n)
		for i := 1; i < n; i++ {
			a, b := label[i], label[rng.IntN(i)]
			rows, cols = append(rows, int32(max(a, b))), append(cols, int32(min(a, b)))
		}
		p, _ := NewPattern(n, rows, cols)
		columns, _ := naiveFill(p, minimumDegree(p))
		if got, want := fillOf(columns), 2*n-1; got != want {
			t.Errorf("n = %d: %d entries, want %d", n, got, want)
		}
	}
}

// Nested dissection of a k×k grid needs at most 31/4 k² log2 k entries to leading order
// (A. George, Nested dissection of a regular finite element mesh, SIAM J. Numer. Anal. 10
// (1973) 345–363; the constant from memory). Minimum degree should not be worse.
func TestGridFill(t *testing.T) {
	for _, k := range []int{20, 60, 150} {
		p := gridPattern(k, k)
		order := minimumDegree(p)
		inverse := invert(order)
		parent := eliminationTree(permutedLower(p, inverse, true))
		post := postorder(parent)
		order = compose(order, post)
		fill := 0
		for _, c := range columnCounts(permutedLower(p, invert(order), false), renumber(parent, post)) {
			fill += int(c)
		}
		bound := 31.0 / 4 * float64(k*k) * math.Log2(float64(k))
		t.Logf("k = %d: %d entries, bound %.0f", k, fill, bound)
		if !(float64(fill) <= bound) {
			t.Errorf("k = %d: %d entries, nested dissection has %.0f", k, fill, bound)
		}
	}
}

// Compacting the lists and restarting the marks must not change the order.
func TestOrderWithLittleRoom(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for _, p := range []*Pattern{quadraticMesh(40, 30).pattern, randomPattern(rng, 3000, 12000)} {
		want := minimumDegree(p)
		tight := newQuotientGraph(p, p.n)
		compacted := false
		for free := tight.free; tight.eliminated < tight.total; free = tight.free {
			tight.eliminate(tight.smallest())
			compacted = compacted || tight.free < free
		}
		if !compacted {
			t.Fatal("lists were never compacted: the case shows nothing")
		}
		if !slices.Equal(tight.order(), want) {
			t.Error("compacting changes the order")
		}
		late := newQuotientGraph(p, 10*p.Len())
		late.epoch = math.MaxInt32 - int32(p.n) - 100
		if got := late.run(); !slices.Equal(got, want) || late.epoch > math.MaxInt32/2 {
			t.Errorf("restarting marks changes the order, or did not happen (epoch %d)", late.epoch)
		}
	}
}

// The fronts of a large mesh are cut in tasks; few explicit zeros are stored.
func TestLargeMeshAnalysis(t *testing.T) {
	p := quadraticMesh(50, 50).pattern
	s := Analyse(p)
	order := minimumDegree(p)
	columns, _ := naiveFill(p, order)
	checkSymbolic(t, s, fillOf(columns))
	if len(s.tasks) < 4 {
		t.Errorf("%d tasks for %d fronts", len(s.tasks), len(s.parent))
	}
	if share := float64(s.FactorNonzeros())/float64(fillOf(columns)) - 1; share > 0.3 {
		t.Errorf("explicit zeros are %.0f %% of the entries", 100*share)
	}
}

// Bytes is what the factor's own slices take.
func TestBytes(t *testing.T) {
	s := Analyse(quadraticMesh(40, 40).pattern)
	size := func(entries, scalar int) int64 { return int64(entries) * int64(scalar) }
	f, err := FactorNumeric(s, quadraticMesh(40, 40).stiff, nil)
	if err != nil {
		t.Fatal(err)
	}
	got := size(len(f.lower)+len(benchFor[float64](s).arena)+len(f.diagonal)+len(f.reciprocal)+workers*s.panel+len(f.original), 8)
	if want := s.Bytes(false); got != want {
		t.Errorf("a real factor takes %d bytes, said %d", got, want)
	}
	if want := 2*got - int64(len(f.original))*8; s.Bytes(true) != want {
		t.Errorf("a complex factor is said to take %d bytes, want %d", s.Bytes(true), want)
	}
	// A dense matrix of n rows: n³/3 operations to leading order
	// (G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., section 4.1.2).
	const n = 200
	var rows, cols []int32
	for i := range int32(n) {
		for j := range i {
			rows, cols = append(rows, i), append(cols, j)
		}
	}
	p, _ := NewPattern(n, rows, cols)
	if got, want := Analyse(p).Flops(), float64(n*n*n)/3; math.Abs(got/want-1) > 0.05 {
		t.Errorf("%.0f operations for a dense matrix, want about %.0f", got, want)
	}
}
