package probe

import (
	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
)

// ReadingTaken is the range of what a sensor reads, at the worst place within its tolerances, the Earth's field and
// all declared foreign sources at their worst sign counted, in tesla. Open says why foreign fields are not
// known; they are left out then.
type ReadingTaken struct {
	Swing
	ForeignT bounded.Estimate // the most of it that no bar of the layout makes, without sign
	Open     error
}

func (r *ReadingTaken) add(first bool, w Swing, foreignT bounded.Estimate) {
	w = w.with(foreignT)
	if first {
		r.Swing, r.ForeignT = w, foreignT
		return
	}
	r.ForeignT = bounded.Most(r.ForeignT, foreignT)
	r.High = bounded.Most(r.High, w.High)
	r.Low = bounded.Most(r.Low.Scale(-1), w.Low.Scale(-1)).Scale(-1)
}

// ReadingIn returns the reading of s in each of the duties, all circuits together.
func (m *Model) ReadingIn(s *layout.Sensor, duties []*layout.Duty) ([]ReadingTaken, error) {
	places, open := m.tolerances(s)
	out := make([]ReadingTaken, len(duties))
	for i, d := range duties {
		places, open := m.withForeignMore(places, open, d)
		out[i].Open = open
		more, err := m.piecesAdd(func(n *Model) ([]Swing, error) {
			r, _, err := n.Swings(s, d)
			return []Swing{r}, err
		})
		if err != nil {
			return nil, err
		}
		for p := range places {
			reading, _, err := m.Swings(&places[p].s, d)
			if err != nil {
				return nil, err
			}
			out[i].add(p == 0, reading.plus(more, 0), places[p].reading)
		}
	}
	return out, nil
}

// ReadingAt returns the reading of s for a current claimA either way in what it reads, nothing in all other
// circuits.
func (m *Model) ReadingAt(s *layout.Sensor, claimA float64) (ReadingTaken, error) {
	places, open := m.tolerances(s)
	places, open = m.withForeignMore(places, open, nil)
	out := ReadingTaken{Open: open}
	f, err := m.Field(0)
	if err != nil {
		return out, err
	}
	claim := func(f *field.Field, s *layout.Sensor) Swing {
		top := f.Own(s).Axis.Abs().Scale(claimA)
		return Swing{Low: top.Scale(-1), High: top}
	}
	more, err := m.piecesAdd(func(n *Model) ([]Swing, error) {
		f, err := n.Field(0)
		if err != nil {
			return nil, err
		}
		return []Swing{claim(f, s)}, nil
	})
	if err != nil {
		return out, err
	}
	for p := range places {
		out.add(p == 0, claim(f, &places[p].s).plus(more, 0), places[p].reading)
	}
	return out, nil
}
