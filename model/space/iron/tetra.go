package iron

import (
	"math"
	"sync"

	"busgauss/model/geom"
)

// tetra is a mesh of tetrahedra with what the kernels need of its geometry. It does
// not change once made.
type tetra struct {
	nodes   []geom.Point3
	tets    [][4]int32
	piece   []int32 // of each tetrahedron
	pieces  int
	mirror  bool      // the iron goes on below z = midM, mirrored; nodes and tetrahedra have z >= midM
	midM    float64   // height of the mirror
	columns []columns // of each piece; nil for a raw mesh

	parents  [][4]int32 // of a refined mesh: coarse nodes of which each node is the mean
	byParent []int32    // of a refined mesh of prisms: see wedgesIn

	nodePiece []int32
	nodeRange [][2]int // nodes and tetrahedra of each piece lie together
	tetRange  [][2]int
	twin      []int32 // earlier piece that this one is a shifted copy of, or itself

	grad   [][4]geom.Point3 // gradients of the linear shape functions, 1/m
	vol    []float64        // m³
	centre []geom.Point3
	second [][6]float64 // traceless second moment about the centre: xx, yy, zz, xy, xz, yz, m²
	nearM  []float64    // distance from the centre below which closed forms are used

	faces    [][3]int32    // corners, counter-clockwise about the normal
	normal   []geom.Point3 // unit normal of each face, away from its first side
	sides    [][2]int32    // tetrahedra at either side, -1 none
	tetFaces [][4]int32    // faces of each tetrahedron
	edges    [][2]int32    // lower index first
	tetEdges [][6]int32    // edges of each tetrahedron, in the order of edgeEnds

	seen sync.Pool // of *faceValues
}

// nearFactor is the distance, in radii of a tetrahedron, from which its dipole and
// octupole moments stand for it: there off by a few thousandths at most, farther away
// with the third power less.
const nearFactor = 3.2

// newTetra builds the tables of a raw mesh. Tetrahedra of either sense are turned to
// positive volume.
func newTetra(nodes []geom.Point3, tets [][4]int32, piece []int32, pieces int) *tetra {
	m := &tetra{nodes: nodes, tets: tets, piece: piece, pieces: pieces}
	n := len(tets)
	m.grad = make([][4]geom.Point3, n)
	m.vol = make([]float64, n)
	m.centre = make([]geom.Point3, n)
	m.second = make([][6]float64, n)
	m.nearM = make([]float64, n)
	for e := range tets {
		t := &tets[e]
		v := m.corners(e)
		six := v[1].Sub(v[0]).Cross(v[2].Sub(v[0])).Dot(v[3].Sub(v[0]))
		if six < 0 {
			t[2], t[3] = t[3], t[2]
			v[2], v[3] = v[3], v[2]
			six = -six
		}
		m.vol[e] = six / 6
		for k := range 4 {
			a, b, c := v[(k+1)&3], v[(k+2)&3], v[(k+3)&3]
			g := b.Sub(a).Cross(c.Sub(a))
			m.grad[e][k] = g.Scale(1 / g.Dot(v[k].Sub(a)))
		}
		c := v[0].Add(v[1]).Add(v[2]).Add(v[3]).Scale(0.25)
		m.centre[e] = c
		var q [6]float64
		far := 0.0
		for _, p := range v {
			d := p.Sub(c)
			far = math.Max(far, d.Norm())
			for i, w := range [6]float64{d.X * d.X, d.Y * d.Y, d.Z * d.Z, d.X * d.Y, d.X * d.Z, d.Y * d.Z} {
				q[i] += w / 20
			}
		}
		trace := (q[0] + q[1] + q[2]) / 3
		q[0], q[1], q[2] = q[0]-trace, q[1]-trace, q[2]-trace
		m.second[e] = q
		m.nearM[e] = nearFactor * far
	}
	m.findFaces()
	m.findEdges()
	m.findPieces()
	return m
}

// findPieces notes what belongs to each piece.
func (m *tetra) findPieces() {
	m.nodePiece = make([]int32, len(m.nodes))
	m.nodeRange, m.tetRange = make([][2]int, m.pieces), make([][2]int, m.pieces)
	m.twin = make([]int32, m.pieces)
	for p := range m.pieces {
		m.nodeRange[p], m.tetRange[p] = [2]int{len(m.nodes), 0}, [2]int{len(m.tets), 0}
		m.twin[p] = int32(p)
	}
	for e, t := range m.tets {
		p := m.piece[e]
		m.tetRange[p] = [2]int{min(m.tetRange[p][0], e), max(m.tetRange[p][1], e+1)}
		for _, n := range t {
			m.nodePiece[n] = p
			m.nodeRange[p] = [2]int{min(m.nodeRange[p][0], int(n)), max(m.nodeRange[p][1], int(n)+1)}
		}
	}
}

func (m *tetra) corners(e int) [4]geom.Point3 {
	t := m.tets[e]
	return [4]geom.Point3{m.nodes[t[0]], m.nodes[t[1]], m.nodes[t[2]], m.nodes[t[3]]}
}

// findFaces numbers the faces in the order in which the tetrahedra meet them.
func (m *tetra) findFaces() {
	index := make(map[[3]int32]int32, 3*len(m.tets))
	m.tetFaces = make([][4]int32, len(m.tets))
	for e, t := range m.tets {
		for k := range 4 {
			key := sorted3([3]int32{t[(k+1)&3], t[(k+2)&3], t[(k+3)&3]})
			f, ok := index[key]
			if !ok {
				f = int32(len(m.faces))
				index[key] = f
				m.sides = append(m.sides, [2]int32{int32(e), -1})
				out := m.grad[e][k].Scale(-1 / m.grad[e][k].Norm())
				m.normal = append(m.normal, out)
				a := m.nodes[key[0]]
				if m.nodes[key[1]].Sub(a).Cross(m.nodes[key[2]].Sub(a)).Dot(out) < 0 {
					key[1], key[2] = key[2], key[1]
				}
				m.faces = append(m.faces, key)
			} else {
				m.sides[f][1] = int32(e)
			}
			m.tetFaces[e][k] = f
		}
	}
}

func (m *tetra) findEdges() {
	index := make(map[[2]int32]int32, 7*len(m.nodes))
	m.tetEdges = make([][6]int32, len(m.tets))
	for e, t := range m.tets {
		for k, ends := range edgeEnds {
			key := [2]int32{min(t[ends[0]], t[ends[1]]), max(t[ends[0]], t[ends[1]])}
			i, ok := index[key]
			if !ok {
				i = int32(len(m.edges))
				index[key] = i
				m.edges = append(m.edges, key)
			}
			m.tetEdges[e][k] = i
		}
	}
}

var edgeEnds = [6][2]int{{0, 1}, {0, 2}, {0, 3}, {1, 2}, {1, 3}, {2, 3}}

func sorted3(v [3]int32) [3]int32 {
	if v[0] > v[1] {
		v[0], v[1] = v[1], v[0]
	}
	if v[1] > v[2] {
		v[1], v[2] = v[2], v[1]
	}
	if v[0] > v[1] {
		v[0], v[1] = v[1], v[0]
	}
	return v
}

// gradient returns the gradient in tetrahedron e of the linear function with these
// values at the nodes.
func (m *tetra) gradient(e int, phi []float64) geom.Point3 {
	var g geom.Point3
	for k, n := range m.tets[e] {
		g = g.Add(m.grad[e][k].Scale(phi[n]))
	}
	return g
}

// reflect returns the mirror image of a place.
func (m *tetra) reflect(p geom.Point3) geom.Point3 {
	return geom.Point3{X: p.X, Y: p.Y, Z: 2*m.midM - p.Z}
}

// flip returns the mirror image of a vector.
func flip(v geom.Point3) geom.Point3 { return geom.Point3{X: v.X, Y: v.Y, Z: -v.Z} }
