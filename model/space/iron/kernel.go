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
	g, image []geom.Point3 // one vector a tetrahedron: see row
	near     []int32
	stamp    []int32
	face     []float64
	epoch    int32
}

func newScratch(m *tetra) *scratch {
	return &scratch{
		g: make([]geom.Point3, len(m.tets)), image: make([]geom.Point3, len(m.tets)),
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
// Tetrahedra skip[0] <= e < skip[1] are left out: their vectors are 0.
func (m *tetra) vectors(r geom.Point3, s *scratch, skip [2]int, out []geom.Point3) {
	s.near = s.near[:0]
	s.epoch++
	for e := 0; e < len(m.centre); e++ {
		if e == skip[0] && skip[1] > e {
			clear(out[e:skip[1]])
			e = skip[1] - 1
			continue
		}
		c := &m.centre[e]
		x, y, z := r.X-c.X, r.Y-c.Y, r.Z-c.Z
		r2 := x*x + y*y + z*z
		if n := m.nearM[e]; r2 < n*n {
			s.near = append(s.near, int32(e))
			continue
		}
		q := &m.second[e]
		qx := q[0]*x + q[3]*y + q[4]*z
		qy := q[3]*x + q[1]*y + q[5]*z
		qz := q[4]*x + q[5]*y + q[2]*z
		i2 := 1 / r2
		v3 := m.vol[e] * i2 * math.Sqrt(i2)
		f := v3 * (1 + 7.5*(x*qx+y*qy+z*qz)*i2*i2)
		h := 3 * v3 * i2
		out[e] = geom.Point3{X: f*x - h*qx, Y: f*y - h*qy, Z: f*z - h*qz}
	}
	for _, e := range s.near {
		var g geom.Point3
		for _, f := range m.tetFaces[e] {
			if s.stamp[f] != s.epoch {
				s.stamp[f] = s.epoch
				t := &m.faces[f]
				s.face[f] = trianglePotentialM(r, m.nodes[t[0]], m.nodes[t[1]], m.nodes[t[2]], m.normal[f])
			}
			p := s.face[f]
			if m.sides[f][0] != e {
				p = -p
			}
			n := &m.normal[f]
			g.X += p * n.X
			g.Y += p * n.Y
			g.Z += p * n.Z
		}
		out[e] = g
	}
}

// row sets s.g to the vectors at node i, the mirrored iron counted in, and s.image to those of odd potentials.
func (m *tetra) row(i int, skip [2]int, s *scratch) {
	r := m.nodes[i]
	m.vectors(r, s, skip, s.g)
	if !m.mirror {
		return
	}
	image := m.reflect(r)
	if image == r { // on the mirror
		for e := range s.g {
			s.g[e] = s.g[e].Scale(2)
		}
		clear(s.image)
		return
	}
	m.vectors(image, s, skip, s.image)
	for e := range s.g {
		a, b := s.g[e], s.image[e]
		s.g[e], s.image[e] = a.Add(b), a.Sub(b)
	}
}

const perFourPi = 1 / (4 * math.Pi)

// rows calls use with every node and its vectors, even and odd, several at once. When a piece is a
// shifted copy of an earlier one, its action on itself is the same: with twins those
// vectors are left out, and the caller copies what he makes of the others.
func (m *tetra) rows(twins bool, use func(i int, g [2][]geom.Point3)) {
	work := make([]*scratch, parallel.Workers(len(m.nodes), maxWorkers))
	parallel.Each(len(m.nodes), maxWorkers, func(w, i int) {
		if work[w] == nil {
			work[w] = newScratch(m)
		}
		var skip [2]int
		if p := m.nodePiece[i]; twins && m.twin[p] != p {
			skip = m.tetRange[p]
		}
		m.row(i, skip, work[w])
		use(i, [2][]geom.Point3{even: work[w].g, odd: work[w].image})
	})
}

// kernel returns K of each parity, row by row: (K φ)_i = (1/4π) Σ_e G_e(r_i)·∇φ_e. It knows the
// geometry only; the pieces share no column, so that any permeabilities fit in later. Both parities are sums of the
// same vectors; a mesh without mirror has no odd one.
//
// withRaw makes the vectors of parity par it is summed of too, three numbers a tetrahedron, divided
// by 4π: what Newton's method needs, whose permeabilities differ from one tetrahedron
// to the next. Seven digits of them are plenty and halve the memory.
//
// fields are applied on the way for that parity, see apply; with them no vectors are left out.
func (m *tetra) kernel(par parity, withRaw bool, fields [][]geom.Point3) (k [2][]float64, raw []float32, applied [][]float64) {
	n := len(m.nodes)
	parities := m.parityCount()
	for p := range parities {
		k[p] = make([]float64, n*n)
	}
	width := 3 * len(m.tets)
	if withRaw {
		raw = make([]float32, n*width)
	}
	applied = m.emptyRows(len(fields))
	m.rows(len(fields) == 0, func(i int, of [2][]geom.Point3) {
		applyAt(fields, of[par], applied, i)
		if withRaw {
			row := raw[i*width : (i+1)*width]
			for e := range of[par] {
				g := &of[par][e]
				row[3*e], row[3*e+1], row[3*e+2] = float32(perFourPi*g.X), float32(perFourPi*g.Y), float32(perFourPi*g.Z)
			}
		}
		for p := range parities {
			m.sumRow(of[p], k[p][i*n:(i+1)*n])
		}
	})
	for p, q := range m.twin {
		if int(q) == p {
			continue
		}
		own, from := m.nodeRange[p], m.nodeRange[q]
		for i := range own[1] - own[0] {
			a, b := (own[0]+i)*n, (from[0]+i)*n
			for _, k := range k[:parities] {
				copy(k[a+own[0]:a+own[1]], k[b+from[0]:b+from[1]])
			}
		}
		if !withRaw {
			continue
		}
		a, b := 3*m.tetRange[p][0], 3*m.tetRange[q][0]
		size := 3 * (m.tetRange[p][1] - m.tetRange[p][0])
		for i := range own[1] - own[0] {
			to, of := (own[0]+i)*width+a, (from[0]+i)*width+b
			copy(raw[to:to+size], raw[of:of+size])
		}
	}
	return k, raw, applied
}

// parityCount returns 2 for a mesh with a mirror, 1 for one without.
func (m *tetra) parityCount() int {
	if m.mirror {
		return 2
	}
	return 1
}

// sumRow adds (1/4π) G_e·∇N_j of every tetrahedron e to its corners j.
func (m *tetra) sumRow(all []geom.Point3, row []float64) {
	for e := range m.tets {
		g := &all[e]
		x, y, z := perFourPi*g.X, perFourPi*g.Y, perFourPi*g.Z
		t, d := &m.tets[e], &m.grad[e]
		for j := range 4 {
			row[t[j]] += x*d[j].X + y*d[j].Y + z*d[j].Z
		}
	}
}

// apply returns (1/4π) Σ_e G_e(r_i)·v_e at every node, for each field of vectors given.
func (m *tetra) apply(par parity, fields [][]geom.Point3) [][]float64 {
	out := m.emptyRows(len(fields))
	m.rows(false, func(i int, g [2][]geom.Point3) { applyAt(fields, g[par], out, i) })
	return out
}

func (m *tetra) emptyRows(count int) [][]float64 {
	out := make([][]float64, count)
	for k := range out {
		out[k] = make([]float64, len(m.nodes))
	}
	return out
}

// applyAt sets out[k][i] to (1/4π) Σ_e g_e·v_e for each field v.
func applyAt(fields [][]geom.Point3, g []geom.Point3, out [][]float64, i int) {
	for k, v := range fields {
		sum := 0.0
		for e := range v {
			sum += g[e].Dot(v[e])
		}
		out[k][i] = perFourPi * sum
	}
}
