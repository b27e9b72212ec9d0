package geom

import (
	"math"

	"busgauss/model/portable"
)

// Rectangle returns the rectangle of the given width (along x) and thickness
// (along y) about the origin, beginning at its lower left corner.
func Rectangle(widthM, thicknessM float64) Polygon {
	w, t := widthM/2, thicknessM/2
	return Polygon{{-w, -t}, {w, -t}, {w, t}, {-w, t}}
}

// Circle returns the regular polygon of n corners that lie on the circle about
// the origin, the first on +x. It lies inside the circle, by radiusM·(1 -
// cos(π/n)) at most, and its area is smaller by the factor sin(2π/n)/(2π/n).
func Circle(radiusM float64, n int) Polygon {
	p := make(Polygon, n)
	for i := range p {
		p[i] = onCircle(radiusM, 2*math.Pi*float64(i)/float64(n))
	}
	return p
}

// CircleSameArea returns the regular polygon of n corners about the origin that
// has the area of the circle; its corners lie outside the circle.
func CircleSameArea(radiusM float64, n int) Polygon {
	step := 2 * math.Pi / float64(n)
	return Circle(radiusM*math.Sqrt(step/portable.Sin(step)), n)
}

// Channel returns a U section. The local origin is the middle of the inner
// floor and the legs point along +y: openingM is the inner width, legM the
// inner height of the legs, wallM the thickness of floor and legs.
func Channel(openingM, legM, wallM float64) Polygon {
	i := openingM / 2
	o := i + wallM
	return Polygon{{-o, -wallM}, {o, -wallM}, {o, legM}, {i, legM}, {i, 0}, {-i, 0}, {-i, legM}, {-o, legM}}
}

// Ring returns a round ring about the origin with inner diameter innerM and
// thickness wallM. slitM is the width of a slit with parallel sides, centred on
// +y; 0 gives a closed ring with one hole, otherwise the region has no hole.
// Every full circle has n corners on it (see Circle); an arc has its ends and
// steps no longer than those of the full circle. The slit must be narrower than
// the hole: otherwise the region is empty.
func Ring(innerM, wallM, slitM float64, n int) Region {
	ri := innerM / 2
	ro := ri + wallM
	if slitM == 0 {
		return Region{Outer: Circle(ro, n), Holes: []Polygon{Circle(ri, n)}}
	}
	if !(slitM > 0 && slitM < innerM) {
		return Region{}
	}
	outer := arc(ro, slitM, n)
	inner := arc(ri, slitM, n)
	for i := len(inner) - 1; i >= 0; i-- {
		outer = append(outer, inner[i])
	}
	return Region{Outer: outer}
}

// arc returns points on the circle from the left side of the slit round the
// bottom to its right side, counter-clockwise.
func arc(radiusM, slitM float64, n int) Polygon {
	half := portable.Asin(slitM / 2 / radiusM)
	sweep := 2*math.Pi - 2*half
	steps := int(math.Ceil(sweep / (2 * math.Pi) * float64(n)))
	p := make(Polygon, steps+1)
	for i := range p {
		p[i] = onCircle(radiusM, math.Pi/2+half+sweep*float64(i)/float64(steps))
	}
	// The ends lie on the sides of the slit to the last digit.
	p[0].X, p[steps].X = -slitM/2, slitM/2
	return p
}

func onCircle(radiusM, angleRad float64) Point {
	return Point{radiusM, 0}.Rotate(angleRad)
}
