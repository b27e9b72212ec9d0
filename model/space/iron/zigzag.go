package iron

import (
	"math"

	"busgauss/model/portable"
)

// straighten turns the diagonals of the rectangles of a triangulation so that those of
// neighbours meet: diagonals that all lean one way would let the iron conduct along
// them a little better than across.
func (s *section) straighten() {
	quad := make([]int32, len(s.tris)) // the other half of the rectangle, -1 none
	for k := range quad {
		quad[k] = -1
	}
	for k := range s.tris {
		for e := range 3 {
			j := s.adj[k][e]
			if j > int32(k) && quad[k] < 0 && quad[j] < 0 && s.rectangular(k, e) {
				quad[k], quad[j] = j, int32(k)
			}
		}
	}
	done := make([]bool, len(s.tris))
	for k := range s.tris {
		if quad[k] < 0 || done[k] {
			continue
		}
		queue := []int32{int32(k)}
		done[k], done[quad[k]] = true, true
		for len(queue) > 0 {
			i := queue[0]
			queue = queue[1:]
			for _, half := range [2]int32{i, quad[i]} {
				u, v := s.diagonal(i, quad[i])
				for e := range 3 {
					j := s.adj[half][e]
					if j < 0 || j == quad[half] || quad[j] < 0 || done[j] {
						continue
					}
					a, b := s.tris[half][(e+1)%3], s.tris[half][(e+2)%3]
					meet := a
					if b == u || b == v {
						meet = b
					}
					if x, y := s.diagonal(j, quad[j]); x != meet && y != meet {
						s.turn(j, quad[j])
					}
					done[j], done[quad[j]] = true, true
					queue = append(queue, j)
				}
			}
		}
	}
}

// rectangular reports whether the triangles on both sides of edge e of triangle k make
// a rectangle, nearly.
func (s *section) rectangular(k, e int) bool {
	t := s.tris[k]
	apex, a, b := s.pts[t[e]], s.pts[t[(e+1)%3]], s.pts[t[(e+2)%3]]
	far := s.pts[s.opposite(s.adj[k][e], t[(e+1)%3], t[(e+2)%3])]
	const tol = 0.05
	square := func(p, q, r [2]float64) bool {
		u, v := [2]float64{p[0] - q[0], p[1] - q[1]}, [2]float64{r[0] - q[0], r[1] - q[1]}
		return math.Abs(float64(u[0]*v[0])+float64(u[1]*v[1])) < tol*portable.Hypot(u[0], u[1])*portable.Hypot(v[0], v[1])
	}
	p, q, r, f := [2]float64{a.X, a.Y}, [2]float64{apex.X, apex.Y}, [2]float64{b.X, b.Y}, [2]float64{far.X, far.Y}
	return square(p, q, r) && square(r, f, p) && square(f, p, q)
}

// opposite returns the corner of a triangle beside a and b.
func (s *section) opposite(k, a, b int32) int32 {
	for _, v := range s.tris[k] {
		if v != a && v != b {
			return v
		}
	}
	return -1
}

// diagonal returns the corners that two triangles share.
func (s *section) diagonal(i, j int32) (u, v int32) {
	u, v = -1, -1
	for _, x := range s.tris[i] {
		for _, y := range s.tris[j] {
			if x == y {
				u, v = v, x
			}
		}
	}
	return u, v
}

// turn swaps the diagonal of two triangles and mends the neighbours.
func (s *section) turn(i, j int32) {
	e, f := 0, 0
	for s.adj[i][e] != j {
		e++
	}
	for s.adj[j][f] != i {
		f++
	}
	p, a, b := s.tris[i][e], s.tris[i][(e+1)%3], s.tris[i][(e+2)%3]
	q := s.tris[j][f]
	pa, bp := s.adj[i][(e+2)%3], s.adj[i][(e+1)%3] // over p–a and b–p
	aq, qb := s.adj[j][(f+1)%3], s.adj[j][(f+2)%3] // over a–q and q–b
	s.tris[i], s.adj[i] = [3]int32{p, a, q}, [3]int32{aq, j, pa}
	s.tris[j], s.adj[j] = [3]int32{q, b, p}, [3]int32{bp, i, qb}
	for k := range 3 {
		if aq >= 0 && s.adj[aq][k] == j {
			s.adj[aq][k] = i
		}
		if bp >= 0 && s.adj[bp][k] == i {
			s.adj[bp][k] = j
		}
	}
}

// ranks orders the nodes for the cutting of wedges: by colour, neighbours of different
// colour where three colours do, so that the cuts lean to no side.
func (s *section) ranks() []int32 {
	n := len(s.pts)
	colour := make([]int32, n)
	for i := range colour {
		colour[i] = -1
	}
	beside := make([][]int32, n)
	for _, t := range s.tris {
		for k := range 3 {
			beside[t[k]] = append(beside[t[k]], t[(k+1)%3], t[(k+2)%3])
		}
	}
	paint := func(i int32) {
		var used [3]bool
		for _, j := range beside[i] {
			if c := colour[j]; c >= 0 {
				used[c] = true
			}
		}
		colour[i] = 2
		for c := range used {
			if !used[c] {
				colour[i] = int32(c)
				break
			}
		}
	}
	seen := make([]bool, len(s.tris))
	for k := range s.tris {
		if seen[k] {
			continue
		}
		seen[k] = true
		queue := []int32{int32(k)}
		for len(queue) > 0 {
			i := queue[0]
			queue = queue[1:]
			for _, v := range s.tris[i] {
				if colour[v] < 0 {
					paint(v)
				}
			}
			for _, j := range s.adj[i] {
				if j >= 0 && !seen[j] {
					seen[j] = true
					queue = append(queue, j)
				}
			}
		}
	}
	rank := make([]int32, n)
	for i := range rank {
		rank[i] = colour[i]*int32(n) + int32(i)
	}
	return rank
}
