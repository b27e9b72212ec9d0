package eddy

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/sparse"
)

// potentials is what the geometry of a mesh decides of scalar potentials on it, for one parity: see permeable.
type potentials struct {
	m      *mesh
	p      parity
	mean   [][12]geom.Point3 // ∫W dV of each cell's edges, m²
	mass   [][12][12]float64 // ∫W·W' dV, m
	outer  []int32           // number of each node among those of the surface, -1 for none
	inner  []int32           // the same within
	counts [2]int            // of outer, of inner
	sides  []panel
	dense  *sparse.Factor[float64] // see density
	pull   []float32               // by outer node, the potential there of ∇φ in the cells, for one at each node
	layer  []float32               // by outer node, the potential there of the flux that leaves at each of them, 1/m
}

func newPotentials(m *mesh, p parity) (*potentials, error) {
	y := &potentials{m: m, p: p, mean: make([][12]geom.Point3, len(m.cells)), mass: make([][12][12]float64, len(m.cells))}
	for c := range m.cells {
		y.mean[c], y.mass[c] = m.whitney(c)
	}
	y.number()
	y.sides = m.panels()
	var err error
	if y.dense, err = y.density(); err != nil {
		return nil, err
	}
	y.fill()
	return y, nil
}

// whitney returns the integrals of the edge elements of a cell and of their products.
func (m *mesh) whitney(c int) (mean [12]geom.Point3, mass [12][12]float64) {
	b := &m.body[c]
	for i, xi := range rule2 {
		volume := b.weight[i] * b.volume
		var w [12]geom.Point3
		for k := range 3 {
			n := b.across[i][k].Scale(1 / (8 * volume)) // gradient of the reference coordinate
			u, v := xi[(k+1)%3], xi[(k+2)%3]
			for q, f := range [4]float64{(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v} {
				w[4*k+q] = n.Scale(f)
			}
		}
		for e := range w {
			mean[e] = mean[e].Add(w[e].Scale(volume))
			for g := range w {
				mass[e][g] += float64(volume * w[e].Dot(w[g]))
			}
		}
	}
	return mean, mass
}

// ends returns the nodes of an edge of cell c.
func (m *mesh) ends(c, e int) (from, to int32) {
	return m.cells[c][edgeOf[e][0]], m.cells[c][edgeOf[e][1]]
}

// number tells the nodes of the surface from those within. Where potentials are odd about a mirror its nodes have none.
func (y *potentials) number() {
	m := y.m
	y.outer, y.inner = make([]int32, len(m.nodes)), make([]int32, len(m.nodes))
	on := make([]bool, len(m.nodes))
	for _, f := range m.surface(through) {
		for _, n := range f {
			on[n] = true
		}
	}
	for n := range m.nodes {
		y.outer[n], y.inner[n] = -1, -1
		switch {
		case y.image() < 0 && m.nodes[n].Z == m.midM:
		case on[n]:
			y.outer[n] = int32(y.counts[0])
			y.counts[0]++
		default:
			y.inner[n] = int32(y.counts[1])
			y.counts[1]++
		}
	}
}

// image is the sign of the potential below the mirror, 0 without one.
func (y *potentials) image() float64 {
	switch {
	case !y.m.mirror:
		return 0
	case y.p == through:
		return 1
	}
	return -1
}

// below returns the image of r in the mirror.
func (m *mesh) below(r geom.Point3) geom.Point3 {
	r.Z = 2*m.midM - r.Z
	return r
}

// fill makes pull and layer.
func (y *potentials) fill() {
	m, sign := y.m, y.image()
	places := make([]geom.Point3, y.counts[0])
	for n, o := range y.outer {
		if o >= 0 {
			places[o] = m.nodes[n]
		}
	}
	n, all := len(places), len(m.nodes)
	y.pull, y.layer = make([]float32, n*all), make([]float32, n*n)
	rooms := rooms(all)
	parallel.Each(n, len(rooms), func(w, i int) {
		r := places[i]
		row := rooms[w]
		clear(row)
		for c := range m.body {
			v := m.body[c].surface(r)
			if sign != 0 {
				v = v.Add(m.body[c].surface(m.below(r)).Scale(sign))
			}
			for e := range 12 {
				a, b := m.ends(c, e)
				f := v.Dot(y.mean[c][e]) / (4 * math.Pi)
				row[a] -= f
				row[b] += f
			}
		}
		single(y.pull[i*all:], row)
		row = row[:n]
		clear(row)
		for k := range y.sides {
			p := &y.sides[k]
			v := p.potential(r)
			if sign != 0 {
				v += float64(sign * p.potential(m.below(r)))
			}
			for a, f := range p.share {
				if o := y.outer[p.nodes[a]]; o >= 0 {
					row[o] += f * v / (4 * math.Pi)
				}
			}
		}
		y.dense.Solve(row, 1)
		single(y.layer[i*n:], row)
	})
}

// rooms returns a row of n numbers for each of the workers of a loop.
func rooms(n int) [8][]float64 {
	var out [8][]float64
	for w := range out {
		out[w] = make([]float64, n)
	}
	return out
}

// single sets out to v in single precision, of which seven digits are far more than integrals over cells have.
func single(out []float32, v []float64) {
	for i, x := range v {
		out[i] = float32(x)
	}
}
