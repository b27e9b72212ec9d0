package probe

import (
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// RangeTaken is how much of the linear range of its part the fullest element of a sensor takes, and what asks
// for it: a duty, or else the current that the layout claims for the channel. Neither is set where nothing does.
type RangeTaken struct {
	Duty         *layout.Duty
	ClaimA       float64
	FieldT, EndT float64 // on the axis of the element, and the end of the range on that side; both without sign
	ForeignT     float64 // the part of FieldT that no bar of the layout makes
	Share        bounded.Estimate
	Open         error // why foreign fields are not known; they are left out then
}

// Asked reports whether anything asks for a field at all.
func (r *RangeTaken) Asked() bool { return r.Duty != nil || r.ClaimA != 0 }

// add keeps the side of w that takes more of the range of p. NaN counts as the worst.
func (r *RangeTaken) add(p *layout.Part, w Swing, foreignT bounded.Estimate) {
	w = w.with(foreignT)
	for _, side := range []struct {
		end    bounded.Estimate
		limitT float64
	}{{w.High, p.LinearHighT.V}, {w.Low.Scale(-1), -p.LinearLowT.V}} {
		share := side.end.Scale(1 / side.limitT)
		if !(share.High <= r.Share.High) && !math.IsNaN(r.Share.High) {
			r.FieldT, r.EndT, r.ForeignT, r.Share = side.end.Value, side.limitT, foreignT.Value, share
		}
	}
}

// tolerated is a sensor at one place of its tolerances, and the most that foreign fields put on the axis of each
// of its elements there, and on its reading.
type tolerated struct {
	s        layout.Sensor
	elements []bounded.Estimate
	reading  bounded.Estimate
}

// tolerances returns s at the places of its tolerances with the foreign fields there. Where those are not
// known at one of them they count as none, and open says why.
func (m *Model) tolerances(s *layout.Sensor) (places []tolerated, open error) {
	for _, at := range m.WithinTolerance(s) {
		p := tolerated{s: at}
		reading, elements, err := m.ForeignT(&p.s)
		if err != nil {
			open = err
			reading, elements = bounded.Exact(0), make([]bounded.Estimate, len(s.Elements()))
		}
		p.reading, p.elements = reading, elements
		places = append(places, p)
	}
	return places, open
}

// withForeignMore returns places with what foreign sources add in duty d, nil: none, and by tolerances of shields,
// bars and materials, each as at the drawn place, the first; places themselves where that is not known, with the reason.
func (m *Model) withForeignMore(places []tolerated, open error, d *layout.Duty) ([]tolerated, error) {
	if open != nil {
		return places, open
	}
	reading, elements, err := m.foreignMoreT(&places[0].s, d)
	if err != nil {
		return places, err
	}
	out := slices.Clone(places)
	for p := range out {
		out[p].reading = out[p].reading.Plus(reading)
		out[p].elements = slices.Clone(out[p].elements)
		for e := range out[p].elements {
			out[p].elements[e] = out[p].elements[e].Plus(elements[e])
		}
	}
	return out, nil
}

// RangeIn returns what duty d takes of the linear range of s, all circuits together with the Earth's field and
// all declared foreign sources at their worst sign, at the worst place within the placement tolerances. The
// range must hold zero inside.
func (m *Model) RangeIn(s *layout.Sensor, d *layout.Duty) (RangeTaken, error) {
	places, open := m.tolerances(s)
	return m.rangeIn(places, open, d)
}

func (m *Model) rangeIn(places []tolerated, open error, d *layout.Duty) (RangeTaken, error) {
	places, open = m.withForeignMore(places, open, d)
	out := RangeTaken{Duty: d, Open: open}
	drawn := &places[0].s // the first of WithinTolerance
	more, err := m.piecesAdd(func(m *Model) ([]Swing, error) { return m.ElementSwing(drawn, d) })
	if err != nil {
		return out, err
	}
	at := func(m *Model, p int, r *RangeTaken) error {
		s := &places[p].s
		swings, err := m.ElementSwing(s, d)
		for e, w := range swings {
			r.add(m.Layout.PartOf(s), w.plus(more, e), places[p].elements[e])
		}
		return err
	}
	fullest, err := m.fullest(len(places), func(m *Model, p int) (float64, error) {
		var r RangeTaken
		err := at(m, p, &r)
		return r.Share.Value, err
	})
	if err != nil {
		return out, err
	}
	for _, p := range fullest {
		if err := at(m, p, &out); err != nil {
			return out, err
		}
	}
	return out, nil
}

// nearlyFullest is the share of the largest value from which on a place may be the one with the largest bound:
// bounds of places a tolerance apart differ by less.
const nearlyFullest = 0.99

// fullest returns which of n places, the one drawn first among them, may hold the largest value; the bounds of the
// solvers, which cost most of a value at a new place, are left out of the choice.
func (m *Model) fullest(n int, value func(m *Model, p int) (float64, error)) ([]int, error) {
	if n < 2 {
		return []int{0}, nil
	}
	rough := m.Rough()
	values := make([]float64, n)
	top := 0.0
	for p := range values {
		var err error
		if values[p], err = value(rough, p); err != nil {
			return nil, err
		}
		top = math.Max(top, values[p]) // NaN stays
	}
	var out []int
	for p, v := range values {
		if p == 0 || !(v < nearlyFullest*top) {
			out = append(out, p)
		}
	}
	return out, nil
}

// RangeAt is RangeIn for a current claimA either way in what s reads, nothing in all other circuits.
func (m *Model) RangeAt(s *layout.Sensor, claimA float64) (RangeTaken, error) {
	places, open := m.tolerances(s)
	return m.rangeAt(places, open, claimA)
}

func (m *Model) rangeAt(places []tolerated, open error, claimA float64) (RangeTaken, error) {
	places, open = m.withForeignMore(places, open, nil)
	out := RangeTaken{ClaimA: claimA, Open: open}
	f, err := m.Field(0)
	if err != nil {
		return out, err
	}
	more, err := m.piecesAdd(func(m *Model) ([]Swing, error) { return m.claimSwing(&places[0].s, claimA) })
	if err != nil {
		return out, err
	}
	for p := range places {
		s := &places[p].s
		for e, own := range f.ElementOwn(s) {
			top := own.Abs().Scale(claimA)
			out.add(m.Layout.PartOf(s), Swing{Low: top.Scale(-1), High: top}.plus(more, e), places[p].elements[e])
		}
	}
	return out, nil
}

// WorstRange returns the largest of RangeIn over all duties and of RangeAt for the claimed current.
func (m *Model) WorstRange(s *layout.Sensor) (RangeTaken, error) {
	var worst RangeTaken
	keep := func(r RangeTaken, err error) error {
		// Written so that NaN counts as the worst.
		if err == nil && (!worst.Asked() || !(r.Share.High <= worst.Share.High) && !math.IsNaN(worst.Share.High)) {
			worst = r
		}
		return err
	}
	places, open := m.tolerances(s)
	for i := range m.Layout.Duties {
		if err := keep(m.rangeIn(places, open, &m.Layout.Duties[i])); err != nil {
			return worst, err
		}
	}
	if claim, ok := m.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		if err := keep(m.rangeAt(places, open, claim.V)); err != nil {
			return worst, err
		}
	}
	return worst, nil
}

// FullAtA returns the current of what s reads, alone, at which the fullest of its elements as drawn reaches the
// nearer end of its linear range.
func (m *Model) FullAtA(s *layout.Sensor) (bounded.Estimate, error) {
	p := m.Layout.PartOf(s)
	f, err := m.Field(0)
	if err != nil {
		return bounded.Estimate{}, err
	}
	top := bounded.Exact(0)
	for _, own := range f.ElementOwn(s) {
		top = bounded.LargerOf(top, own.Abs())
	}
	return bounded.Exact(min(p.LinearHighT.V, -p.LinearLowT.V)).Over(top), nil
}

// RangeUsed returns the own field at ownA over the nearer end of the linear range of s's part: of a pair or an
// array the reading over the sum of its weights without sign, which is the field of an element in the mean.
func (m *Model) RangeUsed(s *layout.Sensor, ownA float64) (bounded.Estimate, error) {
	p := m.Layout.PartOf(s)
	perA, err := m.OwnPerAmpere(s)
	weights := 0.0
	for _, e := range s.Elements() {
		weights += math.Abs(e.Weight)
	}
	return perA.Scale(ownA / weights / min(p.LinearHighT.V, -p.LinearLowT.V)), err
}
