package fem

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/mesh"
	"busgauss/model/portable"
)

// slitArcs is how many arcs stand in for each circle of a ring with a slit, and slitChords how many chords for the
// ends of the slit where its area carries current: they leave the circle by less than a part in 1e5 of the slit.
const (
	slitArcs   = 8
	slitChords = 16
)

// inSlit reports whether q lies between the sides of the slit, on its side of the ring; the sides belong to the ring.
func (r *Round) inSlit(q geom.Point) bool {
	p := q.Sub(r.Centre).Rotate(-r.TurnRad)
	return r.SlitM > 0 && p.Y > 0 && math.Abs(p.X) < r.SlitM/2
}

// slitM2 returns the area that the slit takes from the ring: between two circles over |x| < s/2.
func (r *Round) slitM2() float64 {
	half := r.SlitM / 2
	under := func(radiusM float64) float64 { // of the circle over the x axis
		return float64(half*math.Sqrt(float64(radiusM*radiusM)-float64(half*half))) + float64(radiusM*radiusM*portable.Asin(half/radiusM))
	}
	if half == 0 {
		return 0
	}
	return under(r.OuterM) - under(r.InnerM)
}

// slit returns the outline of what the slit takes from the ring, for the field of a current that is spread over it.
func (r *Round) slit() geom.Polygon {
	var p geom.Polygon
	edge := func(radiusM, from, to float64) {
		for k := range slitChords + 1 {
			x := from + (to-from)*float64(k)/slitChords
			p = append(p, geom.Point{X: x, Y: math.Sqrt(float64(radiusM*radiusM) - float64(x*x))})
		}
	}
	edge(r.InnerM, -r.SlitM/2, r.SlitM/2)
	edge(r.OuterM, r.SlitM/2, -r.SlitM/2)
	return p.Place(r.Centre, r.TurnRad)
}

// slitLoop returns a ring with a slit as one loop of true arcs.
func (r *Round) slitLoop(region mesh.RegionID) mesh.Loop {
	l := mesh.Loop{Region: region}
	run := func(radiusM, sense float64) {
		half := portable.Asin(r.SlitM / 2 / radiusM)
		sweep := 2*math.Pi - 2*half
		for k := range slitArcs + 1 {
			a := half + sweep*float64(k)/slitArcs
			if sense < 0 {
				a = 2*math.Pi - a
			}
			p := geom.Point{Y: radiusM}.Rotate(a)
			switch k { // the ends lie on the sides of the slit to the last digit
			case 0, slitArcs:
				p.X = math.Copysign(r.SlitM/2, p.X)
			}
			l.Points = append(l.Points, r.Centre.Add(p.Rotate(r.TurnRad)))
			arc := mesh.Arc{Centre: r.Centre, RadiusM: radiusM}
			if k == slitArcs {
				arc = mesh.Arc{} // a side of the slit
			}
			l.Arcs = append(l.Arcs, arc)
		}
	}
	run(r.OuterM, 1)
	run(r.InnerM, -1)
	return l
}
