package eddy

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/model/work"
)

// Currents are the eddy currents of one frequency, for some sources each by itself.
type Currents struct {
	FreqHz float64
	levels [2]flows // of each mesh
	count  int
	err    error
}

// Err returns why there are no currents, a *work.Over; nil where there are.
func (c *Currents) Err() error { return c.err }

// flows are the currents of one mesh, one for each parity.
type flows []flow

type flow struct {
	work    *work.Budget
	y       *system
	moments [][]vec3       // of each combination, of the cells: ∫J dV in A·m; with iron see permeable.moments
	leaves  [][]complex128 // of each combination, of the outer nodes: see permeable.moments
}

type vec3 [3]complex128

// At returns the currents at freqHz per unit of combined sources: row i of weights holds
// the share of each source in combination i.
func (r *Response) At(freqHz float64, weights [][]complex128) *Currents {
	return r.Against(r, freqHz, weights)
}

// Against is At with all that differs from steady sources beside the iron of base, the answer of the same problem to the
// same sources: the eddy currents, what iron answers to them, what it answers to sources that come in small amounts, and
// to the others what it answers beyond that of base.
func (r *Response) Against(base *Response, freqHz float64, weights [][]complex128) *Currents {
	c := &Currents{FreqHz: freqHz, count: len(weights)}
	for k := range r.parts {
		for i, p := range r.parts[k] {
			f, err := p.at(freqHz, weights, base.parts[k][i])
			if err != nil {
				c.err = err
				return c
			}
			c.levels[k] = append(c.levels[k], f)
		}
	}
	return c
}

// B returns the flux density of the eddy currents at q for combination i in tesla, and the
// half-width of its error.
func (c *Currents) B(q geom.Point3, i int) (bT [3]complex128, boundT float64) {
	return limit(c.rough(0, q, i), c.rough(1, q, i), c.iron())
}

// iron reports whether some piece is magnetic.
func (c *Currents) iron() bool { return len(c.levels[1]) > 0 && c.levels[1][0].y.iron != nil }

// rough returns the flux density of one mesh.
func (c *Currents) rough(level int, q geom.Point3, i int) vec3 {
	each := make([]vec3, c.count)
	for f := range c.levels[level] {
		c.levels[level][f].all(q, each)
	}
	return each[i]
}

// all adds the flux density at q of every combination to b.
func (f *flow) all(q geom.Point3, b []vec3) {
	f.work.Spend(float64(len(f.y.m.body)) * (readingSteps + float64(10*float64(len(b)))))
	if f.y.iron != nil {
		f.ofIron(q, b)
		return
	}
	m := f.y.m
	under := q
	under.Z = 2*m.midM - q.Z
	sum := make([]vec3, len(b))
	for c := range m.body {
		s := m.body[c].surface(q)
		for i := range sum {
			sum[i].add(&f.moments[i][c], s)
		}
		if !m.mirror {
			continue
		}
		// The image: seen from the image of q, mirrored back. Its currents across are those of
		// the cell or their opposite, those along z the other way.
		s = m.body[c].surface(under)
		s.Z = -s.Z
		if f.y.p == through {
			s = s.Scale(-1)
		}
		for i := range sum {
			j := f.moments[i][c]
			sum[i].add(&vec3{j[0], j[1], -j[2]}, s)
		}
	}
	for i := range b {
		for k := range b[i] {
			b[i][k] += portable.Times(sum[i][k], mu0Over4Pi)
		}
	}
}

// ofIron is all where moments are magnetic.
func (f *flow) ofIron(q geom.Point3, b []vec3) {
	m, sign := f.y.m, f.y.iron.image()
	under := q
	under.Z = 2*m.midM - q.Z
	sum := make([]vec3, len(b))
	for c := range m.body {
		d := m.body[c].dyad(q)
		if sign != 0 { // the image: seen from the image of q, mirrored back
			for k, v := range m.body[c].dyad(under) {
				d[k] = d[k].Add(geom.Point3{X: v.X, Y: v.Y, Z: -v.Z}.Scale(sign))
			}
		}
		for i := range sum {
			for k, v := range f.moments[i][c] {
				sum[i][0] += complex(float64(real(v)*d[k].X), float64(imag(v)*d[k].X))
				sum[i][1] += complex(float64(real(v)*d[k].Y), float64(imag(v)*d[k].Y))
				sum[i][2] += complex(float64(real(v)*d[k].Z), float64(imag(v)*d[k].Z))
			}
		}
	}
	for k := range f.y.iron.sides {
		p := &f.y.iron.sides[k]
		d := p.field(q)
		if sign != 0 {
			v := p.field(under)
			d = d.Add(geom.Point3{X: v.X, Y: v.Y, Z: -v.Z}.Scale(sign))
		}
		d = d.Scale(1 / (4 * math.Pi))
		for i := range sum {
			v := f.y.iron.at(p, f.leaves[i])
			sum[i][0] += portable.Times(v, complex(d.X, 0))
			sum[i][1] += portable.Times(v, complex(d.Y, 0))
			sum[i][2] += portable.Times(v, complex(d.Z, 0))
		}
	}
	for i := range b {
		for k := range b[i] {
			b[i][k] += portable.Times(sum[i][k], si.Mu0HPerM)
		}
	}
}

// at returns the density on a panel.
func (y *potentials) at(p *panel, density []complex128) (v complex128) {
	for a, n := range p.nodes {
		if o := y.outer[n]; o >= 0 {
			v += portable.Times(density[o], complex(p.share[a], 0))
		}
	}
	return v
}

// add adds j × s.
func (b *vec3) add(j *vec3, s geom.Point3) {
	b[0] += complex(float64(real(j[1])*s.Z)-float64(real(j[2])*s.Y), float64(imag(j[1])*s.Z)-float64(imag(j[2])*s.Y))
	b[1] += complex(float64(real(j[2])*s.X)-float64(real(j[0])*s.Z), float64(imag(j[2])*s.X)-float64(imag(j[0])*s.Z))
	b[2] += complex(float64(real(j[0])*s.Y)-float64(real(j[1])*s.X), float64(imag(j[0])*s.Y)-float64(imag(j[1])*s.X))
}

func (b vec3) norm() float64 {
	return portable.Hypot(portable.Hypot(portable.Abs(b[0]), portable.Abs(b[1])), portable.Abs(b[2]))
}

// All returns B of every combination at q.
func (c *Currents) All(q geom.Point3) (bT [][3]complex128, boundT []float64) {
	var each [2][]vec3
	for l := range c.levels {
		each[l] = make([]vec3, c.count)
		for f := range c.levels[l] {
			c.levels[l][f].all(q, each[l])
		}
	}
	for i := range c.count {
		b, e := limit(each[0][i], each[1][i], c.iron())
		bT, boundT = append(bT, b), append(boundT, e)
	}
	return bT, boundT
}
