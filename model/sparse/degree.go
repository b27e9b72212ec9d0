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

// eliminate turns column k into an element and brings its neighbours up to date.
func (g *quotientGraph) eliminate(k int32) {
	weight := g.size[k]
	g.eliminated += int(weight)
	from, to, grew := g.form(k)
	g.measure(from, to)
	g.update(k, from, to, &weight)
	g.epoch = g.nextEpoch(g.epoch + g.maxWeight)
	g.mergeEqual(from, to)
	g.finish(k, from, to, weight, grew)
}

// form gathers the live neighbours of k into links[from:to] as the list of the new
// element, absorbs the elements it was made of, and makes sizes of members negative.
func (g *quotientGraph) form(k int32) (from, to int, grew bool) {
	if g.elements[k] > 0 && g.free+g.lowestBound(k) > len(g.links) {
		g.compact()
	}
	p := int(g.start[k])
	from = p
	grew = g.elements[k] > 0
	if grew {
		from = g.free
	}
	to = from
	g.size[k] = -g.size[k]
	var weight int32
	gather := func(at, count int) {
		for q := at; q < at+count; q++ {
			i := g.links[q]
			w := g.size[i]
			if w <= 0 {
				continue
			}
			weight += w
			g.size[i] = -w
			g.links[to] = i
			to++
			g.delist(i)
		}
	}
	for range g.elements[k] {
		e := g.links[p]
		p++
		gather(int(g.start[e]), int(g.length[e]))
		g.parent[e] = k
		g.mark[e] = 0
	}
	gather(p, int(g.length[k]-g.elements[k]))
	g.degree[k] = weight
	g.start[k] = int32(from)
	g.length[k] = int32(to - from)
	g.elements[k] = isElement
	return from, to, grew
}

// lowestBound is the most links the element of k can take: one per unit of degree.
func (g *quotientGraph) lowestBound(k int32) int { return int(g.degree[k]) }

// compact moves all lists to the front of links.
func (g *quotientGraph) compact() {
	// The first link of each list is swapped for a tag naming its owner.
	for j := range int32(g.n) {
		if g.listed(j) {
			at := g.start[j]
			g.start[j] = g.links[at]
			g.links[at] = -j - 2
		}
	}
	to := 0
	for from := 0; from < g.free; {
		tag := g.links[from]
		from++
		if tag > -2 {
			continue
		}
		j := -tag - 2
		g.links[to] = g.start[j]
		g.start[j] = int32(to)
		to++
		for range g.length[j] - 1 {
			g.links[to] = g.links[from]
			to++
			from++
		}
	}
	g.free = to
}

// listed tells whether node j still owns a list in links.
func (g *quotientGraph) listed(j int32) bool {
	if g.length[j] == 0 {
		return false
	}
	if g.elements[j] == isElement {
		return g.mark[j] != 0
	}
	return g.size[j] > 0
}

func (g *quotientGraph) nextEpoch(epoch int32) int32 {
	if epoch < 2 || epoch > math.MaxInt32-int32(g.n) {
		for j, m := range g.mark {
			if m != 0 {
				g.mark[j] = 1
			}
		}
		return 2
	}
	return epoch
}

// measure sets, for each element e next to the new one, mark[e] - epoch to the weight
// of its members outside the new element.
func (g *quotientGraph) measure(from, to int) {
	g.epoch = g.nextEpoch(g.epoch)
	for _, i := range g.links[from:to] {
		count := g.elements[i]
		if count <= 0 {
			continue
		}
		weight := -g.size[i]
		at := g.start[i]
		for _, e := range g.links[at : at+count] {
			switch m := g.mark[e]; {
			case m >= g.epoch:
				g.mark[e] = m - weight
			case m != 0:
				g.mark[e] = g.degree[e] + g.epoch - weight
			}
		}
	}
}

// update shortens the list of each member of the new element k, bounds its degree, and
// eliminates with k those members that have no neighbour outside.
func (g *quotientGraph) update(k int32, from, to int, weight *int32) {
	inside := g.degree[k]
	for _, i := range g.links[from:to] {
		at := int(g.start[i])
		put := at
		var hash uint32
		var outside int32
		endElements := at + int(g.elements[i])
		for _, e := range g.links[at:endElements] {
			m := g.mark[e]
			if m == 0 {
				continue
			}
			if beyond := m - g.epoch; beyond > 0 {
				outside += beyond
				g.links[put] = e
				put++
				hash += uint32(e)
			} else { // e lies inside k
				g.parent[e] = k
				g.mark[e] = 0
			}
		}
		elements := put - at + 1
		afterElements := put
		for _, j := range g.links[endElements : at+int(g.length[i])] {
			if w := g.size[j]; w > 0 {
				outside += w
				g.links[put] = j
				put++
				hash += uint32(j)
			}
		}
		if outside == 0 {
			g.parent[i] = k
			w := -g.size[i]
			inside -= w
			*weight += w
			g.eliminated += int(w)
			g.size[i] = 0
			g.elements[i] = -1
			continue
		}
		g.degree[i] = min(g.degree[i], outside)
		// k becomes the first element of i; it replaces a link that was dropped.
		g.links[put] = g.links[afterElements]
		g.links[afterElements] = g.links[at]
		g.links[at] = k
		g.elements[i] = int32(elements)
		g.length[i] = int32(put - at + 1)
		h := int32(hash % uint32(g.n))
		g.hash[i] = h
		g.next[i] = g.bucket[h]
		g.bucket[h] = i
	}
	g.degree[k] = inside
	g.maxWeight = max(g.maxWeight, inside)
}

// mergeEqual joins members of the new element whose lists hold the same links.
func (g *quotientGraph) mergeEqual(from, to int) {
	for _, member := range g.links[from:to] {
		if g.size[member] >= 0 {
			continue
		}
		h := g.hash[member]
		i := g.bucket[h]
		g.bucket[h] = -1
		for ; i >= 0 && g.next[i] >= 0; i = g.next[i] {
			length, elements := g.length[i], g.elements[i]
			for _, j := range g.links[g.start[i]+1 : g.start[i]+length] {
				g.mark[j] = g.epoch
			}
			before := i
			for j := g.next[i]; j >= 0; {
				if g.length[j] == length && g.elements[j] == elements && g.allMarked(j) {
					g.parent[j] = i
					g.size[i] += g.size[j]
					g.size[j] = 0
					g.elements[j] = -1
					j = g.next[j]
					g.next[before] = j
				} else {
					before = j
					j = g.next[j]
				}
			}
			g.epoch++
		}
	}
}

func (g *quotientGraph) allMarked(j int32) bool {
	for _, l := range g.links[g.start[j]+1 : g.start[j]+g.length[j]] {
		if g.mark[l] != g.epoch {
			return false
		}
	}
	return true
}

// finish drops the merged members from the element and lists the others by degree.
func (g *quotientGraph) finish(k int32, from, to int, weight int32, grew bool) {
	put := from
	inside := g.degree[k]
	for _, i := range g.links[from:to] {
		w := -g.size[i]
		if w <= 0 {
			continue
		}
		g.size[i] = w
		d := g.degree[i] + inside - w
		g.degree[i] = min(d, int32(g.total-g.eliminated)-w)
		g.enlist(i)
		g.links[put] = i
		put++
	}
	g.size[k] = weight
	g.length[k] = int32(put - from)
	if put == from {
		g.parent[k] = -1
		g.mark[k] = 0
	}
	if grew {
		g.free = put
	}
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
