package eddy

import (
	"math"

	"busgauss/model/geom"
)

// dyad returns the field in A/m at r, off the metal, of one A·m² in a cell along x, along y and along z: near from the
// closed form of its faces, far from the moments of its volume,
//
//	(1/4π) ∇∇[1/R + (3/2) d·Qd/R⁵],  Q the traceless second moment
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 4.1; of the faces D. R. Wilton et al., IEEE Trans.
// Antennas Propag. 32 (1984) 276-281.
func (b *body) dyad(r geom.Point3) (along [3]geom.Point3) {
	d := r.Sub(b.centre)
	r2 := d.Dot(d)
	if far := 2.5 * b.reach; r2 < far*far {
		along = b.of.fieldOfFaces(r)
		for k := range along {
			along[k] = along[k].Scale(1 / (4 * math.Pi * b.volume))
		}
		return along
	}
	tr := (b.moment[0] + b.moment[1] + b.moment[2]) / 3
	q := [3]geom.Point3{
		{X: b.moment[0] - tr, Y: b.moment[3], Z: b.moment[4]},
		{X: b.moment[3], Y: b.moment[1] - tr, Z: b.moment[5]},
		{X: b.moment[4], Y: b.moment[5], Z: b.moment[2] - tr},
	}
	w := geom.Point3{X: q[0].Dot(d), Y: q[1].Dot(d), Z: q[2].Dot(d)}
	i2 := 1 / r2
	f := i2 * math.Sqrt(i2) / (4 * math.Pi)
	s := w.Dot(d) * i2 * i2
	dd := f * i2 * (3 + float64(52.5*s))
	wd := -15 * f * i2 * i2
	dk, wk := [3]float64{d.X, d.Y, d.Z}, [3]float64{w.X, w.Y, w.Z}
	for k := range along {
		along[k] = d.Scale(float64(dd*dk[k]) + float64(wd*wk[k])).Add(w.Scale(wd * dk[k])).Add(q[k].Scale(3 * f * i2))
	}
	one := float64(-f * (1 + float64(7.5*s)))
	along[0].X += one
	along[1].Y += one
	along[2].Z += one
	return along
}

// fieldOfFaces returns ∮ (r−r')/|r−r'|³ n dS' for n along x, y and z, pure numbers.
func (s *shape) fieldOfFaces(r geom.Point3) (along [3]geom.Point3) {
	var rel [8]geom.Point3
	var dist [8]float64
	for i, c := range s.corners {
		rel[i] = c.Sub(r)
		dist[i] = rel[i].Norm()
	}
	for i := range s.faces {
		f := &s.faces[i]
		height := f.normal.Dot(rel[f.first])
		h := math.Abs(height)
		var field geom.Point3
		x, y := 1.0, 0.0
		for _, g := range f.edges {
			e := &s.edges[g.edge]
			la := rel[e.a].Dot(e.unit)
			lb := la + e.lengthM
			field = field.Add(g.out.Scale(e.log(rel[e.a], la, lb, dist[e.a], dist[e.b])))
			t := g.out.Dot(rel[e.a])
			if h == 0 || t == 0 {
				continue
			}
			x, y = turned(x, y, h, t, dist[e.a], dist[e.b], la, lb)
		}
		if h != 0 {
			field = field.Add(f.normal.Scale(math.Copysign(wholeAngle(x, y), -height)))
		}
		along[0] = along[0].Add(field.Scale(f.normal.X))
		along[1] = along[1].Add(field.Scale(f.normal.Y))
		along[2] = along[2].Add(field.Scale(f.normal.Z))
	}
	return along
}
