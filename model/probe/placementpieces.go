package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// alternates reports whether any duty has an alternating current.
func (m *Model) alternates() bool {
	for i := range m.Layout.Duties {
		for _, c := range m.Currents(&m.Layout.Duties[i]).Components {
			if c.FreqHz > 0 {
				return true
			}
		}
	}
	return false
}

// solved reports whether fields of the layout are solved on meshes, which a displaced piece
// does not share with the drawn one.
func (m *Model) solved() bool { return len(m.Layout.Shields) > 0 || len(m.Layout.Bonded) > 0 }

// placePieces adds to out what the tolerances of bars and shields do, each by itself: for the
// worst case they all add to the sensor's own. Products of two of them are left out.
func (m *Model) placePieces(s *layout.Sensor, d *layout.Duty, parts []waveform.Component, nominal []bounded.Phasor,
	over views, out *Placed) error {
	list, err := m.Displacements()
	if err != nil {
		return err
	}
	worst := map[string]bounded.Estimate{}
	var names []string
	for _, k := range list {
		total, _, err := k.Model.For(d).phasors(s, parts)
		if err != nil {
			return err
		}
		change := over.difference(total, nominal)
		if m.solved() {
			drawn, _, err := k.Drawn.phasors(s, parts)
			if err != nil {
				return err
			}
			change = over.apart(total, drawn)
		}
		if _, seen := worst[k.Name]; !seen {
			names = append(names, k.Name)
		}
		worst[k.Name] = bounded.Most(worst[k.Name], change)
		out.part(k.Name, true, change.Value)
	}
	for _, name := range names {
		out.Total = out.Total.Plus(worst[name])
	}
	return nil
}

// added is how much further the swings of elements may reach, T.
type added struct{ lowerT, higherT []float64 }

// plus returns the swing of element e with what is added to it.
func (w Swing) plus(a added, e int) Swing {
	if len(a.lowerT) == 0 {
		return w
	}
	return Swing{Low: w.Low.Plus(bounded.Exact(-a.lowerT[e])), High: w.High.Plus(bounded.Exact(a.higherT[e]))}
}

// piecesAdd returns what bars, shields, materials and legs within their tolerances add to the swings
// of elements that get gives: the larger end of each tolerance, all together.
func (m *Model) piecesAdd(get func(*Model) ([]Swing, error)) (added, error) {
	var out added
	list, err := m.varied()
	if err != nil || len(list) == 0 {
		return out, err
	}
	var low, high []float64 // by the tolerance at hand
	for i := range list {
		drawn, err := get(list[i].Drawn)
		if err != nil {
			return out, err
		}
		if n := len(drawn); i == 0 {
			out = added{make([]float64, n), make([]float64, n)}
			low, high = make([]float64, n), make([]float64, n)
		}
		moved, err := get(list[i].Model)
		if err != nil {
			return out, err
		}
		last := i+1 == len(list) || list[i+1].Name != list[i].Name
		for e := range drawn {
			low[e] = math.Max(low[e], drawn[e].Low.Value-moved[e].Low.Value)
			high[e] = math.Max(high[e], moved[e].High.Value-drawn[e].High.Value)
			if last {
				out.lowerT[e], out.higherT[e] = out.lowerT[e]+low[e], out.higherT[e]+high[e]
				low[e], high[e] = 0, 0
			}
		}
	}
	return out, nil
}

// claimSwing returns what the elements of s see of a current claimA either way in what it reads.
func (m *Model) claimSwing(s *layout.Sensor, claimA float64) ([]Swing, error) {
	f, err := m.Field(0)
	if err != nil {
		return nil, err
	}
	var out []Swing
	for _, own := range f.ElementOwn(s) {
		top := own.Abs().Scale(claimA)
		out = append(out, Swing{Low: top.Scale(-1), High: top})
	}
	return out, nil
}
