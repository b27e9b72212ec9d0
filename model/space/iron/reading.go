package iron

import (
	"math"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/portable"
)

// tensor is a 3 × 3 matrix, row by row.
type tensor [9]float64

func (t *tensor) times(v geom.Point3) geom.Point3 {
	return geom.Point3{
		X: float64(t[0]*v.X) + float64(t[1]*v.Y) + float64(t[2]*v.Z),
		Y: float64(t[3]*v.X) + float64(t[4]*v.Y) + float64(t[5]*v.Z),
		Z: float64(t[6]*v.X) + float64(t[7]*v.Y) + float64(t[8]*v.Z),
	}
}

// dipoleFactor is the distance, in those of nearM, from which the octupole of a
// tetrahedron is below a thousandth of its dipole.
const dipoleFactor = 2.5

// scatter returns the field in A/m at r of the tetrahedra magnetised by each of mags, by parts of the mesh and then by
// mags. Far ones by dipole and octupole,
//
//	H = (V/4π) ∇∇[1/R + (3/2) d·Qd/R⁵] M
//
// near ones by the closed form of their faces, very far ones by the dipole alone.
func (m *tetra) scatter(r geom.Point3, mags [][]geom.Point3, c cut) []geom.Point3 {
	parts := (len(m.tets) + c.each - 1) / c.each
	out := make([]geom.Point3, parts*len(mags))
	parallel.Each(scatterParts, maxWorkers, func(_, k int) {
		m.scatterOf(r, mags, c, k*parts/scatterParts, (k+1)*parts/scatterParts, out)
	})
	return out
}

const scatterParts = 4

// scatterOf is scatter for the parts from ≤ part < to.
func (m *tetra) scatterOf(r geom.Point3, mags [][]geom.Point3, c cut, from, to int, all []geom.Point3) {
	faces := m.faceValues()
	defer m.seen.Put(faces)
	for i := from * c.each; i < min(to*c.each, len(m.tets)); i++ {
		e := i
		if c.order != nil {
			e = int(c.order[i])
		}
		out := all[i/c.each*len(mags):][:len(mags)]
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
					t[3*i] += float64(perFourPi * x * n.X)
					t[3*i+1] += float64(perFourPi * x * n.Y)
					t[3*i+2] += float64(perFourPi * x * n.Z)
				}
			}
		} else if i2 := 1 / r2; r2 > dipoleFactor*dipoleFactor*n*n {
			f := perFourPi * m.vol[e] * i2 * math.Sqrt(i2)
			dd := 3 * f * i2
			for k := range mags {
				v := &mags[k][e]
				s := dd * (float64(d.X*v.X) + float64(d.Y*v.Y) + float64(d.Z*v.Z))
				o := &out[k]
				o.X += float64(s*d.X) - float64(f*v.X)
				o.Y += float64(s*d.Y) - float64(f*v.Y)
				o.Z += float64(s*d.Z) - float64(f*v.Z)
			}
			continue
		} else {
			q := &m.second[e]
			w := geom.Point3{X: float64(q[0]*d.X) + float64(q[3]*d.Y) + float64(q[4]*d.Z), Y: float64(q[3]*d.X) + float64(q[1]*d.Y) + float64(q[5]*d.Z), Z: float64(q[4]*d.X) + float64(q[5]*d.Y) + float64(q[2]*d.Z)}
			f := perFourPi * m.vol[e] * i2 * math.Sqrt(i2)
			s := w.Dot(d) * i2 * i2
			// ∇∇(1/R) = (3 dd/R² − 1)/R³; ∇∇(s R⁻⁵) with s = d·Qd.
			dd := f * i2 * (3 + float64(52.5*s))
			id := float64(-f * (1 + float64(7.5*s)))
			qq := 3 * f * i2
			wd := float64(-15 * f * i2 * i2)
			t[0] = float64(dd*d.X*d.X) + id + float64(qq*q[0]) + float64(2*wd*w.X*d.X)
			t[4] = float64(dd*d.Y*d.Y) + id + float64(qq*q[1]) + float64(2*wd*w.Y*d.Y)
			t[8] = float64(dd*d.Z*d.Z) + id + float64(qq*q[2]) + float64(2*wd*w.Z*d.Z)
			t[1] = float64(dd*d.X*d.Y) + float64(qq*q[3]) + float64(wd*(float64(w.X*d.Y)+float64(d.X*w.Y)))
			t[2] = float64(dd*d.X*d.Z) + float64(qq*q[4]) + float64(wd*(float64(w.X*d.Z)+float64(d.X*w.Z)))
			t[5] = float64(dd*d.Y*d.Z) + float64(qq*q[5]) + float64(wd*(float64(w.Y*d.Z)+float64(d.Y*w.Z)))
			t[3], t[6], t[7] = t[1], t[2], t[5]
		}
		for k := range mags {
			out[k] = out[k].Add(t.times(mags[k][e]))
		}
	}
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

// Bound is what a field may be off by, in tesla: as the length of a vector, and along x, y and z.
type Bound struct {
	T     float64
	Along geom.Point3
}

// with returns the bound of a phasor from those of its real and its imaginary part.
func (b Bound) with(o Bound) Bound {
	return Bound{portable.Hypot(b.T, o.T), geom.Point3{X: portable.Hypot(b.Along.X, o.Along.X),
		Y: portable.Hypot(b.Along.Y, o.Along.Y), Z: portable.Hypot(b.Along.Z, o.Along.Z)}}
}

// plus adds as much each way.
func (b Bound) plus(t float64) Bound {
	return Bound{b.T + t, b.Along.Add(geom.Point3{X: t, Y: t, Z: t})}
}

// reading is the field of one source at a point with its bound.
type reading struct {
	b     geom.Point3
	bound Bound
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
// unit of the source, and a bound of its error. Inside the
// iron it is that of the cell which holds q, which is of lower order. Safe for
// concurrent use; all sources are computed at once and remembered.
func (l *Linear) B(q geom.Point3, source int) (geom.Point3, Bound) {
	r := l.reading(q)[source]
	return r.b, r.bound
}

func (l *Linear) reading(q geom.Point3) []reading {
	return l.kept.at(q, func() []reading {
		spendReading(l.work, &l.levels, len(l.sources))
		return readings(&l.levels, l.scale, q, l.sources)
	})
}

func readings(levels *[2]*answer, scale float64, q geom.Point3, sources []Source) []reading {
	air := inAir(sources, q)
	v := viewsOf(levels, q, air)
	out := make([]reading, len(sources))
	for s := range out {
		out[s] = v.reading(s, air[s], scale)
	}
	return out
}

// inAir returns what each source has at q in empty space.
func inAir(sources []Source, q geom.Point3) []geom.Point3 {
	air := make([]geom.Point3, len(sources))
	for s, src := range sources {
		air[s] = src(q)
	}
	return air
}
