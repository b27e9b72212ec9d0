package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/parallel"
)

// parity says how the potential continues below the mirror.
type parity int

const (
	even parity = iota // of meshes without mirror too
	odd
)

// scratch is the working space of one goroutine.
type scratch struct {
	both  [2][]geom.Point3 // one vector a tetrahedron, by parity: see row
	near  []int32
	stamp []int32
	face  []float64
	epoch int32
}

func newScratch(m *tetra) *scratch {
	return &scratch{
		both:  [2][]geom.Point3{make([]geom.Point3, len(m.tets)), make([]geom.Point3, len(m.tets))},
		stamp: make([]int32, len(m.faces)), face: make([]float64, len(m.faces)),
	}
}

// vectors sets out[e] to G_e(r) = ∮ n dS'/|r−r'| over the surface of each tetrahedron,
// in metres: the potential of an even magnetisation M is M·G/(4π). Close by from the
// closed form of its faces, each face once; farther away from the moments of its
// volume,
//
//	G = V [ d/R³ − 3 Qd/R⁵ + 15/2 (d·Qd) d/R⁷ ]
//
// with d = r − centre and Q the traceless second moment. The third moment is left out.
//
// Source: expansion of 1/|r−r'|, J. D. Jackson, Classical Electrodynamics, 3rd ed.,
// section 4.1.
//
// Only tetrahedra of[0] <= e < of[1] are taken.
func (m *tetra) vectors(r geom.Point3, s *scratch, of [2]int, out []geom.Point3) {
	s.near = s.near[:0]
	s.epoch++
	for e := of[0]; e < of[1]; e++ {
		c := &m.centre[e]
		d := geom.Point3{X: r.X - c.X, Y: r.Y - c.Y, Z: r.Z - c.Z}
		r2 := float64(d.X*d.X) + float64(d.Y*d.Y) + float64(d.Z*d.Z)
		if n := m.nearM[e]; r2 < n*n {
			s.near = append(s.near, int32(e))
			continue
		}
		out[e] = m.vectorFar(e, d, r2)
	}
	for _, e := range s.near {
		var g geom.Point3
		for _, f := range m.tetFaces[e] {
			if s.stamp[f] != s.epoch {
				s.stamp[f] = s.epoch
				s.face[f] = m.facePotentialM(f, r)
			}
			g = g.Add(m.outward(f, e).Scale(s.face[f]))
		}
		out[e] = g
	}
}

// vectorFar is a vector from the moments; r2 is the square of d.
func (m *tetra) vectorFar(e int, d geom.Point3, r2 float64) geom.Point3 {
	q := &m.second[e]
	qx := float64(q[0]*d.X) + float64(q[3]*d.Y) + float64(q[4]*d.Z)
	qy := float64(q[3]*d.X) + float64(q[1]*d.Y) + float64(q[5]*d.Z)
	qz := float64(q[4]*d.X) + float64(q[5]*d.Y) + float64(q[2]*d.Z)
	i2 := 1 / r2
	v3 := m.vol[e] * i2 * math.Sqrt(i2)
	f := v3 * (1 + float64(7.5*(float64(d.X*qx)+float64(d.Y*qy)+float64(d.Z*qz))*i2*i2))
	h := 3 * v3 * i2
	return geom.Point3{X: float64(f*d.X) - float64(h*qx), Y: float64(f*d.Y) - float64(h*qy), Z: float64(f*d.Z) - float64(h*qz)}
}

func (m *tetra) facePotentialM(f int32, r geom.Point3) float64 {
	t := &m.faces[f]
	return trianglePotentialM(r, m.nodes[t[0]], m.nodes[t[1]], m.nodes[t[2]], m.normal[f])
}

// outward returns the normal of face f away from tetrahedron e.
func (m *tetra) outward(f, e int32) geom.Point3 {
	if m.sides[f][0] != e {
		return m.normal[f].Scale(-1)
	}
	return m.normal[f]
}

// vector is that of vectors for one tetrahedron.
func (m *tetra) vector(r geom.Point3, e int) geom.Point3 {
	d := r.Sub(m.centre[e])
	if r2 := d.Dot(d); r2 >= m.nearM[e]*m.nearM[e] {
		return m.vectorFar(e, d, r2)
	}
	var g geom.Point3
	for _, f := range m.tetFaces[e] {
		g = g.Add(m.outward(f, int32(e)).Scale(m.facePotentialM(f, r)))
	}
	return g
}

// row sets s.both to the vectors of some tetrahedra at node i, the mirrored iron counted in.
func (m *tetra) row(i int, of [2]int, s *scratch) {
	r := m.nodes[i]
	upper, lower := s.both[even], s.both[odd]
	m.vectors(r, s, of, upper)
	if !m.mirror {
		return
	}
	image := m.reflect(r)
	if image == r { // on the mirror
		for e := of[0]; e < of[1]; e++ {
			upper[e] = upper[e].Scale(2)
		}
		clear(lower[of[0]:of[1]])
		return
	}
	m.vectors(image, s, of, lower)
	for e := of[0]; e < of[1]; e++ {
		a, b := upper[e], lower[e]
		upper[e], lower[e] = a.Add(b), a.Sub(b)
	}
}

// vectorAt is that of row for one tetrahedron and parity.
func (m *tetra) vectorAt(i, e int, par parity) geom.Point3 {
	r := m.nodes[i]
	g := m.vector(r, e)
	if !m.mirror {
		return g
	}
	image := m.reflect(r)
	switch {
	case image == r && par == odd:
		return geom.Point3{}
	case image == r:
		return g.Scale(2)
	case par == odd:
		return g.Sub(m.vector(image, e))
	}
	return g.Add(m.vector(image, e))
}

const perFourPi = 1 / (4 * math.Pi)

// fill sets what each piece does to itself: K of every parity where it is not made yet, and where asked for the vectors of
// parity par. Both parities are sums of the same vectors; a mesh without mirror has no odd one. When a piece is a shifted copy of
// an earlier one, its action on itself is the same. What fields do to the pieces that they lie in is set in rows, for parity par.
func (m *tetra) fill(acts [2]*action, par parity, withRaw bool, fields []field, rows [][]float64) {
	sum := acts[par].own == nil
	parities := m.parityCount()
	var nodes []int // of the pieces that are not copies
	for p := range parities {
		if sum {
			acts[p].own = make([][]float64, m.pieces)
		}
	}
	if withRaw {
		acts[par].raw = make([][]float32, m.pieces)
	}
	for q, first := range m.twin {
		n, width := m.nodeRange[q][1]-m.nodeRange[q][0], 3*(m.tetRange[q][1]-m.tetRange[q][0])
		if int(first) == q {
			for i := range n {
				nodes = append(nodes, m.nodeRange[q][0]+i)
			}
		}
		for p := range parities {
			switch {
			case !sum:
			case int(first) == q:
				acts[p].own[q] = make([]float64, n*n)
			default:
				acts[p].own[q] = acts[p].own[first]
			}
		}
		switch {
		case !withRaw:
		case int(first) == q:
			acts[par].raw[q] = make([]float32, n*width)
		default:
			acts[par].raw[q] = acts[par].raw[first]
		}
	}
	work := make([]*scratch, parallel.Workers(len(nodes), maxWorkers))
	parallel.Each(len(nodes), maxWorkers, func(w, k int) {
		if work[w] == nil {
			work[w] = newScratch(m)
		}
		i := nodes[k]
		q := int(m.nodePiece[i])
		at, tets := i-m.nodeRange[q][0], m.tetRange[q]
		m.row(i, tets, work[w])
		own := work[w].both[par][tets[0]:tets[1]]
		for f := range fields {
			if in := fields[f].piece; int(m.twin[in]) == q {
				rows[f][m.nodeRange[in][0]+at] = perFourPi * dots(own, fields[f].v)
			}
		}
		if withRaw {
			width := 3 * len(own)
			row := acts[par].raw[q][at*width : (at+1)*width]
			for e := range own {
				g := &own[e]
				row[3*e], row[3*e+1], row[3*e+2] = float32(perFourPi*g.X), float32(perFourPi*g.Y), float32(perFourPi*g.Z)
			}
		}
		if sum {
			for p := range parities {
				m.sumRow(work[w].both[p], q, at, acts[p].own[q])
			}
		}
	})
}

// dots returns the sum of a_e·b_e.
func dots(a, b []geom.Point3) float64 {
	sum := 0.0
	for e := range a {
		sum += a[e].Dot(b[e])
	}
	return sum
}

// parityCount returns 2 for a mesh with a mirror, 1 for one without.
func (m *tetra) parityCount() int {
	if m.mirror {
		return 2
	}
	return 1
}

// sumRow adds (1/4π) G_e·∇N_j of every tetrahedron e of a piece to its corners j, in one row of the matrix of the piece.
func (m *tetra) sumRow(all []geom.Point3, piece, at int, own []float64) {
	nodes, tets := m.nodeRange[piece], m.tetRange[piece]
	n := nodes[1] - nodes[0]
	row := own[at*n : (at+1)*n]
	for e := tets[0]; e < tets[1]; e++ {
		g := &all[e]
		x, y, z := perFourPi*g.X, perFourPi*g.Y, perFourPi*g.Z
		t, d := &m.tets[e], &m.grad[e]
		for j := range 4 {
			row[int(t[j])-nodes[0]] += float64(x*d[j].X) + float64(y*d[j].Y) + float64(z*d[j].Z)
		}
	}
}

func (m *tetra) emptyRows(count int) [][]float64 {
	out := make([][]float64, count)
	for k := range out {
		out[k] = make([]float64, len(m.nodes))
	}
	return out
}
