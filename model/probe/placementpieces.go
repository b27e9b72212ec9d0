package probe

import (
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Displaced is the layout with one bar or shield at an end of one of its tolerances.
type Displaced struct {
	Name  string // of the tolerance: "x of bar \"U\""
	Axis  string // x, y or turn
	Piece string // the ID of the bar or shield
	By    float64
	Model *Model
}

// mostDisplaced is how many ends of tolerances of bars and shields are computed in a layout
// whose fields must be solved: each is a solution.
const mostDisplaced = 48

// Displacements returns the layout with each bar and shield that has tolerances of place at
// both ends of each, in layout order, bars first; where fields are solved, for small steady
// currents: see field.Model.Steady, against which they compare. The error is an *Unknown where there
// are more than can be solved.
func (m *Model) Displacements() ([]Displaced, error) {
	l := m.Layout
	var out []Displaced
	add := func(what, id string, p *layout.Placement, change func(layout.Shift) *layout.Layout) {
		if p == nil {
			return
		}
		for _, one := range []struct {
			axis string
			most float64
			by   func(float64) layout.Shift
		}{
			{"x", p.XM.V, func(v float64) layout.Shift { return layout.Shift{DX: v} }},
			{"y", p.YM.V, func(v float64) layout.Shift { return layout.Shift{DY: v} }},
			{"turn", p.TiltRad.V, func(v float64) layout.Shift { return layout.Shift{TiltRad: v} }},
		} {
			if !(one.most > 0) {
				continue
			}
			for _, by := range []float64{-one.most, one.most} {
				key := fmt.Sprintf("%s %s %s %x", what, id, one.axis, math.Float64bits(by))
				n := m.Variant(key, func() *layout.Layout { return change(one.by(by)) })
				out = append(out, Displaced{fmt.Sprintf("%s of %s %q", one.axis, what, id), one.axis, id, by,
					&Model{n}})
			}
		}
	}
	for i := range l.Bars {
		add("bar", l.Bars[i].ID, l.Bars[i].Placement,
			func(k layout.Shift) *layout.Layout { return l.DisplacedBar(layout.BarIndex(i), k) })
	}
	for i := range l.Shields {
		add("shield", l.Shields[i].ID, l.Shields[i].Placement,
			func(k layout.Shift) *layout.Layout { return l.DisplacedShield(layout.ShieldIndex(i), k) })
	}
	if len(out) > mostDisplaced && m.solved() {
		return nil, &field.Unknown{Reason: fmt.Sprintf("the tolerances of its bars and shields take %d solutions of the field, more than %d", len(out), mostDisplaced)}
	}
	return out, nil
}

// solved reports whether fields of the layout are solved on meshes, which a displaced piece
// does not share with the drawn one.
func (m *Model) solved() bool { return len(m.Layout.Shields) > 0 || len(m.Layout.Bonded) > 0 }

// placePieces adds to out what the tolerances of bars and shields do, each by itself: for the
// worst case they all add to the sensor's own. Products of two of them are left out.
func (m *Model) placePieces(s *layout.Sensor, d *layout.Duty, parts []waveform.Component, nominal []bounded.Phasor,
	size float64, out *Placed) error {
	list, err := m.Displacements()
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return nil
	}
	if m.solved() {
		if nominal, _, err = (&Model{m.Steady()}).phasors(s, parts); err != nil {
			return err
		}
	}
	worst := map[string]bounded.Estimate{}
	var names []string
	for _, k := range list {
		total, _, err := k.Model.For(d).phasors(s, parts)
		if err != nil {
			return err
		}
		change := difference(total, nominal, size)
		if m.solved() {
			change = apart(total, nominal, size)
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

// apart is difference for two fields that were solved on meshes of their own: both bounds count.
func apart(a, b []bounded.Phasor, size float64) bounded.Estimate {
	sum, bound := 0.0, 0.0
	for i := range a {
		sum += cmplx.Abs(a[i].V - b[i].V)
		bound += a[i].Bound + a[i].Quad + b[i].Bound + b[i].Quad
	}
	return bounded.Estimate{Value: sum / size, Low: math.Max(0, sum-bound) / size, High: (sum + bound) / size}
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

// piecesAdd returns what bars and shields within their tolerances of place add to the swings
// of elements that get gives: the larger end of each tolerance, all together.
func (m *Model) piecesAdd(get func(*Model) ([]Swing, error)) (added, error) {
	var out added
	list, err := m.Displacements()
	if err != nil || len(list) == 0 {
		return out, err
	}
	drawn, err := get(&Model{m.Steady()})
	if err != nil {
		return out, err
	}
	n := len(drawn)
	out = added{make([]float64, n), make([]float64, n)}
	low, high := make([]float64, n), make([]float64, n) // by the tolerance at hand
	for i := range list {
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
