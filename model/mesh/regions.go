package mesh

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// assign floods the areas between edges of the drawing, gives each its region, marks the rows of layers, and
// reports loops that overlap without nesting.
func (b *builder) assign(in *Input) (outside []bool, err error) {
	area := make([]int32, len(b.tris)) // area of each triangle
	for i := range area {
		area[i] = -1
	}
	var largest []int32 // largest triangle of each area
	var open []bool     // reaches the box
	for seed := range b.tris {
		if area[seed] >= 0 {
			continue
		}
		id := int32(len(largest))
		best, bestSize, reach := int32(seed), -1.0, false
		stack := []int32{int32(seed)}
		area[seed] = id
		for len(stack) > 0 {
			k := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			tri := &b.tris[k]
			if size := orient(b.pts[tri.v[0]], b.pts[tri.v[1]], b.pts[tri.v[2]]); size > bestSize {
				best, bestSize = k, size
			}
			for e := range 3 {
				reach = reach || tri.v[e] < boxCorners
				n := tri.n[e]
				if n >= 0 && area[n] < 0 && (tri.s[e] < 0 || b.pieces[tri.s[e]].kind != plain) {
					area[n] = id
					stack = append(stack, n)
				}
			}
		}
		largest, open = append(largest, best), append(open, reach)
	}
	region, err := b.nest(in, largest, open)
	if err != nil {
		return nil, err
	}
	for i, s := range in.Seeds {
		k, _, ok := b.walk(0, s.At, true)
		if !ok || !b.holds(k, s.At) || open[area[k]] {
			return nil, &InputError{What: "seed lies outside every loop", Loop: -1, Edge: i}
		}
		region[area[k]] = s.Region
	}
	outside = make([]bool, len(b.tris))
	for k := range b.tris {
		b.tris[k].region = region[area[k]]
		outside[k] = region[area[k]] == Void
	}
	b.markRows()
	return outside, nil
}

// holds says whether triangle k holds p.
func (t *triangulation) holds(k int32, p geom.Point) bool {
	v := &t.tris[k].v
	for e := range int32(3) {
		if orient(t.pts[v[next(e)]], t.pts[v[prev(e)]], p) < 0 {
			return false
		}
	}
	return true
}

// nest finds the region of each area: that of the smallest loop around it.
func (b *builder) nest(in *Input, largest []int32, open []bool) ([]RegionID, error) {
	n := len(in.Loops)
	rings := make([]geom.Polygon, n)
	boxes := make([]geom.Box, n)
	size := make([]float64, n)
	for i, o := range b.d.outline {
		ring := make(geom.Polygon, len(o))
		for j, p := range o {
			ring[j] = b.d.pts[p]
		}
		rings[i], boxes[i] = ring, ring.Box()
		size[i] = ring.AreaM2()
		if !(size[i] > 0) || len(o) < 3 {
			return nil, &InputError{What: "loop has no area", Loop: i, Edge: -1}
		}
	}
	region := make([]RegionID, len(largest))
	around := make([][]int32, len(largest)) // loops around each area, smallest first
	count := make([]int32, n)               // areas in each loop
	for a, k := range largest {
		region[a] = Void
		if open[a] {
			continue
		}
		v := &b.tris[k].v
		c := b.pts[v[0]].Add(b.pts[v[1]]).Add(b.pts[v[2]]).Scale(1.0 / 3)
		for i := range rings {
			if boxes[i].Contains(c) && windsAround(rings[i], c) {
				around[a] = append(around[a], int32(i))
				count[i]++
			}
		}
		slices.SortFunc(around[a], func(i, j int32) int {
			switch {
			case size[i] < size[j]:
				return -1
			case size[i] > size[j]:
				return 1
			}
			return int(i - j)
		})
		if len(around[a]) > 0 {
			region[a] = in.Loops[around[a][0]].Region
		}
	}
	// Of two loops around one area the smaller must lie wholly in the larger: every area in it does too.
	both := make(map[[2]int32]int32)
	for _, loops := range around {
		for x := range loops {
			for y := range x {
				both[[2]int32{loops[y], loops[x]}]++
			}
		}
	}
	for a, loops := range around {
		for x := range loops {
			for y := range x {
				i, j := loops[y], loops[x]
				shared := both[[2]int32{i, j}] + both[[2]int32{j, i}]
				same := shared == count[i] && shared == count[j] && in.Loops[i].Region != in.Loops[j].Region
				if (shared != count[i] && shared != count[j]) || (same && b.coincide(i, j)) {
					v := &b.tris[largest[a]].v
					at := b.pts[v[0]].Add(b.pts[v[1]]).Add(b.pts[v[2]]).Scale(1.0 / 3)
					return nil, &OverlapError{First: int(min(i, j)), Second: int(max(i, j)), At: at}
				}
			}
		}
	}
	return region, nil
}

// coincide says whether two loops run through the same points, give or take their order.
func (b *builder) coincide(i, j int32) bool {
	p, q := slices.Clone(b.d.outline[i]), slices.Clone(b.d.outline[j])
	slices.Sort(p)
	slices.Sort(q)
	return slices.Equal(slices.Compact(p), slices.Compact(q))
}

// windsAround says whether p lies inside a ring, by the even-odd rule. p is not on it.
func windsAround(ring geom.Polygon, p geom.Point) bool {
	in := false
	for i, a := range ring {
		c := ring[(i+1)%len(ring)]
		if (a.Y > p.Y) != (c.Y > p.Y) && (orient(a, c, p) > 0) == (c.Y > a.Y) {
			in = !in
		}
	}
	return in
}

// markRows marks every triangle between the surface and the deepest line of a layer.
func (b *builder) markRows() {
	var stack []int32
	mark := func(k int32) {
		if k >= 0 && !b.tris[k].fixed {
			b.tris[k].fixed = true
			stack = append(stack, k)
		}
	}
	for k := range b.tris {
		for e := range 3 {
			if s := b.tris[k].s[e]; s >= 0 && b.pieces[s].kind == row {
				mark(int32(k))
			}
		}
	}
	for len(stack) > 0 {
		k := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for e := range 3 {
			if s := b.tris[k].s[e]; s < 0 || b.pieces[s].kind == row {
				mark(b.tris[k].n[e])
			}
		}
	}
}

// carve removes outside triangles and the points nothing uses; kept maps old points to new ones, -1 gone.
func (b *builder) carve(outside []bool) (kept []int32) {
	number := make([]int32, len(b.tris))
	kept = make([]int32, len(b.pts))
	for i := range kept {
		kept[i] = -1
	}
	var count int32
	for k := range b.tris {
		number[k] = -1
		if !outside[k] {
			number[k] = count
			count++
			for _, v := range b.tris[k].v {
				kept[v] = 0
			}
		}
	}
	var points int32
	for i := range kept {
		if kept[i] == 0 {
			kept[i] = points
			b.pts[points] = b.pts[i]
			points++
		}
	}
	b.pts, b.at, b.start = b.pts[:points], b.at[:points], b.start[:points]
	for k := range b.tris {
		m := number[k]
		if m < 0 {
			continue
		}
		tri := b.tris[k]
		for e := range 3 {
			tri.v[e] = kept[tri.v[e]]
			b.at[tri.v[e]] = m
			if tri.n[e] >= 0 {
				tri.n[e] = number[tri.n[e]]
			}
		}
		b.tris[m] = tri
	}
	b.tris, b.mark = b.tris[:count], b.mark[:count]
	for i := range b.start {
		b.start[i] = -1
	}
	used := make([]bool, len(b.pieces))
	for k := range b.tris {
		for _, s := range b.tris[k].s {
			if s >= 0 {
				used[s] = true
			}
		}
	}
	renumber := make([]int32, len(b.pieces))
	live := b.pieces[:0]
	for i, p := range b.pieces {
		renumber[i] = int32(len(live))
		if used[i] {
			p.a, p.b = kept[p.a], kept[p.b]
			live = append(live, p)
		}
	}
	b.pieces = live
	for k := range b.tris {
		for e, s := range b.tris[k].s {
			if s >= 0 {
				b.tris[k].s[e] = renumber[s]
			}
		}
	}
	return kept
}

// findSharp marks the ends of pieces where another piece leaves at less than 60°. Rows of layers do not
// count: nothing is refined between them.
func findSharp(pts []geom.Point, pieces []piece, arcs []Arc) {
	type leaving struct {
		rad float64
		i   int32
		end int
	}
	first := make([]int32, len(pts)+1)
	for i := range pieces {
		if pieces[i].kind != row {
			first[pieces[i].a+1]++
			first[pieces[i].b+1]++
		}
	}
	for i := range pts {
		first[i+1] += first[i]
	}
	fill := slices.Clone(first)
	all := make([]leaving, first[len(pts)])
	for i := range pieces {
		p := &pieces[i]
		if p.kind == row {
			continue
		}
		arc := Arc{}
		if p.arc >= 0 {
			arc = arcs[p.arc]
		}
		c := newCurve(pts[p.a], pts[p.b], arc)
		for end, u := range [2]geom.Point{c.tangent(0), c.tangent(c.lengthM).Scale(-1)} {
			v := [2]int32{p.a, p.b}[end]
			all[fill[v]] = leaving{portable.Atan2(u.Y, u.X), int32(i), end}
			fill[v]++
		}
	}
	const sharp = 60.5 * math.Pi / 180
	for v := range pts {
		fan := all[first[v]:first[v+1]]
		slices.SortFunc(fan, func(x, y leaving) int {
			switch {
			case x.rad < y.rad:
				return -1
			case x.rad > y.rad:
				return 1
			}
			return int(x.i - y.i)
		})
		for j := range fan {
			k := (j + 1) % len(fan)
			gap := fan[k].rad - fan[j].rad
			if k <= j {
				gap += 2 * math.Pi
			}
			if k != j && gap < sharp {
				pieces[fan[j].i].sharp[fan[j].end] = true
				pieces[fan[k].i].sharp[fan[k].end] = true
			}
		}
	}
}
