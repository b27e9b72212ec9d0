package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// solidOf returns the state in space that n is, and whether with the sign 1 or -1; false for others.
func solidOf(n ironState) (solid solidState, sign float64, ok bool) {
	switch s := n.(type) {
	case solidState:
		return s, 1, true
	case *groupedState:
		return s.solid, s.sign, true
	case opposite:
		solid, sign, ok = solidOf(s.of)
		return solid, -sign, ok
	}
	return solid, 1, false
}

// differing returns the flux density of state n at q less that of state o, with the bound of the difference where both
// stand on the same meshes in space, else with the sum of both bounds.
func differing(n, o ironState, q geom.Point3, rough bool) Vec {
	a, signA, solidA := solidOf(n)
	b, signB, solidB := solidOf(o)
	if rough || !solidA || !solidB || !a.of.Same(b.of) {
		return n.at(q, rough).Add(o.at(q, rough).Scale(-1))
	}
	d, bound := a.of.Less(q, b.of, signA*signB)
	left := make([]float64, len(a.currentsA))
	for i := range left {
		left[i] = a.currentsA[i] - float64(signA*signB*b.currentsA[i])
	}
	return steady(d.Scale(signA)).inIron(bound, barsT(a.bars, left, q))
}

// BesideReading returns what s reads of one set of currents of the circuits beyond what it reads of currentA alone, of
// which it reads the current; with the bound of the difference: see differing.
func (m *Model) BesideReading(s *layout.Sensor, circuitA []float64, currentA float64) (Reading, error) {
	all, err := m.steadyBarsA(circuitA)
	if err != nil {
		return Reading{}, err
	}
	alone, err := m.aloneA(s, currentA)
	if err != nil {
		return Reading{}, err
	}
	n, err := m.state(all)
	if err != nil {
		return Reading{}, err
	}
	o, err := m.state(alone)
	if err != nil {
		return Reading{}, err
	}
	r := Summed(s.Elements(), func(e layout.Element) Vec { return differing(n, o, e.At, m.rough) })
	whole, axis := m.farOf(s.Elements(), all)
	ownWhole, ownAxis := m.farOf(s.Elements(), alone)
	r.B.Far, r.Axis.Far = math.Max(0, whole-ownWhole), math.Max(0, axis-ownAxis)
	return r, nil
}
