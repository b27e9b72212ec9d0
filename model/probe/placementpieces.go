package probe

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Displaced is the layout with one bar, shield or material at an end of one of its tolerances.
type Displaced struct {
	Name  string // of the tolerance: "x of bar \"U\""
	Unit  string // of By: m, rad, or 1 for a share
	Piece string // the ID of the bar, shield or material
	By    float64
	Model *Model
	Drawn *Model // the layout as drawn, computed in the same way

	Placed bool // a tolerance of place, not of a size or a material

	moving, drawnMoving *Model // Model and Drawn at every frequency: see field.Model.Small
}

// mostDisplaced is how many ends of tolerances of bars and shields are computed in a layout
// whose fields must be solved: each is a solution.
const mostDisplaced = 48

// Displacements returns the layout with each bar, shield and material that has tolerances at
// both ends of each, in layout order, bars first; where fields are solved, for small steady
// currents: see field.Model.Steady. A conductivity works where currents alternate, so that its ends are
// computed at every frequency: see field.Model.Small. Each compares with its Drawn. The error is an *Unknown where there
// are more than can be solved.
func (m *Model) Displacements() ([]Displaced, error) {
	l := m.Layout
	var out []Displaced
	steady, small := &Model{m.Steady()}, &Model{m.Small()}
	ends := func(name, unit, what, id string, low, high float64, change func(float64) *layout.Layout) {
		drawn, way := steady, (*field.Model).Steady
		if name == conductivity {
			drawn, way = small, (*field.Model).Small
		}
		for _, by := range []float64{low, high} {
			key := fmt.Sprintf("%s %s %s %x", what, id, name, math.Float64bits(by))
			n := m.Variant(key, func() *layout.Layout { return change(by) })
			out = append(out, Displaced{Name: fmt.Sprintf("%s of %s %q", name, what, id), Unit: unit, Piece: id, By: by,
				Model: &Model{way(n)}, Drawn: drawn, Placed: slices.Contains(places, name),
				moving: &Model{n.Small()}, drawnMoving: small})
		}
	}
	add := func(name, unit, what, id string, most float64, change func(float64) *layout.Layout) {
		if most > 0 {
			ends(name, unit, what, id, -most, most, change)
		}
	}
	place := func(what, id string, p *layout.Placement, change func(layout.Shift) *layout.Layout) {
		if p == nil {
			return
		}
		add("x", "m", what, id, p.XM.V, func(v float64) *layout.Layout { return change(layout.Shift{DX: v}) })
		add("y", "m", what, id, p.YM.V, func(v float64) *layout.Layout { return change(layout.Shift{DY: v}) })
		add("turn", "rad", what, id, p.TiltRad.V, func(v float64) *layout.Layout { return change(layout.Shift{TiltRad: v}) })
	}
	for i := range l.Bars {
		place("bar", l.Bars[i].ID, l.Bars[i].Placement,
			func(k layout.Shift) *layout.Layout { return l.DisplacedBar(layout.BarIndex(i), k) })
	}
	for i := range l.Shields {
		s, at := &l.Shields[i], layout.ShieldIndex(i)
		place("shield", s.ID, s.Placement, func(k layout.Shift) *layout.Layout { return l.DisplacedShield(at, k) })
		add("wall", "m", "shield", s.ID, s.WallTolM.V, func(v float64) *layout.Layout { return l.WithSizes(at, v, 0) })
		add("opening", "m", "shield", s.ID, s.OpeningTolM.V, func(v float64) *layout.Layout { return l.WithSizes(at, 0, v) })
	}
	for i := range l.Materials {
		mat, at := &l.Materials[i], layout.MaterialIndex(i)
		if !l.Shielding(at) {
			continue
		}
		if mat.Magnetic() {
			add("permeability", "1", "material", mat.ID, mat.PermeabilityTol.V,
				func(v float64) *layout.Layout { return l.WithPermeability(at, 1+v) })
		}
		if low, high := mat.ConductivityShares(); high > low && mat.SigmaSPerM.V > 0 && m.alternates() {
			ends(conductivity, "1", "material", mat.ID, low-1, high-1,
				func(v float64) *layout.Layout { return l.WithConductivity(at, 1+v) })
		}
	}
	if len(out) > mostDisplaced && m.solved() {
		return nil, &field.Unknown{Reason: fmt.Sprintf("the tolerances of its bars and shields take %d solutions of the field, more than %d", len(out), mostDisplaced)}
	}
	return out, nil
}

// places are the tolerances of place.
var places = []string{"x", "y", "turn"}

// conductivity names the tolerance that works where currents alternate.
const conductivity = "conductivity"

// alternates reports whether any duty has an alternating current.
func (m *Model) alternates() bool {
	for i := range m.Layout.Duties {
		for _, c := range waveform.Of(m.Layout, &m.Layout.Duties[i]).Components {
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
	size float64, out *Placed) error {
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
		change := difference(total, nominal, size)
		if m.solved() {
			drawn, _, err := k.Drawn.phasors(s, parts)
			if err != nil {
				return err
			}
			change = apart(total, drawn, size)
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
