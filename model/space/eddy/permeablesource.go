package eddy

import (
	"fmt"

	"busgauss/model/parallel"
	"busgauss/model/si"
	"busgauss/model/sparse"
)

// skin is the surface of the magnetic pieces of a mesh as a graph of edges, from which potentials of sources are told.
type skin struct {
	m     *mesh
	edges [][2]int32
}

func newSkin(y *permeable) *skin {
	s := &skin{m: y.m}
	magnetic := y.magneticNodes()
	seen := map[[2]int32]bool{}
	for _, f := range s.m.surface(through) {
		if !magnetic[f[0]] {
			continue
		}
		for i := range 4 {
			a, b := f[i], f[(i+1)%4]
			k := [2]int32{min(a, b), max(a, b)}
			if !seen[k] {
				seen[k] = true
				s.edges = append(s.edges, k)
			}
		}
	}
	return s.bridged()
}

// bridged adds an edge between the surfaces of a piece with a cavity, which share no other.
func (s *skin) bridged() *skin {
	whole, apart := newUnion(len(s.m.nodes)), newUnion(len(s.m.nodes))
	for _, c := range s.m.cells {
		for _, n := range c {
			whole.join(c[0], n)
		}
	}
	for _, e := range s.edges {
		apart.join(e[0], e[1])
	}
	first := map[int32]int32{}
	for _, e := range s.edges {
		piece := whole.root(e[0])
		if n, ok := first[piece]; !ok {
			first[piece] = e[0]
		} else if apart.join(n, e[0]) {
			s.edges = append(s.edges, [2]int32{n, e[0]})
		}
	}
	return s
}

// circulations returns ∫H·dl along every edge in A, of a source and of its mirror image.
func (s *skin) circulations(source Source) (own, image []float64) {
	own, image = make([]float64, len(s.edges)), make([]float64, len(s.edges))
	parallel.Each(len(s.edges), 8, func(_, i int) {
		a, b := s.m.nodes[s.edges[i][0]], s.m.nodes[s.edges[i][1]]
		half := b.Sub(a).Scale(0.5)
		for j, x := range gaussAt {
			r := a.Add(half.Scale(1 + x))
			own[i] += gaussWeight[j] * source(r).Dot(half) / si.Mu0HPerM
			if s.m.mirror {
				r.Z = 2*s.m.midM - r.Z
				v := source(r)
				v.Z = -v.Z
				image[i] += gaussWeight[j] * v.Dot(half) / si.Mu0HPerM
			}
		}
	})
	return own, image
}

// Gauss points of order 7 on −1 … 1 (M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, table 25.4).
var (
	gaussAt     = [4]float64{-0.861136311594053, -0.339981043584856, 0.339981043584856, 0.861136311594053}
	gaussWeight = [4]float64{0.347854845137454, 0.652145154862546, 0.652145154862546, 0.347854845137454}
)

// magneticNodes says of each node whether it is one of a magnetic piece.
func (y *permeable) magneticNodes() []bool {
	out := make([]bool, len(y.m.nodes))
	for c, of := range y.m.cells {
		for _, n := range of {
			out[n] = y.mu[c] > 1
		}
	}
	return out
}

// fit finds potentials at the outer nodes of one parity from circulations.
type fit struct {
	s      *skin
	y      *permeable
	weight []float64 // of each edge, 1/m²
	factor *sparse.Factor[float64]
}

// newFit prepares the least squares of the mean field along the edges. One node of each piece is held.
func newFit(s *skin, y *permeable) (*fit, error) {
	f := &fit{s: s, y: y}
	group := newUnion(len(s.m.nodes))
	free := map[int32]bool{} // roots of groups that have no held node yet
	for _, e := range s.edges {
		d := s.m.nodes[e[0]].Sub(s.m.nodes[e[1]])
		f.weight = append(f.weight, 1/d.Dot(d))
		group.join(e[0], e[1])
	}
	var rows, cols []int32
	var values []float64
	add := func(i, j int32, v float64) {
		if i >= 0 && j >= 0 {
			rows, cols, values = append(rows, i), append(cols, j), append(values, v)
		}
	}
	for k, e := range s.edges {
		a, b, w := y.outer[e[0]], y.outer[e[1]], f.weight[k]
		add(a, a, w)
		add(b, b, w)
		add(a, b, -w)
		add(b, a, -w)
	}
	if y.image() >= 0 { // nothing is held by a mirror
		for k, e := range s.edges {
			if r := group.root(e[0]); !free[r] {
				free[r] = true
				add(y.outer[e[0]], y.outer[e[0]], f.weight[k])
			}
		}
	}
	for n, magnetic := range y.magneticNodes() {
		if o := y.outer[n]; !magnetic {
			add(o, o, 1)
		}
	}
	pattern, scatter := sparse.NewPattern(y.counts[0], rows, cols)
	sum := make([]float64, pattern.Len())
	sparse.Assemble(sum, scatter, values)
	var err error
	if f.factor, err = sparse.FactorNumeric(sparse.Analyse(pattern), sum, nil); err != nil {
		return nil, fmt.Errorf("potentials of sources: %w", err)
	}
	return f, nil
}

// potential returns the potential at the outer nodes with these circulations.
func (f *fit) potential(along []float64) []float64 {
	out := make([]float64, f.y.counts[0])
	for k, e := range f.s.edges {
		v := float64(f.weight[k] * along[k]) // φ falls along H
		if a := f.y.outer[e[0]]; a >= 0 {
			out[a] += v
		}
		if b := f.y.outer[e[1]]; b >= 0 {
			out[b] -= v
		}
	}
	f.factor.Solve(out, 1)
	return out
}

// driven returns the answers of the steady iron to sources, for each of the systems of one mesh. Potentials in iron are
// whole, those in other metal are of what answers alone: a bar carries current, and its own field has no potential in it.
func driven(systems []*system, sources []Source) ([][]*held, error) {
	s := newSkin(systems[0].iron)
	out := make([][]*held, len(systems))
	applied := make([][][]float64, len(systems))
	fits := make([]*fit, len(systems))
	for p, y := range systems {
		var err error
		if fits[p], err = newFit(s, y.iron); err != nil {
			return nil, err
		}
	}
	for _, source := range sources {
		own, image := s.circulations(source)
		for p, y := range systems {
			along := own
			if sign := y.iron.image(); sign != 0 {
				along = make([]float64, len(own))
				for i := range along {
					along[i] = (own[i] + float64(sign*image[i])) / 2
				}
			}
			applied[p] = append(applied[p], fits[p].potential(along))
			out[p] = append(out[p], &held{})
		}
	}
	for p, y := range systems {
		y.iron.solve(out[p], applied[p])
	}
	return out, nil
}

// drives returns ∫T·B dV of each unknown in Wb: b of a source in iron, of what answers to it in other metal.
func (y *system) drives(h *held) []float64 {
	out := make([]float64, y.u.n)
	for c := range y.m.cells {
		y.collect(c, y.iron.fluxes(h, c), out)
	}
	return out
}

// collect adds what the edges of a cell have to the unknowns.
func (y *system) collect(c int, edges [12]float64, out []float64) {
	for e, i := range y.u.dof[c] {
		if i >= 0 {
			out[i] += float64(y.u.sign[c][e] * edges[e])
		}
	}
}

// ironInductance is inductance in the presence of iron: ∫T'·μ(T − ∇φ) dV. Its moments are those of permeable.
func (y *system) ironInductance(t [][]float64) (l, moments [][]float64) {
	hs := make([]*held, len(t))
	for k := range t {
		hs[k] = &held{t: make([][12]float64, len(y.m.cells))}
		for c := range y.m.cells {
			for e, i := range y.u.dof[c] {
				if i >= 0 {
					hs[k].t[c][e] = y.u.sign[c][e] * t[k][i]
				}
			}
		}
	}
	y.iron.solve(hs, nil)
	l, moments = make([][]float64, len(t)), make([][]float64, len(t))
	parallel.Each(len(t), 8, func(_, k int) {
		l[k], moments[k] = y.drives(hs[k]), y.iron.moments(hs[k])
	})
	return l, moments
}
