package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
)

// RangeTaken is how much of the linear range of its part the fullest element of a sensor takes, and what asks
// for it: a duty, or else the current that the layout claims for the channel. Neither is set where nothing does.
type RangeTaken struct {
	Duty         *layout.Duty
	ClaimA       float64
	FieldT, EndT float64 // on the axis of the element, and the end of the range on that side; both without sign
	Share        bounded.Estimate
}

// Asked reports whether anything asks for a field at all.
func (r *RangeTaken) Asked() bool { return r.Duty != nil || r.ClaimA != 0 }

// add keeps the side of w that takes more of the range of p. NaN counts as the worst.
func (r *RangeTaken) add(p *layout.Part, w Swing) {
	for _, side := range []struct {
		end    bounded.Estimate
		limitT float64
	}{{w.High, p.LinearHighT.V}, {w.Low.Scale(-1), -p.LinearLowT.V}} {
		share := side.end.Scale(1 / side.limitT)
		if !(share.High <= r.Share.High) && !math.IsNaN(r.Share.High) {
			r.FieldT, r.EndT, r.Share = side.end.Value, side.limitT, share
		}
	}
}

// RangeIn returns what duty d takes of the linear range of s, all circuits together, at the worst place within
// the placement tolerances. The range must hold zero inside.
func (m *Model) RangeIn(s *layout.Sensor, d *layout.Duty) (RangeTaken, error) {
	out := RangeTaken{Duty: d}
	placed, err := m.PlacedSwings(s, d)
	if err != nil {
		return out, err
	}
	for _, swings := range placed {
		for _, w := range swings {
			out.add(m.Layout.PartOf(s), w)
		}
	}
	return out, nil
}

// RangeAt is RangeIn for a current claimA either way in what s reads, nothing in all else.
func (m *Model) RangeAt(s *layout.Sensor, claimA float64) (RangeTaken, error) {
	out := RangeTaken{ClaimA: claimA}
	f, err := m.Field(0)
	if err != nil {
		return out, err
	}
	places := m.WithinTolerance(s)
	for p := range places {
		for _, e := range f.ElementOwn(&places[p]) {
			top := e.Abs().Scale(claimA)
			out.add(m.Layout.PartOf(s), Swing{Low: top.Scale(-1), High: top})
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
	for i := range m.Layout.Duties {
		if err := keep(m.RangeIn(s, &m.Layout.Duties[i])); err != nil {
			return worst, err
		}
	}
	if claim, ok := m.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		if err := keep(m.RangeAt(s, claim.V)); err != nil {
			return worst, err
		}
	}
	return worst, nil
}

// RangeUsed returns the own field at ownA over the nearer end of the linear range of s's part: of a pair the
// difference, of an array the reading over the sum of its weights without sign, which is the field of an element
// in the mean.
func (m *Model) RangeUsed(s *layout.Sensor, ownA float64) (bounded.Estimate, error) {
	p := m.Layout.PartOf(s)
	perA, err := m.OwnPerAmpere(s)
	weights := 1.0
	if len(s.Array) > 0 {
		weights = 0
		for i := range s.Array {
			weights += math.Abs(s.Array[i].Weight.V)
		}
	}
	return perA.Scale(ownA / weights / min(p.LinearHighT.V, -p.LinearLowT.V)), err
}
