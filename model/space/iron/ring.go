package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// Ring says that a piece lies between two circles, with a slit or without. Its meshes follow the circles: the corners of
// the fine one are twice as many as those of the coarse one and lie on circles too, so that what straight edges
// change goes with the other errors of the meshes, into the limit and the bounds.
type Ring struct {
	Centre         geom.Point
	InnerM, OuterM float64 // radii
	SlitM          float64 // with parallel sides, about the local +y; 0: closed
	TurnRad        float64 // of the slit, counter-clockwise
}

const (
	ringSteps   = 24  // the least steps of the standard mesh round a ring
	ringCorner  = 0.5 // effective thicknesses of a step beside a slit
	mostThrough = 4   // cells through the wall; as many as keep them no longer through it than round it
)

// annulus is where the nodes of a section between circles lie.
type annulus struct {
	ring Ring
	way  []float64 // of each column of nodes, share of the way round from one side of the slit to the other, rising
	at   []ringAt  // of each node
}

// ringAt is the place of a node: its column, and the share of the wall from the inner face.
type ringAt struct {
	column int
	share  float64
}

// newRingSection cuts a ring in cells of four corners, each in two triangles along diagonals that meet those of its neighbours.
func newRingSection(r Ring, depthM float64, g grading, near func(geom.Point) float64) *section {
	wall := r.OuterM - r.InnerM
	o := &outline{extent: 2 * r.OuterM, thickM: []float64{wall}}
	t := effectiveM(math.Min(wall, depthM), o.extent)
	middle := &annulus{ring: r, way: []float64{0, 1}}
	length := float64(math.Pi*(r.InnerM+r.OuterM)) - r.SlitM
	h := func(x float64) float64 {
		v := length / ringSteps
		if r.SlitM > 0 {
			v = math.Min(v, float64(ringCorner*t)+float64(g.growth*math.Min(x, length-x)))
		}
		d := math.Inf(1)
		for _, share := range []float64{0, 1} {
			d = math.Min(d, near(middle.place(x/length, share, 1)))
		}
		return g.scale * math.Min(v, math.Max(g.nearestShare*d, 0.3*t))
	}
	cuts := divide(length, h)
	if r.SlitM == 0 && len(cuts)%2 == 1 { // diagonals that meet come in pairs
		cuts = divide(length, func(x float64) float64 { return h(x) * (float64(len(cuts))) / float64(len(cuts)+1) })
	}
	s := &section{o: o, annulus: &annulus{ring: r}}
	for _, x := range cuts {
		s.annulus.way = append(s.annulus.way, x/length)
	}
	if r.SlitM > 0 {
		s.annulus.way = append(s.annulus.way, 1)
	}
	columns := len(s.annulus.way)
	first := []int32{0} // node of each column
	for c := range columns {
		n := s.annulus.through(c, length)
		for k := range n + 1 {
			s.annulus.at = append(s.annulus.at, ringAt{c, float64(k) / float64(n)})
		}
		first = append(first, int32(len(s.annulus.at)))
	}
	for c := range columns {
		switch {
		case c+1 < columns:
			s.fill(first[c], first[c+1], first[c+1], first[c+2], c%2 == 0)
		case r.SlitM == 0:
			s.fill(first[c], first[c+1], 0, first[1], c%2 == 0)
		}
	}
	s.settle()
	s.findNeighbours()
	s.findRim()
	return s
}

// through returns how many cells column c has through the wall, on a way round of lengthM.
func (r *annulus) through(c int, lengthM float64) int {
	step := 1.0
	if c > 0 {
		step = r.way[c] - r.way[c-1]
	}
	if c+1 < len(r.way) {
		step = math.Min(step, r.way[c+1]-r.way[c])
	}
	return min(max(1, int(math.Ceil((r.ring.OuterM-r.ring.InnerM)/(step*lengthM)-0.1))), mostThrough)
}

// fill puts triangles between two columns of nodes, with diagonals that lean to alternate sides where cells are alike.
func (s *section) fill(a, aEnd, b, bEnd int32, turn bool) {
	at := s.annulus.at
	for a+1 < aEnd || b+1 < bEnd {
		onA := a+1 < aEnd
		if onA && b+1 < bEnd {
			onA = at[a+1].share < at[b+1].share
			if at[a+1].share == at[b+1].share {
				onA = turn
			}
		}
		if onA {
			s.tris = append(s.tris, [3]int32{a, a + 1, b})
			a++
		} else {
			s.tris = append(s.tris, [3]int32{a, b + 1, b})
			b++
		}
		if at[a].share == at[b].share {
			turn = !turn
		}
	}
}

// place returns the point at a share of the way round and of the wall, with radii times grown.
func (r *annulus) place(way, share, grown float64) geom.Point {
	radius := (r.ring.InnerM + float64(share*(r.ring.OuterM-r.ring.InnerM))) * grown
	half := portable.Asin(r.ring.SlitM / 2 / radius)
	angle := math.Pi/2 + half + float64(way*(2*math.Pi-2*half))
	return geom.Point{X: radius}.Rotate(angle + r.ring.TurnRad).Add(r.ring.Centre)
}

// settle puts the nodes of a section between circles where they belong: with steps of w about a column on circles larger
// by √(w/sin w), so that polygons have the areas of their circles.
func (s *section) settle() {
	r := s.annulus
	n := len(r.way)
	grown := make([]float64, n)
	for c := range grown {
		before, after := r.way[max(c-1, 0)], r.way[min(c+1, n-1)]
		width := 2.0
		switch {
		case r.ring.SlitM > 0 && (c == 0 || c == n-1):
			width = 1
		case c == 0:
			before = r.way[n-1] - 1
		case c == n-1:
			after = 1
		}
		w := 2 * math.Pi * (after - before) / width
		grown[c] = math.Sqrt(w / portable.Sin(w))
	}
	s.pts = s.pts[:0]
	for _, at := range r.at {
		s.pts = append(s.pts, r.place(r.way[at.column], at.share, grown[at.column]))
	}
}

// halved returns the annulus with one more column between two, and without nodes.
func (r *annulus) halved() *annulus {
	out := &annulus{ring: r.ring, way: halved(r.way)}
	if r.ring.SlitM == 0 {
		out.way = append(out.way, (r.way[len(r.way)-1]+1)/2)
	}
	return out
}

// between returns the place of the middle of two nodes in r.halved(), columns of which stand side by side or are the same.
func (r *annulus) between(a, b int32) ringAt {
	p, q := r.at[a], r.at[b]
	column := p.column + q.column
	if d := p.column - q.column; d > 1 || d < -1 { // from the last column to the first
		column = 2*len(r.way) - 1
	}
	return ringAt{column, (p.share + q.share) / 2}
}

// findNeighbours sets the triangle over each edge.
func (s *section) findNeighbours() {
	over := map[[2]int32]int32{}
	for k, t := range s.tris {
		for e := range 3 {
			over[[2]int32{t[(e+1)%3], t[(e+2)%3]}] = int32(k)
		}
	}
	for _, t := range s.tris {
		var adj [3]int32
		for e := range 3 {
			k, ok := over[[2]int32{t[(e+2)%3], t[(e+1)%3]}]
			if !ok {
				k = -1
			}
			adj[e] = k
		}
		s.adj = append(s.adj, adj)
	}
}
