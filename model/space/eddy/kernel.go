package eddy

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/parallel"
)

// farReaches is how many times the sum of their reaches two cells must be apart for the
// expansion to serve.
const farReaches = 1.5

// kernel is the mean of 1/|r−r'| over each pair of cells, 1/m, in rows; plus has the image in
// the mirror added, minus taken off. Without a mirror both are the same.
type kernel struct {
	plus, minus []float64
}

func (m *mesh) kernel() *kernel {
	n := len(m.cells)
	k := &kernel{plus: make([]float64, n*n)}
	k.minus = k.plus
	if m.mirror {
		k.minus = make([]float64, n*n)
	}
	parallel.Each(n, 8, func(_, i int) {
		a := &m.body[i]
		for j := range i + 1 {
			b := &m.body[j]
			own, image := mean(a, b, nil), 0.0
			if m.mirror {
				image = mean(a, b, &m.midM)
				k.minus[i*n+j] = own - image
			}
			k.plus[i*n+j] = own + image
		}
	})
	for i := range n {
		for j := range i {
			k.plus[j*n+i] = k.plus[i*n+j]
			k.minus[j*n+i] = k.minus[i*n+j]
		}
	}
	return k
}

// mean returns the mean of 1/|r−r'| for r in a and r' in b, or in the image of b in the plane
// z = *mirror. Far apart the expansion to second moments,
//
//	1/R + (3 d·Qd − tr Q R²)/2R⁵,  d from centre to centre, Q = Q_a + Q_b
//
// close by the potential of the larger at the Gauss points of the smaller.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., section 4.1.
func mean(a, b *body, mirror *float64) float64 {
	c := a.centre
	flip := 1.0
	if mirror != nil {
		c.Z, flip = 2**mirror-c.Z, -1
	}
	d := c.Sub(b.centre)
	r2 := d.Dot(d)
	if far := farReaches * (a.reach + b.reach); r2 > far*far {
		xx, yy, zz := a.moment[0]+b.moment[0], a.moment[1]+b.moment[1], a.moment[2]+b.moment[2]
		xy, xz, yz := a.moment[3]+b.moment[3], float64(flip*a.moment[4])+b.moment[4], float64(flip*a.moment[5])+b.moment[5]
		q := float64(d.X*d.X*xx) + float64(d.Y*d.Y*yy) + float64(d.Z*d.Z*zz) + 2*(float64(d.X*d.Y*xy)+float64(d.X*d.Z*xz)+float64(d.Y*d.Z*yz))
		r := 1 / math.Sqrt(r2)
		return r + 0.5*(float64(3*q)-float64((xx+yy+zz)*r2))*r/(r2*r2)
	}
	small, large := a, b
	if a.reach > b.reach {
		small, large = b, a
	}
	sum := 0.0
	for i, p := range small.gauss {
		if mirror != nil {
			p.Z = 2**mirror - p.Z
		}
		v, _ := large.of.integrals(p)
		sum += float64(small.weight[i] * v)
	}
	return sum / large.volume
}

// surface returns −∇ of the potential of a cell per volume, ∮ n dS/|r−r'| / V in 1/m², at r:
// near from the closed form, far from the moments.
func (b *body) surface(r geom.Point3) geom.Point3 {
	d := r.Sub(b.centre)
	r2 := d.Dot(d)
	if far := 2.5 * b.reach; r2 < far*far {
		_, s := b.of.integrals(r)
		return s.Scale(1 / b.volume)
	}
	// −∇ of 1/R + (3 d·Qd − tr Q R²)/2R⁵
	m := &b.moment
	q := geom.Point3{X: float64(m[0]*d.X) + float64(m[3]*d.Y) + float64(m[4]*d.Z), Y: float64(m[3]*d.X) + float64(m[1]*d.Y) + float64(m[5]*d.Z), Z: float64(m[4]*d.X) + float64(m[5]*d.Y) + float64(m[2]*d.Z)}
	tr := m[0] + m[1] + m[2]
	i2 := 1 / r2
	i3 := float64(i2 * math.Sqrt(i2))
	i5 := i3 * i2
	return d.Scale(i3 - float64(1.5*tr*i5) + float64(7.5*q.Dot(d)*i5*i2)).Sub(q.Scale(3 * i5))
}
