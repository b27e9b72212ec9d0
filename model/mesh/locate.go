package mesh

import (
	"math"

	"busgauss/model/geom"
)

// grid gives the walk of Locate a triangle near its goal. It holds nothing that changes, so that queries
// may run at the same time and answer alike in any order.
type grid struct {
	box    geom.Box
	nx, ny int
	sizeM  float64
	tri    []int32
}

// newGrid makes about one square for every four triangles.
func newGrid(m *Mesh) grid {
	g := grid{box: geom.EmptyBox()}
	for _, p := range m.Nodes {
		g.box = g.box.Extend(p)
	}
	s := g.box.Size()
	g.sizeM = math.Sqrt(s.X * s.Y / (1 + float64(len(m.Tris))/4))
	g.sizeM = math.Max(g.sizeM, math.Max(s.X, s.Y)/4096)
	g.nx, g.ny = int(s.X/g.sizeM)+1, int(s.Y/g.sizeM)+1
	g.tri = make([]int32, g.nx*g.ny)
	for i := range g.tri {
		g.tri[i] = -1
	}
	for k, t := range m.Tris {
		a, b, c := m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]
		i := g.index(geom.Point{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3})
		if g.tri[i] < 0 {
			g.tri[i] = int32(k)
		}
	}
	// Empty squares take the answer of the one before, first along rows, then across them.
	last := int32(0)
	for i := range g.tri {
		if g.tri[i] < 0 {
			if i%g.nx == 0 && i >= g.nx {
				last = g.tri[i-g.nx]
			}
			g.tri[i] = last
		}
		last = g.tri[i]
	}
	return g
}

func (g *grid) index(p geom.Point) int {
	x := int(math.Min(math.Max((p.X-g.box.Min.X)/g.sizeM, 0), float64(g.nx-1)))
	y := int(math.Min(math.Max((p.Y-g.box.Min.Y)/g.sizeM, 0), float64(g.ny-1)))
	return y*g.nx + x
}

// Locate returns the triangle that holds p, or -1 when p lies outside the mesh, in a hole, or is not a
// number. On an edge either triangle may be returned, always the same one. Triangles count as straight-sided, also at arcs.
//
// Source of the walk: O. Devillers, S. Pion, M. Teillaud, Walking in a triangulation, Int. J. Found. Comput.
// Sci. 13 (2002) 181.
func (m *Mesh) Locate(p geom.Point) int {
	if math.IsNaN(p.X) || math.IsNaN(p.Y) || !m.grid.box.Contains(p) {
		return -1
	}
	k, ok := m.walkFrom(m.grid.tri[m.grid.index(p)], p)
	if ok {
		return int(k)
	}
	return m.search(p)
}

// walkFrom steps from triangle k towards p. ok says that p was reached; otherwise the triangle returned is
// where the rim, which bends around holes, stopped it.
func (m *Mesh) walkFrom(k int32, p geom.Point) (at int32, ok bool) {
	last := int32(-1)
	for limit := 1000 + len(m.Tris)/10; limit > 0; limit-- {
		step, inside := int32(-1), true
		for e := range int32(3) {
			n := m.Adj[k][e]
			if n >= 0 && n == last {
				continue
			}
			if orient(m.Nodes[m.Tris[k][next(e)]], m.Nodes[m.Tris[k][prev(e)]], p) < 0 {
				inside = false
				if n >= 0 {
					step = n
					break
				}
			}
		}
		if inside || step < 0 {
			return k, inside
		}
		last, k = k, step
	}
	return k, false
}

// search looks at every triangle.
func (m *Mesh) search(p geom.Point) int {
	for k, t := range m.Tris {
		a, b, c := m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]
		if p.X < min(a.X, b.X, c.X) || p.X > max(a.X, b.X, c.X) || p.Y < min(a.Y, b.Y, c.Y) || p.Y > max(a.Y, b.Y, c.Y) {
			continue
		}
		if orient(a, b, p) >= 0 && orient(b, c, p) >= 0 && orient(c, a, p) >= 0 {
			return k
		}
	}
	return -1
}
