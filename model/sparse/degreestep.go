package sparse

import "math"

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
