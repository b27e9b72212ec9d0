package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// Placed is what the placement tolerances of a sensor, of bars and of shields do to its
// reading in one duty, all relative to its own reading at the nominal place: the largest over the views of the duty, so
// that what it adds to the own current beside its main part makes nothing smaller; see views.
type Placed struct {
	Own      bounded.Estimate // largest change of the own reading alone, by the sensor's tolerances
	Total    bounded.Estimate // largest change of own and stray together, by all tolerances
	At       layout.Shift     // of the sensor, where its part of Total is reached
	Parts    []Moving
	Combined float64 // root sum of squares of Parts
	// Idle says that what the sensor reads carries nothing in the duty: all shares are of ReachA then, of FullScaleA
	// where that is none.
	Idle bool
}

// Moving is the change of the whole reading by one tolerance alone, the larger side.
type Moving struct {
	Name   string // x, y, z, tilt, yaw; "x of bar \"U\""
	Change float64
	Piece  bool // of a bar or a shield
}

// tolerance returns the name of the only tolerance that k moves; false for none and for
// several.
func tolerance(k *layout.Shift) (string, bool) {
	name, moves := "", 0
	for _, one := range []struct {
		name string
		by   float64
	}{{"x", k.DX}, {"y", k.DY}, {"z", k.DZ}, {"tilt", k.TiltRad}, {"yaw", k.YawRad}} {
		if one.by != 0 {
			name = one.name
			moves++
		}
	}
	return name, moves == 1
}

// WithinTolerance returns s as drawn and at the other places of its placement
// tolerances: each at its middle or at either end. The middles count, since the own
// field is largest straight above the bar.
func (m *Model) WithinTolerance(s *layout.Sensor) []layout.Sensor {
	shifts := s.Shifts(m.inSpace())
	out := make([]layout.Sensor, len(shifts))
	for i, k := range shifts {
		out[i] = s.Displaced(k)
	}
	return out
}

// Placement returns what the tolerances of s, of bars and of shields do in duty d: the worst
// corner of those of s, and what each of the others adds by itself. The error is an
// *Unknown when the field is, or when what s reads carries nothing in any duty and no need claims a range.
func (m *Model) Placement(s *layout.Sensor, d *layout.Duty) (Placed, error) {
	m = m.For(d)
	perA, err := m.scaleOf(s)
	if err != nil {
		return Placed{}, err
	}
	parts := m.Currents(d).Components
	nominal, own, err := m.phasors(s, parts)
	if err != nil {
		return Placed{}, err
	}
	seen := viewsOf(parts, own, drawnByPoints(d, s.Circuit))
	idle := len(seen) == 0
	if idle {
		reachA, err := m.ReachA(s)
		if err != nil {
			return Placed{}, err
		}
		if reachA == 0 { // no more than harmonics and ripple
			reachA = m.FullScaleA(s)
		}
		if reachA == 0 {
			return Placed{}, &field.Unknown{Reason: "what it reads carries no current in any duty"}
		}
		seen = views{wholeView(parts, perA.Value*reachA)}
	}
	out := Placed{Idle: idle, Parts: []Moving{{Name: "x"}, {Name: "y"}, {Name: "tilt"}}}
	for _, k := range s.Shifts(m.inSpace())[1:] {
		moved := s.Displaced(k)
		// The bounds of a change are those of the place drawn: see difference.
		total, ownMoved, err := m.Rough().phasors(&moved, parts)
		if err != nil {
			return Placed{}, err
		}
		change, ownChange := seen.difference(total, nominal), seen.difference(ownMoved, own)
		if change.Value > out.Total.Value {
			out.Total, out.At = change, k
		}
		out.Own = bounded.LargerOf(out.Own, ownChange)
		if name, ok := tolerance(&k); ok {
			out.part(name, false, change.Value)
		}
	}
	if err := m.placePieces(s, d, parts, nominal, seen, &out); err != nil {
		return Placed{}, err
	}
	sum := 0.0
	for _, p := range out.Parts {
		sum += float64(p.Change * p.Change)
	}
	out.Combined = math.Sqrt(sum)
	return out, nil
}

// part keeps the larger change by one tolerance.
func (p *Placed) part(name string, piece bool, change float64) {
	for i := range p.Parts {
		if p.Parts[i].Name == name {
			p.Parts[i].Change = math.Max(p.Parts[i].Change, change)
			return
		}
	}
	p.Parts = append(p.Parts, Moving{name, change, piece})
}

// WorstPlacement returns Placement in the continuous or peak duty where its value is largest, and that duty: nil where there
// is none in which what s reads carries a current, that which cannot be computed with an
// error. The bounds of Total are those of the largest over all of them.
func (m *Model) WorstPlacement(s *layout.Sensor) (Placed, *layout.Duty, error) {
	var worst Placed
	var total bounded.Estimate
	var at *layout.Duty
	if m.FullScaleA(s) == 0 {
		return worst, nil, nil
	}
	for i := range m.Layout.Duties {
		d := &m.Layout.Duties[i]
		if d.Kind == layout.Fault {
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
