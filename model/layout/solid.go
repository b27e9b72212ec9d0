package layout

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// solid is a convex solid with the box round it.
type solid struct {
	geom.Convex
	box geom.Box3
}

// newSolid returns the prism between two polygons (geom.Prism).
func newSolid(from, to []geom.Point3) solid {
	c := geom.Prism(from, to)
	return solid{c, c.Box()}
}

// legSolids returns leg l of bar b as convex solids; cut says that the cuts of b
// are in it.
func legSolids(b *Bar, l *Leg, cut bool) ([]solid, error) {
	section := b.SectionCorners()
	if len(section) > mostCorners {
		return nil, tooManyCorners(len(section))
	}
	if cut {
		return cutSolids(b, l)
	}
	var out []solid
	for _, p := range section.ConvexParts() {
		from, to := make([]geom.Point3, len(p)), make([]geom.Point3, len(p))
		for i, c := range p {
			from[i], to[i] = l.Edge(c)
		}
		out = append(out, newSolid(from, to))
	}
	return out, nil
}

// mostSlices keeps a plan full of cuts, of which each slice may cross all, within
// some tenths of a second and some tens of megabytes.
const mostSlices = 20000

// rimSteps is the number of slices along a round cut or round end.
const rimSteps = 32

// offRimM returns how far inside the rim of a cut the chords of its slices lie.
func offRimM(c *Cut) float64 {
	r, _ := rimRadiusM(c)
	return r * (1 - portable.Cos(math.Pi/(2*rimSteps)))
}

// rimRadiusM returns the radius of the rim of a hole, or of the ends of a slot; 0 and false
// for a cut without a round rim.
func rimRadiusM(c *Cut) (radiusM float64, round bool) {
	switch c.Kind {
	case Hole:
		return c.DiameterM.V / 2, true
	case Slot:
		return c.WidthM.V / 2, true
	}
	return 0, false
}

// cutSolids slices the leg with the cuts of b across: between two ends of cuts,
// and steps of their rims, what is left of the width are trapezia. The leg is along
// z, its section a rectangle, and its mitres lie beyond the cuts.
func cutSolids(b *Bar, l *Leg) ([]solid, error) {
	w, t := b.Section.WidthM.V, b.Section.ThicknessM.V
	var stops []float64
	for i := range b.Cuts {
		stops = append(stops, rimStops(&b.Cuts[i])...)
	}
	slices.Sort(stops)
	stops = slices.Compact(stops)
	at := func(x, y, z float64) geom.Point3 {
		p := geom.Point3{X: l.From.X, Y: l.From.Y, Z: z}
		return p.Add(l.U.Scale(x)).Add(l.V.Scale(y))
	}
	var out []solid
	full := geom.Rectangle(w, t)
	for _, end := range []bool{false, true} {
		from, to := make([]geom.Point3, 4), make([]geom.Point3, 4)
		for i, c := range full {
			from[i], to[i] = l.Edge(c)
			if end {
				from[i] = at(c.X, c.Y, stops[len(stops)-1])
			} else {
				to[i] = at(c.X, c.Y, stops[0])
			}
		}
		out = append(out, newSolid(from, to))
	}
	for k := 1; k < len(stops); k++ {
		low, high := stops[k-1], stops[k]
		var takenLow, takenHigh []Spread
		for i := range b.Cuts {
			if from, to := b.Cuts[i].Reach(); from <= low && to >= high {
				takenLow = append(takenLow, b.Cuts[i].Spreads(low, w)...)
				takenHigh = append(takenHigh, b.Cuts[i].Spreads(high, w)...)
			}
		}
		// Cuts lie apart, so both ends of a slice have the same stretches of metal.
		first, last := Metal(takenLow, w), Metal(takenHigh, w)
		if len(first) != len(last) {
			return nil, errors.New("its cuts lie too near to each other to be followed")
		}
		if len(out)+len(first) > mostSlices {
			return nil, fmt.Errorf("its cuts come to more than %d slices", mostSlices)
		}
		for i := range first {
			a, c := first[i], last[i]
			ring := func(y float64) []geom.Point3 {
				return []geom.Point3{at(a.LowM, y, low), at(c.LowM, y, high), at(c.HighM, y, high), at(a.HighM, y, low)}
			}
			out = append(out, newSolid(ring(-t/2), ring(t/2)))
		}
	}
	return out, nil
}

// rimStops returns the z of the ends of a cut and of the corners that stand for its
// rim where that is round.
func rimStops(c *Cut) []float64 {
	from, to := c.Reach()
	r, round := rimRadiusM(c)
	if !round {
		return []float64{from, to}
	}
	out := []float64{from, to}
	for k := 1; k <= rimSteps/2; k++ {
		in := float64(r * (1 - portable.Cos(math.Pi*float64(k)/rimSteps)))
		out = append(out, from+in, to-in)
	}
	return out
}
