package iron

import (
	"cmp"
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/si"
)

// drive is what a source does to the iron of one mesh: a potential at the nodes, and
// what of the field has none.
type drive struct {
	phi  []float64     // A; the field is −∇phi + rest + ring
	rest []geom.Point3 // A/m in each tetrahedron; nil when the source has a potential in the iron
	ring []geom.Point3 // of the field besides, that of a current through closed rings, A/m; see swirl; nil without
}

const (
	restShare       = 3e-5 // of the largest field: circulation below this is quadrature error
	lookedAt        = 96   // edges that tell whether the quadrature is fine enough, and
	quadratureShare = 0.03 // of what they keep that it may be off by
	evenShare       = 1e-9 // of the largest field: difference to the mirror image below this is rounding
	fitSteps        = 4000
	fitResidue      = 1e-13
)

// Gauss points of order 7 on −1 … 1 (M. Abramowitz, I. A. Stegun, Handbook of
// Mathematical Functions, table 25.4).
var (
	gaussAt     = [4]float64{-0.861136311594053, -0.339981043584856, 0.339981043584856, 0.861136311594053}
	gaussWeight = [4]float64{0.347854845137454, 0.652145154862546, 0.652145154862546, 0.347854845137454}
)

// parities says whether a source has an even and an odd part about the mirror, looked at
// in a choice of nodes.
func (m *tetra) parities(src Source) (hasEven, hasOdd bool) {
	step := max(1, len(m.nodes)/64)
	var largest, evenT, oddT float64
	for i := 0; i < len(m.nodes); i += step {
		// Off the nodes a little, so that no symmetry of the mesh hides a part.
		r := m.nodes[i].Add(m.nodes[(i+1)%len(m.nodes)].Sub(m.nodes[i]).Scale(0.37))
		b, c := src(r), flip(src(m.reflect(r)))
		largest = math.Max(largest, b.Norm())
		evenT = math.Max(evenT, b.Add(c).Norm())
		oddT = math.Max(oddT, b.Sub(c).Norm())
	}
	return evenT > evenShare*largest, oddT > evenShare*largest
}

// along returns ∫ H·dl along an edge, from its lower to its higher end, in A, the edge
// taken in so many parts.
func (m *tetra) along(edge [2]int32, parts int, src Source) float64 {
	a, b := m.nodes[edge[0]], m.nodes[edge[1]]
	half := b.Sub(a).Scale(0.5 / float64(parts))
	sum := 0.0
	for j := range 4 * parts {
		k := j % 4
		r := a.Add(half.Scale(float64(2*(j/4)+1) + gaussAt[k]))
		sum += float64(gaussWeight[k] * src(r).Dot(half))
	}
	return sum / si.Mu0HPerM
}

// circulation returns the line integrals along every edge.
func (m *tetra) circulation(src Source, parts int) []float64 {
	out := make([]float64, len(m.edges))
	parallel.Each(len(m.edges), maxWorkers, func(_, i int) { out[i] = m.along(m.edges[i], parts, src) })
	return out
}

// splitCirculation returns those of the even and of the odd part of a source about the
// mirror.
func (m *tetra) splitCirculation(src Source, parts int) (both [2][]float64) {
	both[even], both[odd] = make([]float64, len(m.edges)), make([]float64, len(m.edges))
	parallel.Each(len(m.edges), maxWorkers, func(_, i int) {
		own := m.along(m.edges[i], parts, src)
		image := m.along(m.edges[i], parts, func(r geom.Point3) geom.Point3 { return flip(src(m.reflect(r))) })
		both[even][i], both[odd][i] = (own+image)/2, (own-image)/2
	})
	return both
}

// drive returns potential and rest of a source. The potential is fitted to the line
// integrals by least squares of the mean field along the edges; what is left on them is
// carried into the tetrahedra by the lowest edge elements, at the centre.
//
// Source: H. Whitney's forms as edge elements: A. Bossavit, IEE Proc. A 135 (1988) 493.
func (m *tetra) drive(src mix, par parity, split bool) (drive, error) {
	var fixed []bool
	if m.mirror && par == odd {
		fixed = make([]bool, len(m.nodes))
		for i, p := range m.nodes {
			fixed[i] = p.Z == m.midM
		}
	}
	raw := src.circulation(m, par, split, 1)
	c, ring := m.swirl(raw, par)
	d, left, rest, err := m.potential(c, fixed)
	if err == nil && slices.Contains(rest, true) && m.coarselyTaken(src, par, split, raw, left) {
		c, ring = m.swirl(src.circulation(m, par, split, 4), par)
		d, left, rest, err = m.potential(c, fixed)
	}
	d.ring = ring
	if err != nil {
		return d, err
	}
	for e := range m.tets {
		p := m.piece[e]
		if !rest[p] {
			continue
		}
		if d.rest == nil {
			d.rest = make([]geom.Point3, len(m.tets))
		}
		t := &m.tets[e]
		for k, ends := range edgeEnds {
			a, b := ends[0], ends[1]
			w := 0.25 * left[m.tetEdges[e][k]]
			if t[a] > t[b] {
				w = -w
			}
			d.rest[e] = d.rest[e].Add(m.grad[e][b].Sub(m.grad[e][a]).Scale(w))
		}
	}
	return d, nil
}

// coarselyTaken reports whether what is left on the edges may be quadrature error: it
// takes those that keep most in more parts.
func (m *tetra) coarselyTaken(src mix, par parity, split bool, first, left []float64) bool {
	per := func(i int, v float64) float64 {
		return math.Abs(v) / m.nodes[m.edges[i][0]].Sub(m.nodes[m.edges[i][1]]).Norm()
	}
	order := make([]int, len(left))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(per(j, left[j]), per(i, left[i])) })
	worst := order[:min(lookedAt, len(order))]
	for k, c := range src.check(m, par, split, 4, worst) {
		if i := worst[k]; per(i, c-first[i]) > quadratureShare*per(i, left[i]) {
			return true
		}
	}
	return false
}

// potential fits the circulations and returns what is left on each edge, and which
// pieces keep more than rounding and quadrature leave.
func (m *tetra) potential(c []float64, fixed []bool) (d drive, left []float64, rest []bool, err error) {
	length := make([]float64, len(c))
	largest, most := make([]float64, m.pieces), make([]float64, m.pieces)
	for i, e := range m.edges {
		length[i] = m.nodes[e[0]].Sub(m.nodes[e[1]]).Norm()
		h := math.Abs(c[i]) / length[i]
		if math.IsNaN(h) || math.IsInf(h, 0) {
			return d, nil, nil, &InputError{What: "the field of a source is not finite in the iron"}
		}
		p := m.nodePiece[e[0]]
		largest[p] = math.Max(largest[p], h)
	}
	d.phi = m.fit(c, length, fixed)
	if fixed == nil { // the same zero on every mesh: the first node of each piece
		for _, r := range m.nodeRange {
			zero := d.phi[r[0]]
			for i := r[0]; i < r[1]; i++ {
				d.phi[i] -= zero
			}
		}
	}
	left = make([]float64, len(c))
	for i, e := range m.edges {
		left[i] = c[i] - d.phi[e[0]] + d.phi[e[1]]
		p := m.nodePiece[e[0]]
		most[p] = math.Max(most[p], math.Abs(left[i])/length[i])
	}
	rest = make([]bool, m.pieces)
	for p := range rest {
		rest[p] = most[p] > restShare*largest[p]
	}
	return d, left, rest, nil
}

// fit returns the potential that minimises Σ ((c + φ_b − φ_a)/L)² over the edges, by
// conjugate gradients scaled by the diagonal. Potentials of separate pieces float; a
// constant changes nothing.
func (m *tetra) fit(c, length []float64, fixed []bool) []float64 {
	n := len(m.nodes)
	w := make([]float64, len(c))
	diag := make([]float64, n)
	r := make([]float64, n)
	for i, e := range m.edges {
		w[i] = 1 / (length[i] * length[i])
		diag[e[0]] += w[i]
		diag[e[1]] += w[i]
		r[e[0]] += float64(w[i] * c[i])
		r[e[1]] -= float64(w[i] * c[i])
	}
	hold := func(v []float64) {
		for i := range fixed {
			if fixed[i] {
				v[i] = 0
			}
		}
	}
	hold(r)
	x, z, p, q := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	precondition := func() (rz float64) {
		for i := range z {
			z[i] = r[i] / diag[i]
			rz += float64(r[i] * z[i])
		}
		return rz
	}
	rz := precondition()
	start := rz
	copy(p, z)
	for range fitSteps {
		if !(rz > fitResidue*fitResidue*start) {
			break
		}
		clear(q)
		for i, e := range m.edges {
			v := float64(w[i] * (p[e[0]] - p[e[1]]))
			q[e[0]] += v
			q[e[1]] -= v
		}
		hold(q)
		pq := 0.0
		for i := range p {
			pq += float64(p[i] * q[i])
		}
		if !(pq > 0) {
			break
		}
		alpha := rz / pq
		for i := range x {
			x[i] += float64(alpha * p[i])
			r[i] -= float64(alpha * q[i])
		}
		next := precondition()
		beta := next / rz
		rz = next
		for i := range p {
			p[i] = z[i] + float64(beta*p[i])
		}
	}
	return x
}
