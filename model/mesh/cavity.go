package mesh

import "busgauss/model/geom"

// grow fills cav with the triangles reachable from those already in it whose circle holds p, without
// crossing a constraint other than the open edge oa–ob (-1 for none).
func (t *triangulation) grow(p geom.Point, oa, ob int32) {
	for i := 0; i < len(t.cav); i++ {
		tri := &t.tris[t.cav[i]]
		for e := range int32(3) {
			n := tri.n[e]
			if n < 0 || t.mark[n] == t.epoch {
				continue
			}
			if tri.s[e] >= 0 {
				continue
			}
			v := &t.tris[n].v
			if inCircle(t.pts[v[0]], t.pts[v[1]], t.pts[v[2]], p) > 0 {
				t.mark[n] = t.epoch
				t.cav = append(t.cav, n)
			}
		}
	}
	t.collectRim(oa, ob)
}

// collectRim lists the border of cav; the open edge oa–ob belongs to its interior.
func (t *triangulation) collectRim(oa, ob int32) {
	t.rim = t.rim[:0]
	for _, k := range t.cav {
		tri := &t.tris[k]
		for e := range int32(3) {
			n := tri.n[e]
			a, b := tri.v[next(e)], tri.v[prev(e)]
			if oa >= 0 && ((a == oa && b == ob) || (a == ob && b == oa)) {
				continue
			}
			if n >= 0 && tri.s[e] < 0 && t.mark[n] == t.epoch {
				continue
			}
			r := border{a: a, b: b, n: n, j: -1, s: tri.s[e], region: tri.region, fixed: tri.fixed}
			if n >= 0 {
				r.j = t.edgeOf(n, b)
			}
			t.rim = append(t.rim, r)
		}
	}
}

// begin empties the cavity and opens a new mark.
func (t *triangulation) begin(seeds ...int32) {
	t.epoch++
	t.cav = t.cav[:0]
	for _, k := range seeds {
		if k >= 0 && t.mark[k] != t.epoch {
			t.mark[k] = t.epoch
			t.cav = append(t.cav, k)
		}
	}
}

// starShaped says whether p sees every border edge strictly from inside.
func (t *triangulation) starShaped(p geom.Point) bool {
	for i := range t.rim {
		if orient(t.pts[t.rim[i].a], t.pts[t.rim[i].b], p) <= 0 {
			return false
		}
	}
	return true
}

// fill replaces the cavity by the fan of p over the rim. p must be a point already added.
func (t *triangulation) fill(p int32) {
	t.fresh = t.fresh[:0]
	for i := range t.rim {
		r := &t.rim[i]
		var k int32
		if i < len(t.cav) {
			k = t.cav[i]
		} else {
			k = t.addTriangle()
		}
		t.tris[k] = triangle{
			v: [3]int32{r.a, r.b, p}, n: [3]int32{-1, -1, r.n}, s: [3]int32{-1, -1, r.s},
			region: r.region, fixed: r.fixed,
		}
		if r.n >= 0 {
			t.tris[r.n].n[r.j] = k
		}
		t.start[r.a] = k
		t.at[r.a], t.at[r.b] = k, k
		t.fresh = append(t.fresh, k)
	}
	for _, k := range t.fresh {
		b := t.tris[k].v[1]
		if m := t.start[b]; m >= 0 && t.tris[m].v[2] == p && t.tris[m].v[0] == b {
			t.tris[k].n[0] = m
			t.tris[m].n[1] = k
		}
	}
	t.at[p] = t.fresh[0]
}

// insert puts the added point p into the triangle k that holds it. Where the cavity is not star-shaped
// (constraints can do that) it splits the triangle and flips instead. It reports false, and changes
// nothing, when p coincides with a corner or lies on a constraint.
func (t *triangulation) insert(p, k int32) bool {
	at := t.pts[p]
	t.begin(k)
	t.grow(at, -1, -1)
	if t.starShaped(at) {
		t.fill(p)
		return true
	}
	tri := &t.tris[k]
	seeds := [2]int32{k, -1}
	for e := range int32(3) {
		if orient(t.pts[tri.v[next(e)]], t.pts[tri.v[prev(e)]], at) == 0 {
			if tri.s[e] >= 0 || tri.n[e] < 0 {
				return false
			}
			seeds[1] = tri.n[e]
		}
	}
	t.begin(seeds[:]...)
	t.collectRim(-1, -1)
	if !t.starShaped(at) {
		return false
	}
	t.fill(p)
	t.legalise(p)
	return true
}

// legalise flips edges opposite p until the fan of p is Delaunay. fresh holds the fan and is extended.
// Source: C. L. Lawson, in J. R. Rice (ed.), Mathematical Software III (1977) 161.
func (t *triangulation) legalise(p int32) {
	t.stack = append(t.stack[:0], t.fresh...)
	for len(t.stack) > 0 {
		k := t.stack[len(t.stack)-1]
		t.stack = t.stack[:len(t.stack)-1]
		e := t.cornerOf(k, p)
		n := t.tris[k].n[e]
		if n < 0 || t.tris[k].s[e] >= 0 {
			continue
		}
		v := &t.tris[n].v
		if inCircle(t.pts[v[0]], t.pts[v[1]], t.pts[v[2]], t.pts[p]) > 0 && t.convex(k, e) {
			t.flip(k, e)
			t.stack = append(t.stack, k, n)
			t.fresh = append(t.fresh, n)
		}
	}
}

// convex says whether the two triangles at edge e of k form a strictly convex quadrilateral.
func (t *triangulation) convex(k, e int32) bool {
	tri := &t.tris[k]
	n := tri.n[e]
	a, b, p := tri.v[next(e)], tri.v[prev(e)], tri.v[e]
	q := t.tris[n].v[t.edgeOf(n, b)]
	return orient(t.pts[p], t.pts[a], t.pts[q]) > 0 && orient(t.pts[q], t.pts[b], t.pts[p]) > 0
}

// flip exchanges the diagonal at edge e of k. Afterwards k holds (p, a, q) and the former neighbour
// (p, q, b), where the old diagonal ran from a to b.
func (t *triangulation) flip(k, e int32) {
	tri := &t.tris[k]
	n := tri.n[e]
	nei := &t.tris[n]
	p, a, b := tri.v[e], tri.v[next(e)], tri.v[prev(e)]
	j := t.edgeOf(n, b)
	q := nei.v[j]
	// Outer neighbours of the quadrilateral p a q b.
	pa, bp := prev(e), next(e)
	aq, qb := next(j), prev(j)
	nPA, sPA := tri.n[pa], tri.s[pa]
	nBP, sBP := tri.n[bp], tri.s[bp]
	nAQ, sAQ := nei.n[aq], nei.s[aq]
	nQB, sQB := nei.n[qb], nei.s[qb]
	*tri = triangle{v: [3]int32{p, a, q}, n: [3]int32{nAQ, n, nPA}, s: [3]int32{sAQ, -1, sPA}, region: tri.region, fixed: tri.fixed}
	*nei = triangle{v: [3]int32{p, q, b}, n: [3]int32{nQB, nBP, k}, s: [3]int32{sQB, sBP, -1}, region: nei.region, fixed: nei.fixed}
	if nAQ >= 0 {
		t.tris[nAQ].n[t.edgeOf(nAQ, q)] = k
	}
	if nBP >= 0 {
		t.tris[nBP].n[t.edgeOf(nBP, p)] = n
	}
	t.at[p], t.at[a], t.at[q], t.at[b] = k, k, k, n
}
