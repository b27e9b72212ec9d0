package iron

import "busgauss/model/geom"

// refined returns the section with every triangle cut in four at the middles of its
// edges: the errors of the two meshes then stand in a fixed proportion.
func (s *section) refined() *section {
	out := &section{o: s.o, pts: append([]geom.Point(nil), s.pts...)}
	for i := range s.pts {
		out.ends = append(out.ends, [2]int32{int32(i), int32(i)})
	}
	if s.annulus != nil {
		out.annulus = s.annulus.halved()
		for i := range s.pts {
			out.annulus.at = append(out.annulus.at, s.annulus.between(int32(i), int32(i)))
		}
	}
	middle := map[[2]int32]int32{}
	mid := func(a, b int32) int32 {
		key := [2]int32{min(a, b), max(a, b)}
		i, ok := middle[key]
		if !ok {
			i = int32(len(out.pts))
			middle[key] = i
			out.pts = append(out.pts, s.pts[a].Add(s.pts[b]).Scale(0.5))
			out.ends = append(out.ends, key)
			if s.annulus != nil {
				out.annulus.at = append(out.annulus.at, s.annulus.between(a, b))
			}
		}
		return i
	}
	for k, t := range s.tris {
		a, b, c := mid(t[1], t[2]), mid(t[2], t[0]), mid(t[0], t[1])
		out.tris = append(out.tris, [3]int32{t[0], c, b}, [3]int32{c, t[1], a}, [3]int32{b, a, t[2]}, [3]int32{a, b, c})
		// Quarter i lies at corner i, quarter 3 in the middle.
		first := int32(4 * k)
		outer := func(e int, end int32) int32 {
			j := s.adj[k][e]
			if j < 0 {
				return -1
			}
			for i, v := range s.tris[j] {
				if v == end {
					return 4*j + int32(i)
				}
			}
			return -1
		}
		out.adj = append(out.adj,
			[3]int32{first + 3, outer(1, t[0]), outer(2, t[0])},
			[3]int32{outer(0, t[1]), first + 3, outer(2, t[1])},
			[3]int32{outer(0, t[2]), outer(1, t[2]), first + 3},
			[3]int32{first, first + 1, first + 2})
	}
	if s.annulus != nil {
		out.settle()
	}
	out.findRim()
	return out
}

// halved returns the layers with one more height half-way through each.
func halved(z []float64) []float64 {
	out := z[:1:1]
	for i := 1; i < len(z); i++ {
		out = append(out, (z[i-1]+z[i])/2, z[i])
	}
	return out
}

// refined returns the mesh with every wedge cut in eight.
func (m *tetra) refined() *tetra {
	b := &assembly{twin: m.twin, mirror: m.mirror, midM: m.midM}
	var parents [][4]int32
	for i := range m.columns {
		c := &m.columns[i]
		s := c.s.refined()
		base, n := int32(m.nodeRange[i][0]), int32(len(c.s.pts))
		for l := range 2*len(c.z) - 1 {
			low, high := base+int32(l/2)*n, base+int32((l+1)/2)*n
			for _, ends := range s.ends {
				parents = append(parents, [4]int32{low + ends[0], low + ends[1], high + ends[0], high + ends[1]})
			}
		}
		b.add(int32(i), s, halved(c.z))
		b.columns[i].long = c.long
	}
	f := b.mesh()
	f.parents = parents
	f.byParent = f.wedgesIn(m)
	return f
}

// wedgesIn returns the tetrahedra of m, a mesh of prisms, in the order of the wedges of the coarser one that they lie
// in: eight wedges of three in each.
func (m *tetra) wedgesIn(coarse *tetra) []int32 {
	out := make([]int32, 0, len(m.tets))
	for i := range coarse.columns {
		c, f := &coarse.columns[i], &m.columns[i]
		tris := len(c.s.tris)
		for l := range len(c.z) - 1 {
			for t := range tris {
				for part := range 8 {
					wedge := (2*l+part/4)*4*tris + 4*t + part%4
					for k := range perWedge {
						out = append(out, int32(f.first+perWedge*wedge+k))
					}
				}
			}
		}
	}
	return out
}
