package sparse

import "math"

// minimumDegree returns an elimination order of low fill: order[k] is the column to
// eliminate as the k-th.
//
// The elimination is played on a quotient graph, where an eliminated column becomes
// an element that stands for the clique of its neighbours. Columns of equal structure
// are merged, elements inside others are absorbed, and the degree of a column is an
// upper bound that is cheap to keep. Ties go to the column touched last, so the order
// depends on the pattern alone.
//
// Source: P. R. Amestoy, T. A. Davis, I. S. Duff, An approximate minimum degree
// ordering algorithm, SIAM J. Matrix Anal. Appl. 17 (1996) 886–905.
//
// Columns with more than 10 √n neighbours are left out and ordered last, as they would
// slow the search and are eliminated last anyway.
func minimumDegree(p *Pattern) []int32 {
	return newQuotientGraph(p, p.Len()/3+p.n).run()
}

func (g *quotientGraph) run() []int32 {
	for g.eliminated < g.total {
		g.eliminate(g.smallest())
	}
	return g.order()
}

// quotientGraph is the state of the elimination. Each node is a live column (size > 0),
// an element (elements == isElement), or gone into its parent.
type quotientGraph struct {
	n, total   int
	eliminated int
	links      []int32 // lists of all nodes; of a column: its elements, then its columns
	free       int     // first unused place in links
	start      []int32 // place of each list in links
	length     []int32
	elements   []int32 // how many of a column's links are elements
	size       []int32 // columns a node stands for; negative while in the current element
	degree     []int32 // bound on the neighbours of a column, weight of an element
	parent     []int32 // node that absorbed this one, -1 for none
	mark       []int32 // scratch per node; 0 for an absorbed element
	epoch      int32
	maxWeight  int32
	head       []int32 // lists of columns by degree
	next, prev []int32 // neighbours in a list; next also chains hash buckets
	bucket     []int32 // hash buckets of columns that may be equal
	hash       []int32
	lowest     int
	dense      []int32
}

const isElement = -2

// newQuotientGraph starts from the graph of the matrix. slack is the room for lists of new
// elements before links must be compacted, at least n.
func newQuotientGraph(p *Pattern, slack int) *quotientGraph {
	n := p.n
	count := make([]int32, n)
	for j := range n {
		for _, i := range p.rows[p.colStart[j]+1 : p.colStart[j+1]] {
			count[j]++
			count[i]++
		}
	}
	limit := int32(max(16, 10*math.Sqrt(float64(n))))
	g := &quotientGraph{n: n, epoch: 2}
	lists := make([][]int32, 0, 12)
	block := make([]int32, 12*n)
	for k := range cap(lists) {
		lists = append(lists, block[k*n:(k+1)*n:(k+1)*n])
	}
	g.start, g.length, g.elements, g.size = lists[0], lists[1], lists[2], lists[3]
	g.degree, g.parent, g.mark, g.head = lists[4], lists[5], lists[6], lists[7]
	g.next, g.prev, g.bucket, g.hash = lists[8], lists[9], lists[10], lists[11]
	at := 0
	for j := range n {
		g.start[j] = int32(at)
		at += int(count[j])
		g.size[j], g.mark[j], g.parent[j] = 1, 1, -1
		g.head[j], g.next[j], g.prev[j], g.bucket[j] = -1, -1, -1, -1
	}
	g.links = make([]int32, at+slack)
	g.free = at
	for j := range n {
		if count[j] > limit {
			continue
		}
		for _, i := range p.rows[p.colStart[j]+1 : p.colStart[j+1]] {
			if count[i] > limit {
				continue
			}
			g.links[g.start[j]+g.length[j]] = i
			g.length[j]++
			g.links[g.start[i]+g.length[i]] = int32(j)
			g.length[i]++
		}
	}
	g.total = n
	for j := range int32(n) {
		if count[j] > limit {
			g.dense = append(g.dense, j)
			g.size[j] = 0
			g.total--
			continue
		}
		g.degree[j] = g.length[j]
	}
	for j := int32(n) - 1; j >= 0; j-- {
		if count[j] <= limit {
			g.enlist(j)
		}
	}
	return g
}

// enlist puts column i in the list of its degree.
func (g *quotientGraph) enlist(i int32) {
	d := g.degree[i]
	h := g.head[d]
	g.next[i], g.prev[i] = h, -1
	if h >= 0 {
		g.prev[h] = i
	}
	g.head[d] = i
	g.lowest = min(g.lowest, int(d))
}

func (g *quotientGraph) delist(i int32) {
	if g.next[i] >= 0 {
		g.prev[g.next[i]] = g.prev[i]
	}
	if g.prev[i] >= 0 {
		g.next[g.prev[i]] = g.next[i]
	} else {
		g.head[g.degree[i]] = g.next[i]
	}
}

// smallest takes a column of least degree from the lists.
func (g *quotientGraph) smallest() int32 {
	for g.head[g.lowest] < 0 {
		g.lowest++
	}
	k := g.head[g.lowest]
	g.delist(k)
	return k
}

// order lists the columns so that what a node absorbed comes just before it: elements
// first, as they were eliminated earlier, then the columns eliminated with it; dense
// columns last.
func (g *quotientGraph) order() []int32 {
	firstChild, sibling := make([]int32, g.n), make([]int32, g.n)
	for j := range firstChild {
		firstChild[j], sibling[j] = -1, -1
	}
	for _, wantElements := range [2]bool{false, true} { // lists are built from the back
		for j := int32(g.n) - 1; j >= 0; j-- {
			if up := g.parent[j]; up >= 0 && (g.elements[j] == isElement) == wantElements {
				sibling[j] = firstChild[up]
				firstChild[up] = j
			}
		}
	}
	order := traverse(g.parent, firstChild, sibling)
	if len(g.dense) == 0 {
		return order
	}
	put := 0
	isDense := make([]bool, g.n)
	for _, j := range g.dense {
		isDense[j] = true
	}
	for _, j := range order {
		if !isDense[j] {
			order[put] = j
			put++
		}
	}
	copy(order[put:], g.dense)
	return order
}
