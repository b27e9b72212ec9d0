package layout

import (
	"math"

	"busgauss/model/geom"
)

// Gap is the straight distance through air between two objects, in metres: the
// true one lies between LowM and HighM. They differ for a sensor whose part
// declares no body, since only the place of its element is known.
type Gap struct {
	LowM, HighM float64
}

// GapBetween returns the distance between two bars, shields or sensors by name;
// false when a name is none of them. An element of a sensor stands at its
// part's element height above the side that faces the other object.
func (l *Layout) GapBetween(a, b string) (Gap, bool) {
	ra, bodyA, okA := l.solid(a)
	rb, bodyB, okB := l.solid(b)
	if !okA || !okB {
		return Gap{}, false
	}
	d := math.Inf(1)
	for _, p := range ra {
		for _, q := range rb {
			d = min(d, distance(p, q))
		}
	}
	body := bodyA + bodyB
	if math.IsNaN(body) {
		return Gap{LowM: 0, HighM: d}, true
	}
	d = max(0, d-body)
	return Gap{LowM: d, HighM: d}, true
}

// solid returns an object as regions (an element is a region of one point) and
// how much nearer than they its surface may stand; NaN when that is not known.
func (l *Layout) solid(id string) (parts []geom.Region, bodyM float64, ok bool) {
	for i := range l.Bars {
		if l.Bars[i].ID == id {
			return []geom.Region{geom.Solid(l.Bars[i].Polygon())}, 0, true
		}
	}
	for i := range l.Shields {
		if l.Shields[i].ID == id {
			return []geom.Region{l.Shields[i].Region()}, 0, true
		}
	}
	for i := range l.Sensors {
		s := &l.Sensors[i]
		if s.ID != id {
			continue
		}
		for _, e := range s.Elements() {
			parts = append(parts, geom.Region{Outer: geom.Polygon{e.At.XY()}})
		}
		bodyM = math.NaN()
		if p := l.PartOf(s); p != nil && p.BodyElementHeightM.Set {
			bodyM = p.BodyElementHeightM.V
		}
		return parts, bodyM, true
	}
	return nil, 0, false
}

func distance(a, b geom.Region) float64 {
	switch {
	case len(a.Outer) == 1 && len(b.Outer) == 1:
		return a.Outer[0].Sub(b.Outer[0]).Norm()
	case len(a.Outer) == 1:
		return b.DistanceM(a.Outer[0])
	case len(b.Outer) == 1:
		return a.DistanceM(b.Outer[0])
	}
	d, _, _ := geom.GapRegionsM(a, b)
	return d
}
