package fem

import (
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// group is a set of active conducting pieces with one unknown potential: an
// insulated piece alone, or a bonded group.
type group[T sparse.Scalar] struct {
	pieces []int
	nodes  []int32 // of the pieces
	moment []T     // ∫ m w at these nodes, 0 elsewhere
	unit   []T     // reaction to −m: solution of the matrix for moment
	total  T       // ∫ m
}

// makeGroups finds the groups, solves for their unit potentials, and inverts the
// matrix of net currents. The factor must exist.
//
// With A = As + X − Σ v_h Y_h and J − Js = −σ jω (A + v), the net current of a
// group is zero beyond the current of its source when
//
//	T_g v_g − Σ_h (m_gᵀ Y_h) v_h = −m_gᵀ (As + X)
//
// so one solution a group and a small dense matrix impose all currents.
func (s *system[T]) makeGroups(p *Problem) {
	g := s.g
	of := make([]int, len(p.Pieces))
	for i := range of {
		of[i] = -1 - i
	}
	for b, members := range p.Bonded {
		for _, i := range members {
			of[i] = b
		}
	}
	place := map[int]int{}
	groupOf := make([]int, len(g.d.pieces))
	for k, idx := range g.d.index {
		groupOf[k] = -1
		if !g.d.media[k].conducts {
			continue
		}
		at, ok := place[of[idx]]
		if !ok {
			at = len(s.groups)
			place[of[idx]] = at
			s.groups = append(s.groups, group[T]{})
		}
		s.groups[at].pieces = append(s.groups[at].pieces, k)
		groupOf[k] = at
	}
	n := len(s.groups)
	if n == 0 {
		return
	}
	all := make([]T, n*g.n)
	for t, six := range g.q.Tris {
		if !g.conducts(t) {
			continue
		}
		h := groupOf[g.piece[t]]
		moment := all[h*g.n : (h+1)*g.n]
		m, c := g.mass(t), s.mass[g.piece[t]]
		for i, node := range six {
			sum := 0.0
			for j := range six {
				sum += m[i][j]
			}
			moment[node] += portable.ProductOf(c, s.lift(sum))
		}
	}
	for i := range s.groups {
		s.groups[i].keep(all[i*g.n : (i+1)*g.n])
	}
	s.solveFor(all, n)
	a := make([][]T, n)
	for i := range s.groups {
		s.groups[i].unit = all[i*g.n : (i+1)*g.n]
	}
	for i := range s.groups {
		a[i] = make([]T, n)
		a[i][i] = s.groups[i].total
		for h := range s.groups {
			a[i][h] -= s.groups[i].momentOf(s.groups[h].unit)
		}
	}
	s.dense = a
}

// balance turns the solution x of a drive into one whose groups carry the right
// currents, and returns the potential of each group, divided by jω.
func (s *system[T]) balance(d *drive, x []T) []T {
	n := len(s.groups)
	if n == 0 {
		return nil
	}
	b := make([]T, n)
	for i := range s.groups {
		gr := &s.groups[i]
		var sum T
		for j, k := range gr.nodes {
			sum += portable.ProductOf(gr.moment[j], x[k]+s.lift(d.as[k]))
		}
		b[i] = -sum
	}
	v := solveDense(s.dense, b)
	for i := range s.groups {
		for k, y := range s.groups[i].unit {
			x[k] -= portable.ProductOf(v[i], y)
		}
	}
	return v
}

// keep notes the moment, given at every node.
func (gr *group[T]) keep(moment []T) {
	for k, v := range moment {
		if v != 0 {
			gr.nodes, gr.moment = append(gr.nodes, int32(k)), append(gr.moment, v)
			gr.total += v
		}
	}
}

// momentOf returns the moment of values at the nodes.
func (gr *group[T]) momentOf(x []T) T {
	var sum T
	for j, k := range gr.nodes {
		sum += portable.ProductOf(gr.moment[j], x[k])
	}
	return sum
}

func dot[T sparse.Scalar](a, b []T) T {
	var sum T
	for i, v := range a {
		sum += portable.ProductOf(v, b[i])
	}
	return sum
}

// solveDense solves a small system by elimination with partial pivoting; a and b
// are left as they are.
func solveDense[T sparse.Scalar](a [][]T, b []T) []T {
	n := len(b)
	m := make([][]T, n)
	for i := range m {
		m[i] = append(append(make([]T, 0, n+1), a[i]...), b[i])
	}
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if modulus(m[i][k]) > modulus(m[p][k]) {
				p = i
			}
		}
		m[k], m[p] = m[p], m[k]
		for i := k + 1; i < n; i++ {
			f := portable.QuotientOf(m[i][k], m[k][k])
			for j := k; j <= n; j++ {
				m[i][j] -= portable.ProductOf(f, m[k][j])
			}
		}
	}
	x := make([]T, n)
	for i := n - 1; i >= 0; i-- {
		sum := m[i][n]
		for j := i + 1; j < n; j++ {
			sum -= portable.ProductOf(m[i][j], x[j])
		}
		x[i] = portable.QuotientOf(sum, m[i][i])
	}
	return x
}

// modulus returns |x|.
func modulus[T sparse.Scalar](x T) float64 {
	switch v := any(x).(type) {
	case float64:
		if v < 0 {
			return -v
		}
		return v
	case complex128:
		return cabs(v)
	}
	panic("fem: unknown scalar")
}
