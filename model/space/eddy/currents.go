package eddy

import (
	"math"
	"math/cmplx"

	"busgauss/model/geom"
)

// Currents are the eddy currents of one frequency, for some sources each by itself.
type Currents struct {
	FreqHz float64
	levels [2]flows // of each mesh
	count  int
}

// flows are the currents of one mesh, one for each parity.
type flows []flow

type flow struct {
	y       *system
	y0      [][]complex128 // of each source, in the vectors of g
	g       *reduction
	moments [][]vec3 // of each source, of the cells: ∫J dV in A·m
}

type vec3 [3]complex128

// At returns the currents at freqHz per unit of combined sources: row i of weights holds
// the share of each source in combination i.
func (r *Response) At(freqHz float64, weights [][]complex128) *Currents {
	c := &Currents{FreqHz: freqHz, count: len(weights)}
	for k := range r.parts {
		for _, p := range r.parts[k] {
			f := flow{y: p.g.y, g: p.g}
			each := p.at(freqHz)
			for _, w := range weights {
				sum := make([]complex128, len(each[0]))
				for s, a := range w {
					if a == 0 {
						continue
					}
					for i, v := range each[s] {
						sum[i] += a * v
					}
				}
				f.y0 = append(f.y0, sum)
				m := make([]vec3, len(p.g.y.m.cells))
				for i, v := range sum {
					for j, x := range p.g.moments[i] {
						m[j/3][j%3] += v * complex(x, 0)
					}
				}
				f.moments = append(f.moments, m)
			}
			c.levels[k] = append(c.levels[k], f)
		}
	}
	return c
}

// B returns the flux density of the eddy currents at q for combination i in tesla, and the
// half-width of its error.
func (c *Currents) B(q geom.Point3, i int) (bT [3]complex128, boundT float64) {
	return limit(c.rough(0, q, i), c.rough(1, q, i))
}

// rough returns the flux density of one mesh.
func (c *Currents) rough(level int, q geom.Point3, i int) (b vec3) {
	for f := range c.levels[level] {
		v := c.levels[level][f].b(q, i)
		for k := range b {
			b[k] += v[k]
		}
	}
	return b
}

func (f *flow) b(q geom.Point3, i int) (b vec3) {
	m := f.y.m
	under := q
	under.Z = 2*m.midM - q.Z
	for c := range m.body {
		j := &f.moments[i][c]
		b.add(j, m.body[c].surface(q), 1)
		if m.mirror {
			// The image: seen from the image of q, mirrored back.
			s := m.body[c].surface(under)
			s.Z = -s.Z
			n := vec3{j[0], j[1], -j[2]}
			if f.y.p == through {
				n = vec3{-j[0], -j[1], j[2]}
			}
			b.add(&n, s, 1)
		}
	}
	for k := range b {
		b[k] *= mu0Over4Pi
	}
	return b
}

// add adds j × s.
func (b *vec3) add(j *vec3, s geom.Point3, f float64) {
	x, y, z := complex(s.X*f, 0), complex(s.Y*f, 0), complex(s.Z*f, 0)
	b[0] += j[1]*z - j[2]*y
	b[1] += j[2]*x - j[0]*z
	b[2] += j[0]*y - j[1]*x
}

func (b vec3) norm() float64 {
	return math.Hypot(math.Hypot(cmplx.Abs(b[0]), cmplx.Abs(b[1])), cmplx.Abs(b[2]))
}

// Linkage returns the flux that combination i makes through source k by the eddy currents, in
// Wb per unit of both: with the currents of unit sources −jω times it adds to the voltage of k.
func (c *Currents) Linkage(i, k int) (wb complex128, bound float64) {
	var at [2]complex128
	for l := range c.levels {
		for f := range c.levels[l] {
			w := &c.levels[l][f]
			sum := complex(0, 0)
			for j, v := range w.y0[i] {
				sum += v * complex(dot(w.g.v[j], w.g.b[k]), 0)
			}
			if w.y.m.mirror {
				sum *= 2
			}
			at[l] += sum
		}
	}
	d := at[1] - at[0]
	wb = at[1] + d*complex(limitStep, 0)
	return wb, boundShare*cmplx.Abs(d) + boundFloor*cmplx.Abs(wb)
}

// Moment returns the magnetic dipole moment ½∫ r × J dV about centre for combination i in A·m².
func (c *Currents) moment(level int, centre geom.Point3, i int) (out vec3) {
	for n := range c.levels[level] {
		f := &c.levels[level][n]
		for k := range f.y.m.body {
			r := f.y.m.body[k].centre.Sub(centre)
			j := f.moments[i][k]
			neg := vec3{-j[0] / 2, -j[1] / 2, -j[2] / 2}
			out.add(&neg, r, 1) // −j × r = r × j
			if f.y.m.mirror {
				o := vec3{neg[0], neg[1], -neg[2]}
				if f.y.p == through {
					o = vec3{-neg[0], -neg[1], neg[2]}
				}
				r.Z = 2*(f.y.m.midM-centre.Z) - r.Z
				out.add(&o, r, 1)
			}
		}
	}
	return out
}
