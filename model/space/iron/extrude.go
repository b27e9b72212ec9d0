package iron

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// columns remembers how a prism was built: tetrahedra come by layer, then by triangle
// of the section, three at a time, from first on.
type columns struct {
	s     *section
	z     []float64 // heights of the layers, rising
	first int
	long  bool // of a long piece
}

// beside is what stands beside a long piece: between two heights, so far from its section.
type beside struct{ fromZM, toZM, gapM float64 }

// besides returns what stands beside long piece i: pieces that are not long, and points of interest.
func besides(pieces []Piece, points []geom.Point3, i int) []beside {
	var out []beside
	for j := range pieces {
		if j != i && !pieces[j].Long {
			gap, _, _ := geom.GapRegionsM(pieces[i].Section, pieces[j].Section)
			out = append(out, beside{pieces[j].FromZM, pieces[j].ToZM, gap})
		}
	}
	for _, q := range points {
		out = append(out, beside{q.Z, q.Z, pieces[i].Section.DistanceM(q.XY())})
	}
	return out
}

// atM returns how thick a layer of size least may be at height z: twice that beside a piece that touches, and more with
// the distance.
func (b *beside) atM(z, least, growth float64) float64 {
	away := math.Max(0, math.Max(b.fromZM-z, z-b.toZM))
	return 2*least + float64(growth*(b.gapM+away))
}

// heights returns the layers between two heights: graded towards the true ends, towards
// stops where a close neighbour begins or ends, and a long piece towards all beside it.
func heights(from, to float64, endBelow bool, stops []float64, near []beside, t, depthM float64, g grading) []float64 {
	endM := math.Min(math.Max(g.endZ*t, depthM/8), g.endZMax*t)
	if len(near) > 0 {
		endM = depthM / 8 // its ends are far
	}
	graded := []float64{to}
	if endBelow {
		graded = append(graded, from)
	}
	h := func(z float64) float64 {
		v := math.Max(g.farZ*t, depthM/10)
		for _, s := range graded {
			v = math.Min(v, endM+float64(g.growth*math.Abs(z-s)))
		}
		for _, s := range stops {
			v = math.Min(v, float64(2*g.endZ*t)+float64(g.growth*math.Abs(z-s)))
		}
		for i := range near {
			v = math.Min(v, near[i].atM(z, g.endZ*t, g.growth))
		}
		return g.scale * v
	}
	cuts := []float64{from, to}
	for _, s := range stops {
		if s > from && s < to {
			cuts = append(cuts, s)
		}
	}
	cuts = thinned(cuts, 0.2*endM)
	var out []float64
	for k := 0; k+1 < len(cuts); k++ {
		for _, x := range divide(cuts[k+1]-cuts[k], func(x float64) float64 { return h(cuts[k] + x) }) {
			out = append(out, cuts[k]+x)
		}
	}
	return append(out, to)
}

// assembly collects the tetrahedra of several prisms.
type assembly struct {
	nodes   []geom.Point3
	tets    [][4]int32
	piece   []int32
	columns []columns
	twin    []int32
	mirror  bool
	midM    float64
}

// add extrudes a section. A wedge is cut in three along diagonals that climb from the
// lower to the higher rank of the section's nodes, so that neighbours agree, and the
// other way in every second layer.
func (b *assembly) add(piece int32, s *section, z []float64) {
	b.columns = append(b.columns, columns{s: s, z: z, first: len(b.tets)})
	base, n := int32(len(b.nodes)), int32(len(s.pts))
	for _, h := range z {
		for _, p := range s.pts {
			b.nodes = append(b.nodes, geom.Point3{X: p.X, Y: p.Y, Z: h})
		}
	}
	rank := s.ranks()
	for l := range len(z) - 1 {
		low, up := base+int32(l)*n, n
		if l%2 == 1 {
			low, up = low+n, -n
		}
		for _, t := range s.tris {
			v := t
			slices.SortFunc(v[:], func(i, j int32) int { return int(rank[i] - rank[j]) })
			p, q, r := low+v[0], low+v[1], low+v[2]
			b.tets = append(b.tets, [4]int32{p, q, r, r + up}, [4]int32{p, q, q + up, r + up}, [4]int32{p, p + up, q + up, r + up})
			b.piece = append(b.piece, piece, piece, piece)
		}
	}
}

// build lays out the prisms of all pieces. With mirror, all share a mid-plane and only
// the upper half is meshed.
func build(pieces []Piece, points []geom.Point3, g grading, mirror bool) (*assembly, error) {
	b := &assembly{mirror: mirror}
	sections := make([]*section, len(pieces))
	twin := make([]int32, len(pieces))
	for i := range pieces {
		p := &pieces[i]
		depth := p.ToZM - p.FromZM
		near := distanceTo(pieces, points, i)
		twin[i] = int32(i)
		var s *section
		for j := range i {
			if twin[j] == int32(j) && isCopy(p, &pieces[j]) && alone(p, near) && alone(&pieces[j], distanceTo(pieces, points, j)) {
				s, twin[i] = sections[j].shifted(p.Section.Outer[0].Sub(pieces[j].Section.Outer[0])), int32(j)
				break
			}
		}
		if s == nil && p.Ring != nil {
			s = newRingSection(*p.Ring, depth, g, near)
		}
		if s == nil {
			var err error
			if s, err = newSection(p.Section, depth, g, near); err != nil {
				return nil, &InputError{p.Name, err.Error()}
			}
		}
		sections[i] = s
		thin := slices.Min(s.o.thickM)
		t := math.Min(effectiveM(thin, s.o.extent), depth/2)
		from := p.FromZM
		if mirror {
			from = (p.FromZM + p.ToZM) / 2
		}
		var stops []float64
		for j := range pieces {
			if j == i || !p.Section.Box().Grow(2*t).Meets(pieces[j].Section.Box()) {
				continue
			}
			if gap, _, _ := geom.GapRegionsM(p.Section, pieces[j].Section); gap < 2*t {
				for _, z := range []float64{pieces[j].FromZM, pieces[j].ToZM} {
					if z > from && z < p.ToZM {
						stops = append(stops, z)
					}
				}
			}
		}
		var around []beside
		if p.Long {
			around = besides(pieces, points, i)
		}
		z := heights(from, p.ToZM, !mirror, stops, around, t, depth, g)
		for j := range i {
			if twin[i] != int32(i) || twin[j] != int32(j) || !isCopy(p, &pieces[j]) {
				continue
			}
			if moved := sections[j].shifted(p.Section.Outer[0].Sub(pieces[j].Section.Outer[0])); moved.same(s) && slices.Equal(z, b.columns[j].z) {
				sections[i], twin[i] = moved, int32(j)
				s = moved
			}
		}
		b.add(int32(i), s, z)
		b.columns[i].long = p.Long
	}
	b.twin = twin
	if mirror {
		b.midM = (pieces[0].FromZM + pieces[0].ToZM) / 2
	}
	return b, nil
}

// mesh builds the tables.
func (b *assembly) mesh() *tetra {
	m := newTetra(b.nodes, b.tets, b.piece, len(b.columns))
	m.columns, m.twin, m.mirror, m.midM = b.columns, b.twin, b.mirror, b.midM
	return m
}

// refinedNodes returns how many nodes the refinement will have, and the root of the sum of squares of those of unlike pieces.
func (b *assembly) refinedNodes() (all, unlike int) {
	square := 0.0
	for i, c := range b.columns {
		edges := (3*len(c.s.tris) + len(c.s.rim)) / 2
		n := (len(c.s.pts) + edges) * (2*len(c.z) - 1)
		all += n
		if int(b.twin[i]) == i {
			square += float64(float64(n) * float64(n))
		}
	}
	return all, int(math.Sqrt(square))
}

// isCopy reports whether p is q moved in the plane.
func isCopy(p, q *Piece) bool {
	a, b := p.Section, q.Section
	if p.FromZM != q.FromZM || p.ToZM != q.ToZM || len(a.Outer) != len(b.Outer) || len(a.Holes) != len(b.Holes) {
		return false
	}
	shift := a.Outer[0].Sub(b.Outer[0])
	size := a.Box().Size()
	tol := 1e-12 * (size.X + size.Y + shift.Norm())
	x, y := append([]geom.Polygon{a.Outer}, a.Holes...), append([]geom.Polygon{b.Outer}, b.Holes...)
	for k := range x {
		if len(x[k]) != len(y[k]) {
			return false
		}
		for i := range x[k] {
			if x[k][i].Sub(y[k][i]).Sub(shift).Norm() > tol {
				return false
			}
		}
	}
	return true
}

// alone reports whether nothing close to a piece asks for a mesh of its own.
func alone(p *Piece, near func(geom.Point) float64) bool {
	for _, loop := range append([]geom.Polygon{p.Section.Outer}, p.Section.Holes...) {
		for i := range loop {
			a, b := loop.Edge(i)
			for k := range 8 {
				q := a.Add(b.Sub(a).Scale(float64(k) / 8))
				if size := p.Section.Box().Size(); near(q) < 0.2*math.Max(size.X, size.Y) {
					return false
				}
			}
		}
	}
	return true
}

// same reports whether two sections are one but for rounding.
func (s *section) same(o *section) bool {
	if len(s.pts) != len(o.pts) || !slices.Equal(s.tris, o.tris) {
		return false
	}
	for i := range s.pts {
		if s.pts[i].Sub(o.pts[i]).Norm() > 1e-9*s.o.extent {
			return false
		}
	}
	return true
}

// shifted returns the section moved in the plane.
func (s *section) shifted(by geom.Point) *section {
	out := *s
	out.pts = make([]geom.Point, len(s.pts))
	for i, p := range s.pts {
		out.pts[i] = p.Add(by)
	}
	if s.annulus != nil {
		moved := *s.annulus
		moved.ring.Centre = moved.ring.Centre.Add(by)
		out.annulus = &moved
	}
	return &out
}

// distanceTo returns the distance in the plane from a point of section i to other
// pieces and to points of interest at its height.
func distanceTo(pieces []Piece, points []geom.Point3, i int) func(geom.Point) float64 {
	boxes := make([]geom.Box, len(pieces))
	for j := range pieces {
		boxes[j] = pieces[j].Section.Box()
	}
	return func(p geom.Point) float64 {
		d, first := math.Inf(1), i
		for j := range pieces {
			if away := boxes[j].DistanceM(p); j != i && away < d {
				d, first = away, j
			}
		}
		d = math.Inf(1)
		if first != i {
			d = pieces[first].Section.DistanceM(p)
		}
		for j := range pieces {
			if j != i && j != first && boxes[j].DistanceM(p) < d { // no other is as near
				d = math.Min(d, pieces[j].Section.DistanceM(p))
			}
		}
		for _, q := range points {
			beyond := math.Max(0, math.Max(pieces[i].FromZM-q.Z, q.Z-pieces[i].ToZM))
			d = math.Min(d, portable.Hypot(beyond, p.Sub(geom.Point{X: q.X, Y: q.Y}).Norm()))
		}
		return d
	}
}

// sharesPlane reports whether all pieces have the same mid-plane.
func sharesPlane(pieces []Piece) bool {
	mid := pieces[0].FromZM + pieces[0].ToZM
	for _, p := range pieces {
		if math.Abs(p.FromZM+p.ToZM-mid) > 1e-9*(p.ToZM-p.FromZM) {
			return false
		}
	}
	return true
}
