package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// A closed ring about a current I is magnetised along its circles by
//
//	H_c = I/(2πr)  about the axis of the ring
//
// M_c, a function of H_c alone, has no divergence and runs along all faces: it makes no field outside, in linear as in saturating
// iron. Straight edges leave of that a field of the size of M_c, thousands of times that of the current. It is
// therefore taken out: the source is what it has beyond H_c, the magnetisation that makes a field M − M_c.

// swirl takes the circulation round closed rings out of the line integrals c along the edges, and returns H_c in every tetrahedron;
// nil where no ring has any.
func (m *tetra) swirl(c []float64, par parity) (rest []float64, hc []geom.Point3) {
	if par == odd { // H_c is even
		return c, nil
	}
	current := make([]float64, m.pieces)
	for p := range m.columns {
		if a := m.columns[p].s.annulus; a != nil && a.ring.SlitM == 0 {
			current[p] = m.around(p, c)
		}
	}
	rest = c
	for i, e := range m.edges {
		p := m.nodePiece[e[0]]
		if current[p] == 0 {
			continue
		}
		if hc == nil {
			rest, hc = append([]float64(nil), c...), make([]geom.Point3, len(m.tets))
		}
		rest[i] -= float64(current[p] / (2 * math.Pi) * m.angle(p, e))
	}
	for e := range hc {
		p := m.piece[e]
		if current[p] != 0 {
			v := m.centre[e].XY().Sub(m.columns[p].s.annulus.ring.Centre)
			hc[e] = geom.Point{X: -v.Y, Y: v.X}.Scale(current[p] / (2 * math.Pi * v.Dot(v))).Space(0)
		}
	}
	return rest, hc
}

// around returns the mean circulation round both faces of ring p.
func (m *tetra) around(p int, c []float64) float64 {
	s, first := m.columns[p].s, m.nodeRange[p][0]
	n := len(s.pts)
	sum := 0.0
	for i, e := range m.edges {
		if int(m.nodePiece[e[0]]) != p {
			continue
		}
		a, b := int(e[0])-first, int(e[1])-first
		share := s.annulus.at[a%n].share
		if a/n == b/n && share == s.annulus.at[b%n].share && (share == 0 || share == 1) {
			sum += float64(c[i] * math.Copysign(1, m.angle(int32(p), e)))
		}
	}
	return sum / float64(2*len(m.columns[p].z))
}

// angle returns the angle under which the axis of ring p sees an edge, from its lower to its higher end.
func (m *tetra) angle(p int32, edge [2]int32) float64 {
	centre := m.columns[p].s.annulus.ring.Centre
	a, b := m.nodes[edge[0]].XY().Sub(centre), m.nodes[edge[1]].XY().Sub(centre)
	return portable.Atan2(a.Cross(b), a.Dot(b))
}
