package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Shift is one displaced place of a sensor, within its tolerances.
type Shift struct {
	DX, DY, TiltRad float64
}

// Placed is what the placement tolerances of a sensor do to its reading in one
// duty, all relative to its own reading at the nominal place.
type Placed struct {
	Own      bounded.Estimate // largest change of the own reading alone
	Total    bounded.Estimate // largest change of own and stray together
	At       Shift            // where Total is reached
	X, Y     float64          // change of the whole reading by each tolerance alone, the larger side
	Tilt     float64
	Combined float64 // root sum of squares of the three
}

// shifts returns the corners, the middles of the edges and the middles of the
// faces of the box of tolerances. Over so small a box the reading is either
// monotone in each tolerance or has its peak near the middle.
func shifts(p *layout.Placement) []Shift {
	var out []Shift
	for _, x := range []float64{0, -1, 1} {
		for _, y := range []float64{0, -1, 1} {
			for _, t := range []float64{0, -1, 1} {
				if x != 0 || y != 0 || t != 0 {
					out = append(out, Shift{x * p.XM.V, y * p.YM.V, t * p.TiltRad.V})
				}
			}
		}
	}
	return out
}

// WithinTolerance returns s as drawn and at the 26 other places of its placement
// tolerances: each of x, y and tilt at its middle or at either end. The middles
// count, since the own field is largest straight above the bar.
func WithinTolerance(s *layout.Sensor) []layout.Sensor {
	out := []layout.Sensor{*s}
	if s.Placement == nil {
		return out
	}
	for _, k := range shifts(s.Placement) {
		out = append(out, s.Moved(geom.Point{X: k.DX, Y: k.DY}, k.TiltRad))
	}
	return out
}

// Placement returns what the tolerances of s do in duty d. The error is an
// *Unknown when the field is, or when the own bar carries nothing in d.
func (m *Model) Placement(s *layout.Sensor, d *layout.Duty) (Placed, error) {
	m = m.For(d)
	if _, err := m.scaleOf(s); err != nil {
		return Placed{}, err
	}
	parts := waveform.Of(m.Layout, d).Components
	nominal, own, err := m.phasors(s, parts)
	if err != nil {
		return Placed{}, err
	}
	size := 0.0
	for i := range own {
		size += cmplx.Abs(own[i].V)
	}
	if size == 0 {
		return Placed{}, &field.Unknown{Reason: "what it reads carries no current in duty " + d.ID}
	}
	var out Placed
	for _, k := range shifts(s.Placement) {
		moved := s.Moved(geom.Point{X: k.DX, Y: k.DY}, k.TiltRad)
		total, ownMoved, err := m.phasors(&moved, parts)
		if err != nil {
			return Placed{}, err
		}
		change, ownChange := difference(total, nominal, size), difference(ownMoved, own, size)
		if change.Value > out.Total.Value {
			out.Total, out.At = change, k
		}
		out.Own = bounded.LargerOf(out.Own, ownChange)
		switch {
		case k.DX != 0 && k.DY == 0 && k.TiltRad == 0:
			out.X = math.Max(out.X, change.Value)
		case k.DX == 0 && k.DY != 0 && k.TiltRad == 0:
			out.Y = math.Max(out.Y, change.Value)
		case k.DX == 0 && k.DY == 0:
			out.Tilt = math.Max(out.Tilt, change.Value)
		}
	}
	out.Combined = math.Sqrt(out.X*out.X + out.Y*out.Y + out.Tilt*out.Tilt)
	return out, nil
}

// WorstPlacement returns Placement in the continuous or peak duty where its value is largest, of those in which
// what s reads carries a current, and that duty: nil where there is none, that which cannot be computed with an
// error. The bounds of Total are those of the largest over all of them.
func (m *Model) WorstPlacement(s *layout.Sensor) (Placed, *layout.Duty, error) {
	var worst Placed
	var total bounded.Estimate
	var at *layout.Duty
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind == layout.Fault || m.OwnPeakA(s, d) == 0 {
			continue
		}
		p, err := m.Placement(s, d)
		if err != nil {
			return worst, d, err
		}
		total = bounded.Most(total, p.Total)
		if at == nil || !(p.Total.Value <= worst.Total.Value) && !math.IsNaN(worst.Total.Value) {
			worst, at = p, d
		}
	}
	worst.Total = total
	return worst, at, nil
}

// phasors returns the whole and the own reading of s in each component.
func (m *Model) phasors(s *layout.Sensor, parts []waveform.Component) (total, own []bounded.Phasor, err error) {
	for i := range parts {
		r, err := m.Read(s, &parts[i])
		if err != nil {
			return nil, nil, err
		}
		own = append(own, r.Own)
		total = append(total, r.Own.Add(r.Stray))
	}
	return total, own, nil
}

// difference returns the sum over components of |a-b| over size. The errors of
// two places a tolerance apart are nearly the same, so their difference carries
// the bound in proportion to the change, not to the field.
func difference(a, b []bounded.Phasor, size float64) bounded.Estimate {
	sum, bound := 0.0, 0.0
	for i := range a {
		d := cmplx.Abs(a[i].V - b[i].V)
		sum += d
		if n := cmplx.Abs(b[i].V); n > 0 {
			bound += d * (b[i].Bound + b[i].Quad) / n
		}
	}
	return bounded.Estimate{Value: sum / size, Low: math.Max(0, sum-bound) / size, High: (sum + bound) / size}
}

// Height returns the relative change of the own reading per metre of distance
// from the bar, at the nominal place, by a central difference of one micrometre.
func (m *Model) Height(s *layout.Sensor) (float64, error) {
	const h = 1e-6
	f, err := m.Field(0)
	if err != nil {
		return 0, err
	}
	n := m.Layout.Outward(s)
	up, down := s.Moved(n.Scale(h), 0), s.Moved(n.Scale(-h), 0)
	a := f.Own(&up).Axis.V
	b := f.Own(&down).Axis.V
	own := f.Own(s).Axis.V
	return real(a-b) / (2 * h * real(own)), nil
}

// GapPrice is what a sensor pays in own reading for a wider gap to its bar:
// shares of the reading as drawn, positive where it falls.
type GapPrice struct {
	PerMetre float64 // slope at the place as drawn, 1/m
	Whole    float64 // over the whole of the wider gap
}

// PriceOfGap returns what moving s straight away from its bar by moreM costs.
func (m *Model) PriceOfGap(s *layout.Sensor, moreM float64) (GapPrice, error) {
	slope, err := m.Height(s)
	if err != nil {
		return GapPrice{}, err
	}
	away := s.Moved(m.Layout.Outward(s).Scale(moreM), 0)
	before, err := m.scaleOf(s)
	if err != nil {
		return GapPrice{}, err
	}
	after, err := m.OwnPerAmpere(&away)
	if err != nil {
		return GapPrice{}, err
	}
	return GapPrice{PerMetre: -slope, Whole: 1 - after.Value/before.Value}, nil
}
