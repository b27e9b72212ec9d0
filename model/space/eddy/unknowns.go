package eddy

import (
	"math"
	"slices"
)

// edgeOf are the end nodes of the edges of a cell: edge 4d + a + 2b runs along axis d, a and b
// being its places along the next two axes.
var edgeOf = func() (out [12][2]int8) {
	for d := range 3 {
		for q := range 4 {
			from := (q&1)<<((d+1)%3) | (q>>1)<<((d+2)%3)
			out[4*d+q] = [2]int8{int8(from), int8(from | 1<<d)}
		}
	}
	return out
}()

// fluxOf are the currents through the sides of a cell in the edges' circulations:
// side 2d + s has the current along +d at the end s of axis d.
var fluxOf = func() (out [6][12]float64) {
	for d := range 3 {
		d1, d2 := (d+1)%3, (d+2)%3
		for s := range 2 {
			f := &out[2*d+s]
			f[4*d1+2*s] += 1
			f[4*d2+s+2] += 1
			f[4*d1+1+2*s] -= 1
			f[4*d2+s] -= 1
		}
	}
	return out
}()

// parity says how a current goes on below the mirror: through it, or round in planes
// along it.
type parity int

const (
	through parity = iota // Jz even, Jx and Jy odd
	round                 // Jz odd, Jx and Jy even; of meshes without a mirror too
)

// unknowns is the basis of the currents of a mesh for one parity: circulations of T along
// the edges of a cotree, and of the holes. Those along edges of the surface are nought, so
// that no current leaves the metal; those along a tree of the other edges are chosen as
// nought, since only curl T counts.
type unknowns struct {
	n    int
	dof  [][12]int32 // of each cell's edges; -1 for nought
	sign [][12]float64
	hole []int32 // unknown of each hole, -1 where there is none
}

// Source of the gauge: R. Albanese, G. Rubinacci, Integral formulation for 3D eddy-current
// computation using edge elements, IEE Proc. A 135 (1988) 457-462 (from memory).
func (m *mesh) unknowns(p parity) *unknowns {
	key := func(a, b int32) [2]int32 { return [2]int32{min(a, b), max(a, b)} }
	index := map[[2]int32]int32{}
	var edges [][2]int32
	for c := range m.cells {
		for _, e := range edgeOf {
			k := key(m.cells[c][e[0]], m.cells[c][e[1]])
			if _, ok := index[k]; !ok {
				index[k] = int32(len(edges))
				edges = append(edges, k)
			}
		}
	}
	outside := make([]bool, len(edges))
	group := newUnion(len(m.nodes))
	for _, f := range m.surface(p) {
		for i := range 4 {
			k := key(f[i], f[(i+1)%4])
			outside[index[k]] = true
			group.join(k[0], k[1])
		}
	}
	for c := range m.cells { // nothing flows where nothing conducts
		for _, e := range edgeOf {
			if math.IsInf(m.rho[c], 1) {
				outside[index[key(m.cells[c][e[0]], m.cells[c][e[1]])]] = true
			}
		}
	}
	u := &unknowns{dof: make([][12]int32, len(m.cells)), sign: make([][12]float64, len(m.cells))}
	number := make([]int32, len(edges))
	for e, k := range edges {
		number[e] = -1
		if !outside[e] && !group.join(k[0], k[1]) {
			number[e] = int32(u.n)
			u.n++
		}
	}
	around := map[[2]int32]int32{} // rim edge to hole
	for h := range m.holes {
		u.hole = append(u.hole, -1)
		if p == through && m.mirror {
			continue
		}
		u.hole[h] = int32(u.n)
		u.n++
		for k := range m.holes[h].rims {
			around[k] = int32(h)
		}
	}
	for c := range m.cells {
		for i, e := range edgeOf {
			a, b := m.cells[c][e[0]], m.cells[c][e[1]]
			k := key(a, b)
			u.dof[c][i], u.sign[c][i] = number[index[k]], 1
			if a > b {
				u.sign[c][i] = -1
			}
			if h, ok := around[k]; ok && u.hole[h] >= 0 {
				u.dof[c][i] = u.hole[h]
				u.sign[c][i] *= m.holes[h].rims[k]
			}
		}
	}
	return u
}

// surface returns the sides of cells that no other cell shares; of the mirror plane those
// through which no current of parity p passes.
func (m *mesh) surface(p parity) (out [][4]int32) {
	count := map[[4]int32]int{}
	sorted := func(f [4]int32) [4]int32 { slices.Sort(f[:]); return f }
	side := func(c, s int) (f [4]int32) {
		for i, k := range sideLoops[s] {
			f[i] = m.cells[c][k]
		}
		return f
	}
	for c := range m.cells {
		for s := range 6 {
			count[sorted(side(c, s))]++
		}
	}
	for c := range m.cells {
		for s := range 6 {
			f := side(c, s)
			if count[sorted(f)] == 1 && !(p == through && m.onMirror(f)) {
				out = append(out, f)
			}
		}
	}
	return out
}

func (m *mesh) onMirror(f [4]int32) bool {
	if !m.mirror {
		return false
	}
	for _, n := range f {
		if m.nodes[n].Z != m.midM {
			return false
		}
	}
	return true
}

// union is a set of disjoint sets. Source: R. E. Tarjan, J. ACM 22 (1975) 215 (from memory).
type union []int32

func newUnion(n int) union {
	u := make(union, n)
	for i := range u {
		u[i] = int32(i)
	}
	return u
}

func (u union) root(i int32) int32 {
	for u[i] != i {
		u[i] = u[u[i]]
		i = u[i]
	}
	return i
}

// join puts two members in one set; it reports whether they were in two.
func (u union) join(a, b int32) bool {
	a, b = u.root(a), u.root(b)
	u[max(a, b)] = min(a, b)
	return a != b
}
