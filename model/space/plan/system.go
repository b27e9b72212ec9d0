package plan

import (
	"fmt"
	"slices"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/mesh"
	"busgauss/model/sparse"
)

// system is one mesh with both solutions.
type system struct {
	q            *mesh.Quadratic
	metric       []element.Metric
	upper, lower float64 // squares, from ψ and from φ
	sheets       []sheet
	eta          []float64 // ∫ |Kψ − Kφ|² of each triangle, A²
}

// newSystem assembles and solves for the stream function and the potential. Both
// have the matrix ∫ ∇Ni·∇Nj; they differ in what the rims hold:
//
//	ψ   fixed on the outer rim, one unknown for each hole
//	φ   free, with the even inflow 1/a on an edge of length a; one node is set to 0
func newSystem(p *Plan, m *mesh.Mesh) (*system, error) {
	s := &system{q: m.P2()}
	for _, v := range m.Tris {
		a, b, c := m.Nodes[v[0]], m.Nodes[v[1]], m.Nodes[v[2]]
		g, _ := element.NewMetric(a.X, a.Y, b.X, b.Y, c.X, c.Y)
		s.metric = append(s.metric, g)
	}
	psi, err := s.stream(p, m)
	if err != nil {
		return nil, err
	}
	phi, err := s.potential(p, m)
	if err != nil {
		return nil, err
	}
	s.upper, s.lower = s.energy(psi), s.energy(phi)
	s.flows(psi, phi)
	return s, nil
}

const (
	free  = -1 // not numbered yet
	fixed = -2
)

// solve returns the values of all nodes. unknown names the unknown of each node, or
// fixed with its value in known; load is the right-hand side.
func (s *system) solve(unknown []int32, n int, known, load []float64) ([]float64, error) {
	b := make([]float64, n)
	for node, u := range unknown {
		if u >= 0 {
			b[u] += load[node]
		}
	}
	var rows, cols []int32
	var values []float64
	for t, six := range s.q.Tris {
		k := s.metric[t].Stiffness()
		for i := range 6 {
			ui := unknown[six[i]]
			if ui < 0 {
				continue
			}
			for j := range 6 {
				uj := unknown[six[j]]
				switch {
				case uj < 0:
					b[ui] -= float64(k[i][j] * known[six[j]])
				case ui >= uj:
					rows, cols, values = append(rows, ui), append(cols, uj), append(values, k[i][j])
				}
			}
		}
	}
	pattern, scatter := sparse.NewPattern(n, rows, cols)
	sum := make([]float64, pattern.Len())
	sparse.Assemble(sum, scatter, values)
	factor, err := sparse.FactorNumeric(sparse.Analyse(pattern), sum, nil)
	if err != nil {
		return nil, fmt.Errorf("flow in a plan: factorising %d unknowns: %w", n, err)
	}
	factor.Solve(b, 1)
	out := slices.Clone(known)
	for node, u := range unknown {
		if u >= 0 {
			out[node] = b[u]
		}
	}
	return out, nil
}

// rims calls f for every edge of the rim with its tag and its three nodes.
func (s *system) rims(m *mesh.Mesh, f func(tag mesh.Tag, a, mid, b int32)) {
	for e := range m.Edges {
		edge := &m.Edges[e]
		f(edge.From[0].Tag, edge.A, s.q.Mid[e], edge.B)
	}
}

func (s *system) stream(p *Plan, m *mesh.Mesh) ([]float64, error) {
	n := len(s.q.Nodes)
	unknown, known := make([]int32, n), make([]float64, n)
	for i := range unknown {
		unknown[i] = free
	}
	holes := len(p.Region.Holes)
	ends := map[mesh.Tag][2]geom.Point{}
	ends[tagEntry], ends[tagExit] = edgeOf(p, p.Entry), edgeOf(p, p.Exit)
	s.rims(m, func(tag mesh.Tag, a, mid, b int32) {
		for _, node := range [3]int32{a, mid, b} {
			switch {
			case tag >= tagHole:
				unknown[node] = int32(tag - tagHole)
				continue
			case tag == tagEntry || tag == tagExit:
				// Linear along the end; its corners agree with the rims beside it.
				e := ends[tag]
				d := e[1].Sub(e[0])
				x := s.q.Nodes[node].Sub(e[0]).Dot(d) / d.Dot(d)
				if tag == tagExit {
					x = 1 - x
				}
				known[node] = min(max(x, 0), 1)
			case tag == tagHigh:
				known[node] = 1
			}
			unknown[node] = fixed
		}
	})
	count := int32(holes)
	for i := range unknown {
		if unknown[i] == free {
			unknown[i] = count
			count++
		}
	}
	return s.solve(unknown, int(count), known, make([]float64, n))
}

func edgeOf(p *Plan, i int) [2]geom.Point {
	a, b := p.Region.Outer.Edge(i)
	return [2]geom.Point{a, b}
}

func (s *system) potential(p *Plan, m *mesh.Mesh) ([]float64, error) {
	n := len(s.q.Nodes)
	unknown, known, load := make([]int32, n), make([]float64, n), make([]float64, n)
	s.rims(m, func(tag mesh.Tag, a, mid, b int32) {
		sign, i := 1.0, p.Entry
		switch tag {
		case tagEntry:
		case tagExit:
			sign, i = -1, p.Exit
		default:
			return
		}
		e := edgeOf(p, i)
		// ∫ N over an edge of three nodes: 1/6, 4/6, 1/6 of its length.
		share := sign * s.q.Nodes[b].Sub(s.q.Nodes[a]).Norm() / e[1].Sub(e[0]).Norm()
		load[a] += share / 6
		load[mid] += share * 4 / 6
		load[b] += share / 6
	})
	unknown[0] = fixed
	for i := 1; i < n; i++ {
		unknown[i] = int32(i - 1)
	}
	return s.solve(unknown, n-1, known, load)
}

// energy returns ∫ |∇u|².
func (s *system) energy(u []float64) float64 {
	sum := 0.0
	for t, six := range s.q.Tris {
		k := s.metric[t].Stiffness()
		for i := range 6 {
			for j := range 6 {
				sum += float64(u[six[i]] * k[i][j] * u[six[j]])
			}
		}
	}
	return sum
}

// flows fills sheets and eta.
func (s *system) flows(psi, phi []float64) {
	s.sheets = make([]sheet, len(s.q.Tris))
	s.eta = make([]float64, len(s.q.Tris))
	rule := element.Rule3()
	for t, six := range s.q.Tris {
		a, b, c := s.q.Nodes[six[0]], s.q.Nodes[six[1]], s.q.Nodes[six[2]]
		sh := &s.sheets[t]
		sh.place(a, b, c)
		gp, hp := gradient(a, b, c, six, psi)
		gf, hf := gradient(a, b, c, six, phi)
		// Kψ = (−ψz, ψx), Kφ = −∇φ.
		sh.flow[0] = linear{k: geom.Point{X: -gp.Y, Y: gp.X}, xx: -hp.xy, xz: -hp.yy, zx: hp.xx, zz: hp.xy}
		sh.flow[1] = linear{k: geom.Point{X: -gf.X, Y: -gf.Y}, xx: -hf.xx, xz: -hf.xy, zx: -hf.xy, zz: -hf.yy}
		for _, r := range rule {
			q := a.Scale(1 - r.Xi - r.Eta).Add(b.Scale(r.Xi)).Add(c.Scale(r.Eta))
			d := sh.flow[0].at(q.Sub(sh.centre)).Sub(sh.flow[1].at(q.Sub(sh.centre)))
			s.eta[t] += float64(r.W * 2 * sh.areaM2 * d.Dot(d))
		}
	}
}

type hessian struct{ xx, xy, yy float64 }

// gradient returns the derivatives of u at the centre of a triangle and its second
// derivatives, from those of the shape functions.
func gradient(a, b, c geom.Point, six [6]int32, u []float64) (geom.Point, hessian) {
	// Gradients of the area coordinates.
	double := b.Sub(a).Cross(c.Sub(a))
	var l [3]geom.Point
	for i, e := range [3]geom.Point{c.Sub(b), a.Sub(c), b.Sub(a)} {
		l[i] = geom.Point{X: -e.Y / double, Y: e.X / double}
	}
	var g geom.Point
	var h hessian
	// Ni = λi(2λi−1): at the centre ∇Ni = ∇λi/3, second derivatives 4 ∇λi∇λi.
	// Nij = 4 λi λj: ∇ = 4(∇λi + ∇λj)/3, second derivatives 4(∇λi∇λj + ∇λj∇λi).
	for i := range 3 {
		v := u[six[i]]
		g = g.Add(l[i].Scale(v / 3))
		h.xx += float64(4 * v * l[i].X * l[i].X)
		h.xy += float64(4 * v * l[i].X * l[i].Y)
		h.yy += float64(4 * v * l[i].Y * l[i].Y)
		j := (i + 1) % 3
		v = u[six[3+i]]
		g = g.Add(l[i].Add(l[j]).Scale(4 * v / 3))
		h.xx += float64(8 * v * l[i].X * l[j].X)
		h.xy += float64(4 * v * (float64(l[i].X*l[j].Y) + float64(l[j].X*l[i].Y)))
		h.yy += float64(8 * v * l[i].Y * l[j].Y)
	}
	return g, h
}

// worst marks the triangles that make up the bulk of the error.
//
// Source: W. Dörfler, A convergent adaptive algorithm for Poisson's equation, SIAM
// J. Numer. Anal. 33 (1996) 1106-1124.
func (s *system) worst(all bool) []bool {
	marks := make([]bool, len(s.eta))
	order := make([]int, len(s.eta))
	total := 0.0
	for i, e := range s.eta {
		order[i], marks[i] = i, all
		total += e
	}
	if all {
		return marks
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case s.eta[a] > s.eta[b]:
			return -1
		case s.eta[a] < s.eta[b]:
			return 1
		}
		return 0
	})
	sum := 0.0
	for _, i := range order {
		if sum >= bulk*total {
			break
		}
		marks[i] = true
		sum += s.eta[i]
	}
	return marks
}
