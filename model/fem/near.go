package fem

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// nearShare is how far from a sensor a place may lie to take its bound from there, as a share of the sensor's distance
// to what reacts.
const nearShare = 0.25

// near returns the sensor of q and what its bounds are multiplied with at q; false where q is near none.
//
// A bound is the sum of products of errors, of the field and of the reaction to a dipole at the point. That of a dipole
// at the distance d from a plane face falls as 1/d², and so do its errors: over random arrangements the bounds at a
// place f·d away were found to be up to 1/(1−f)² times those at the sensor. One more factor is a margin. A place
// so near has no adjoint solution of its own.
func (l *linear[T]) near(q geom.Point) (at *pointValue[T], rise float64, ok bool) {
	rise = math.Inf(1)
	for i, s := range l.p.Sensors {
		pv := l.points[s]
		if pv == nil || pv.inside {
			continue
		}
		if f := q.Sub(s).Norm() / l.clearM[i]; f <= nearShare {
			if r := 1 / ((1 - f) * (1 - f) * (1 - f)); r < rise {
				at, rise, ok = pv, r, true
			}
		}
	}
	return at, rise, ok
}

// nearValue is value with the bounds that at has, times rise.
func (l *linear[T]) nearValue(q geom.Point, at *pointValue[T], rise float64) *pointValue[T] {
	pv := l.reacted(q)
	for j := range pv.bound {
		size := reactionFloor * portable.Hypot(modulus(pv.bx[j]), modulus(pv.by[j]))
		pv.bound[j] = math.Max(rise*at.bound[j], size)
	}
	return pv
}

// clearances returns the distance of each sensor to the nearest piece that reacts.
func (d *drawing) clearances(sensors []geom.Point) []float64 {
	out := make([]float64, len(sensors))
	for i, q := range sensors {
		out[i] = d.clearanceM(q)
	}
	return out
}

// clearanceM returns the distance of a place to the nearest piece that reacts.
func (d *drawing) clearanceM(q geom.Point) float64 {
	least := math.Inf(1)
	for _, o := range d.outlines {
		e, _ := o.distanceM(q)
		least = math.Min(least, e)
	}
	return least
}

// reacted returns the reaction of every source at q in air, with bounds that are not numbers.
func (l *linear[T]) reacted(q geom.Point) *pointValue[T] {
	n := len(l.r.drives)
	pv := newPointValue[T](n)
	w := l.s.g.weightsOf(q, l.conducting)
	for j := range n {
		pv.bx[j], pv.by[j] = l.r.apply(w, l.conducting, j)
		if l.volume != nil {
			x, y := l.volume(q)
			pv.bx[j] += x
			pv.by[j] += y
		}
	}
	return pv
}
