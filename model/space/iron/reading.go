package iron

import (
	"math"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/si"
)

// tensor is a 3 × 3 matrix, row by row.
type tensor [9]float64

func (t *tensor) times(v geom.Point3) geom.Point3 {
	return geom.Point3{
		X: t[0]*v.X + t[1]*v.Y + t[2]*v.Z,
		Y: t[3]*v.X + t[4]*v.Y + t[5]*v.Z,
		Z: t[6]*v.X + t[7]*v.Y + t[8]*v.Z,
	}
}

// dipoleFactor is the distance, in those of nearM, from which the octupole of a
// tetrahedron is below a thousandth of its dipole.
const dipoleFactor = 2.5

// scatter returns the field in A/m at r of the tetrahedra magnetised by each of mags.
// Far ones by dipole and octupole,
//
//	H = (V/4π) ∇∇[1/R + (3/2) d·Qd/R⁵] M
//
// near ones by the closed form of their faces, very far ones by the dipole alone.
func (m *tetra) scatter(r geom.Point3, mags [][]geom.Point3) []geom.Point3 {
	// Always in as many parts, added in their order: the sum does not hang on the number
	// of processors.
	var parts [scatterParts][]geom.Point3
	parallel.Each(scatterParts, maxWorkers, func(_, k int) {
		n := len(m.tets)
		parts[k] = m.scatterOf(r, mags, k*n/scatterParts, (k+1)*n/scatterParts)
	})
	out := parts[0]
	for _, p := range parts[1:] {
		for k := range out {
			out[k] = out[k].Add(p[k])
		}
	}
	return out
}

const scatterParts = 4

// scatterOf is scatter for the tetrahedra from ≤ e < to.
func (m *tetra) scatterOf(r geom.Point3, mags [][]geom.Point3, from, to int) []geom.Point3 {
	out := make([]geom.Point3, len(mags))
	faces := m.faceValues()
	defer m.seen.Put(faces)
	for e := from; e < to; e++ {
		d := r.Sub(m.centre[e])
		r2 := d.Dot(d)
		var t tensor
		n := m.nearM[e]
		if r2 < n*n {
			for _, f := range m.tetFaces[e] {
				if faces.stamp[f] != faces.epoch {
					c := &m.faces[f]
					faces.stamp[f] = faces.epoch
					faces.value[f] = triangleField(r, m.nodes[c[0]], m.nodes[c[1]], m.nodes[c[2]], m.normal[f])
				}
				v := faces.value[f]
				n := m.normal[f]
				if m.sides[f][0] != int32(e) {
					n = n.Scale(-1)
				}
				for i, x := range [3]float64{v.X, v.Y, v.Z} {
					t[3*i] += perFourPi * x * n.X
					t[3*i+1] += perFourPi * x * n.Y
					t[3*i+2] += perFourPi * x * n.Z
				}
			}
		} else if i2 := 1 / r2; r2 > dipoleFactor*dipoleFactor*n*n {
			f := perFourPi * m.vol[e] * i2 * math.Sqrt(i2)
			dd := 3 * f * i2
			for k := range mags {
				v := &mags[k][e]
				s := dd * (d.X*v.X + d.Y*v.Y + d.Z*v.Z)
				o := &out[k]
				o.X += s*d.X - f*v.X
				o.Y += s*d.Y - f*v.Y
				o.Z += s*d.Z - f*v.Z
			}
			continue
		} else {
			q := &m.second[e]
			w := geom.Point3{X: q[0]*d.X + q[3]*d.Y + q[4]*d.Z, Y: q[3]*d.X + q[1]*d.Y + q[5]*d.Z, Z: q[4]*d.X + q[5]*d.Y + q[2]*d.Z}
			f := perFourPi * m.vol[e] * i2 * math.Sqrt(i2)
			s := w.Dot(d) * i2 * i2
			// ∇∇(1/R) = (3 dd/R² − 1)/R³; ∇∇(s R⁻⁵) with s = d·Qd.
			dd := f * i2 * (3 + 52.5*s)
			id := -f * (1 + 7.5*s)
			qq := 3 * f * i2
			wd := -15 * f * i2 * i2
			t[0] = dd*d.X*d.X + id + qq*q[0] + 2*wd*w.X*d.X
			t[4] = dd*d.Y*d.Y + id + qq*q[1] + 2*wd*w.Y*d.Y
			t[8] = dd*d.Z*d.Z + id + qq*q[2] + 2*wd*w.Z*d.Z
			t[1] = dd*d.X*d.Y + qq*q[3] + wd*(w.X*d.Y+d.X*w.Y)
			t[2] = dd*d.X*d.Z + qq*q[4] + wd*(w.X*d.Z+d.X*w.Z)
			t[5] = dd*d.Y*d.Z + qq*q[5] + wd*(w.Y*d.Z+d.Y*w.Z)
			t[3], t[6], t[7] = t[1], t[2], t[5]
		}
		for k := range mags {
			out[k] = out[k].Add(t.times(mags[k][e]))
		}
	}
	return out
}

// faceValues is what a reading knows of the faces near its place: each serves two
// tetrahedra.
type faceValues struct {
	stamp []int32 // epoch in which the value was set
	value []geom.Point3
	epoch int32
}

// faceValues returns a table in which no face has a value.
func (m *tetra) faceValues() *faceValues {
	f, ok := m.seen.Get().(*faceValues)
	if !ok {
		return &faceValues{make([]int32, len(m.faces)), make([]geom.Point3, len(m.faces)), 1}
	}
	f.epoch++
	if f.epoch < 0 { // once round: old stamps could be taken for new ones
		clear(f.stamp)
		f.epoch = 1
	}
	return f
}

// holder returns the tetrahedron that holds r, -1 when none does.
func (m *tetra) holder(r geom.Point3) int {
	const tol = 1e-9
	for e := range m.tets {
		d := r.Sub(m.centre[e])
		reach := m.nearM[e] / nearFactor
		if d.Dot(d) > reach*reach*(1+tol) {
			continue
		}
		in := true
		for k := range 4 {
			if 0.25+m.grad[e][k].Dot(d) < -tol {
				in = false
				break
			}
		}
		if in {
			return e
		}
	}
	return -1
}

// at returns the flux density of every source at r, T. air is what each source has
// there in empty space.
func (a *answer) at(r geom.Point3, air []geom.Point3) []geom.Point3 {
	m := a.l.m
	if e := m.holder(r); e >= 0 {
		out := make([]geom.Point3, len(air))
		for s := range out {
			out[s] = a.b[0][s][e]
		}
		return out
	}
	if m.mirror {
		if e := m.holder(m.reflect(r)); e >= 0 {
			out := make([]geom.Point3, len(air))
			for s := range out {
				out[s] = flip(a.b[1][s][e])
			}
			return out
		}
	}
	out := m.scatter(r, a.mag[0])
	var below []geom.Point3
	if m.mirror {
		below = m.scatter(m.reflect(r), a.mag[1])
	}
	for s := range out {
		if below != nil {
			out[s] = out[s].Add(flip(below[s]))
		}
		out[s] = air[s].Add(out[s].Scale(si.Mu0HPerM))
	}
	return out
}

// reading is the field of one source at a point with its bound.
type reading struct {
	b      geom.Point3
	boundT float64
	mesh   [2]geom.Point3 // coarse, fine
}

// memo keeps readings by their place.
type memo struct {
	mu   sync.Mutex
	kept map[geom.Point3][]reading
}

const keptPlaces = 4096

// at returns what is kept of q, else what made returns, which is kept. Two calls at
// once may both make it; they make the same.
func (c *memo) at(q geom.Point3, made func() []reading) []reading {
	c.mu.Lock()
	r, ok := c.kept[q]
	c.mu.Unlock()
	if ok {
		return r
	}
	r = made()
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kept == nil || len(c.kept) >= keptPlaces {
		c.kept = map[geom.Point3][]reading{}
	}
	c.kept[q] = r
	return r
}

// B returns the flux density at q of a source, iron and source together, in tesla per
// unit of the source, and a bound of its error as the length of a vector. Inside the
// iron it is that of the cell which holds q, which is of lower order. Safe for
// concurrent use; all sources are computed at once and remembered.
func (l *Linear) B(q geom.Point3, source int) (b geom.Point3, boundT float64) {
	r := l.reading(q)[source]
	return r.b, r.boundT
}

func (l *Linear) reading(q geom.Point3) []reading {
	return l.kept.at(q, func() []reading { return readings(&l.levels, l.scale, q, l.sources) })
}

func readings(levels *[2]*answer, scale float64, q geom.Point3, sources []Source) []reading {
	air := make([]geom.Point3, len(sources))
	for s, src := range sources {
		air[s] = src(q)
	}
	coarse, fine := levels[0].at(q, air), levels[1].at(q, air)
	out := make([]reading, len(sources))
	for s := range out {
		out[s].b, out[s].boundT = limit3(coarse[s], fine[s], fine[s].Sub(air[s]).Norm(), scale)
		out[s].mesh = [2]geom.Point3{coarse[s], fine[s]}
	}
	return out
}
