package plan

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// halfSides is the number of sides drawn for half a circle. A polygon of the area
// of the circle, n sides, disturbs an even flow like the circle to about 3/n³ of the
// disturbance: its rim departs from the circle in harmonics of n only, which
// count in the second order (5e-5 at n = 40; against 9 % for a square).
const halfSides = 20

// swell returns the factor by which the corners of a half circle of m sides, but
// for its two ends, are moved outwards so that its area is right:
//
//	sin(π/m) [2 s + (m−2) s²] = π
func swell(m int) float64 {
	k, a := float64(m-2), math.Pi/portable.Sin(math.Pi/float64(m))
	return (math.Sqrt(1+float64(k*a)) - 1) / k
}

// polygon returns the rim of h, counter-clockwise. The straight sides of a slot are
// where they belong; a hole is a regular polygon.
func (h *round) polygon() geom.Polygon {
	if h.toM <= h.fromM {
		return geom.CircleSameArea(h.radius, 2*halfSides).Place(geom.Point{X: h.acrossM, Y: h.fromM}, 0)
	}
	s := swell(halfSides)
	var p geom.Polygon
	for end, z := range []float64{h.toM, h.fromM} {
		for k := range halfSides + 1 {
			r := h.radius
			if k > 0 && k < halfSides {
				r *= s
			}
			q := geom.Point{X: r}.Rotate(math.Pi * (float64(end) + float64(k)/halfSides))
			p = append(p, geom.Point{X: h.acrossM + q.X, Y: z + q.Y})
		}
	}
	// Near a round hole the sides are shorter than rounding can tell apart.
	if h.toM-h.fromM < 1e-6*h.radius {
		return geom.CircleSameArea(h.radius, 2*halfSides).Place(geom.Point{X: h.acrossM, Y: (h.fromM + h.toM) / 2}, 0)
	}
	return p
}

// reachM is the radius of the polygon's outermost corner.
func (h *round) reachM() float64 { return float64(h.radius * swell(halfSides) * 1.0005) }

// chordM returns how much of the section at z the hole takes away.
func (h *round) chordM(z float64) float64 {
	dz := max(h.fromM-z, z-h.toM, 0)
	if dz >= h.radius {
		return 0
	}
	return 2 * math.Sqrt((h.radius-dz)*(h.radius+dz))
}
