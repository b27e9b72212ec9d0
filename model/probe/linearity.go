package probe

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// Linearity is how much the own output of a sensor per ampere changes between
// small signals and the currents up to the peak of a duty, because iron is not straight.
type Linearity struct {
	Change   bounded.Estimate // of the output per ampere, relative, without sign
	PeakA    float64          // own current, A
	AtA      float64          // that at which the change is largest, at most PeakA
	SmallTPA float64          // own reading per ampere at small signals, T/A
	AtTPA    float64          // the same at AtA
}

// Linearity returns the change for s in duty d:
//
//	e = |b(I)/b(0) − 1|
//
// with b the reading of the own current alone at steady current, per ampere, and I
// the largest value that its current reaches in d; where a curve begins flatter than it goes on, e may be largest
// below it: at the currents about that which brings a wall to its largest permeability too. From the second level on b(I)
// is that of the true state of iron; in space the change is taken on meshes that both
// share, so that their errors leave it. At the first it is only known as far as the
// permeability of iron is in d; twice that bound is taken, since other bars may
// carry flux away from the wall in d. Where a shield has a depth, its wall
// carries up to DepthFactor times the plane's flux density, so the bounds hold
// the change at I and at that many times I; so they do for what foreign sources fill of the
// walls beside the own current: see foreignDrive. Iron is as weak and its walls are as thin as tolerances and
// temperature let them be, places, openings and permeability at the ends of theirs that change it most. Without iron that can
// saturate the change is 0.
func (m *Model) Linearity(s *layout.Sensor, d *layout.Duty) (Linearity, error) {
	out, _, err := atWorst(m, drives, func(n *Model) (Linearity, float64, error) {
		l, err := n.linearity(s, d)
		return l, l.Change.High, err
	})
	return out, err
}

// linearity is Linearity of the layout as it stands.
func (m *Model) linearity(s *layout.Sensor, d *layout.Duty) (Linearity, error) {
	out := Linearity{PeakA: m.OwnPeakA(s, d)}
	out.AtA = out.PeakA
	small, err := m.planeOwn(s)
	if err != nil {
		return out, err
	}
	base := small.Abs()
	if !(base.Low > 0) {
		return out, &field.Unknown{Reason: field.ReadsNothing(m.Layout, s, base.Value)}
	}
	out.SmallTPA, out.AtTPA = base.Value, base.Value
	if !field.Saturable(m.Layout) || out.PeakA == 0 {
		return out, nil
	}
	n := m.For(d)
	drive, err := m.foreignDrive(s, out.PeakA)
	if err != nil {
		return out, err
	}
	if drive > 1 { // the range of the duty does not hold it
		n = m.Stated().For(d)
	}
	if !n.ExactIron() {
		at, err := n.planeOwn(s)
		if err != nil {
			return out, err
		}
		at.Bound *= 2
		out.AtTPA, out.Change = portable.Abs(at.V), changeOf(small, at)
		return out, nil
	}
	all, err := m.tryingA(s, out.PeakA)
	if err != nil {
		return out, err
	}
	for k, currentA := range all {
		at, change, err := n.stateChange(s, small, currentA)
		if err != nil {
			return out, err
		}
		if k == 0 || change.Value > out.Change.Value {
			out.AtA, out.AtTPA = currentA, portable.Abs(at.V)
		}
		out.Change = bounded.Most(out.Change, change)
	}
	k := 1.0
	for i := range m.Layout.Shields {
		k = math.Max(k, m.DepthFactor(layout.ShieldIndex(i)))
	}
	if k *= drive; k > 1 {
		_, c, err := n.stateChange(s, small, k*out.PeakA)
		if err != nil {
			return out, err
		}
		out.Change.Low, out.Change.High = math.Min(out.Change.Low, c.Low), math.Max(out.Change.High, c.High)
	}
	return out, nil
}

// tryingA returns peakA and, of those below it, the currents at which iron whose permeability first rises has its largest, by
// the flux densities that small signals tell, and √2 to both sides.
func (m *Model) tryingA(s *layout.Sensor, peakA float64) ([]float64, error) {
	out := []float64{peakA}
	for i := range m.Layout.Shields {
		atT, rises := m.SteepestAtT(layout.ShieldIndex(i))
		if !rises {
			continue
		}
		walls, err := m.aloneWalls(s, peakA)
		if err != nil {
			return nil, err
		}
		for _, k := range []float64{1, math.Sqrt2, math.Sqrt2 / 2} {
			if a := k * peakA * atT / walls[i].Value; a < peakA && a > 1e-3*peakA && !slices.Contains(out, a) {
				out = append(out, a)
			}
		}
	}
	return out, nil
}

// stateChange returns what s reads of currentA of its own alone per ampere, and its relative change from small signals: in
// space as a difference on the same meshes.
func (m *Model) stateChange(s *layout.Sensor, small bounded.Phasor, currentA float64) (at bounded.Phasor,
	change bounded.Estimate, err error) {
	if at, err = m.stateOwn(s, currentA); err != nil {
		return at, change, err
	}
	d, ok, err := m.OwnChange(s, currentA)
	if err != nil || !ok {
		return at, changeOf(small, at), err
	}
	base := small.Abs()
	v := portable.Abs(d.V) / base.Value
	w := (d.Bound + float64(v*small.Bound)) / base.Low
	return at, bounded.Estimate{Value: v, Low: math.Max(0, v-w), High: v + w}, nil
}

// changeOf returns |b/a − 1| with bounds of both.
func changeOf(a, b bounded.Phasor) bounded.Estimate {
	n := portable.Abs(a.V)
	v := portable.Abs(b.V-a.V) / n
	w := (float64(a.Bound*(1+v)) + b.Bound) / (n - a.Bound)
	return bounded.Estimate{Value: v, Low: math.Max(0, v-w), High: v + w}
}

// stateOwn returns what s reads of its own current alone per ampere, with iron in the
// state that currentA bring it to.
func (m *Model) stateOwn(s *layout.Sensor, currentA float64) (bounded.Phasor, error) {
	r, err := m.AloneReading(s, currentA)
	if err != nil {
		return bounded.Phasor{}, err
	}
	return r.Axis.Scale(complex(1/currentA, 0)), nil
}

// planeOwn returns what s reads of its own current per ampere at steady current, without
// what the end of a shield takes from it: that is common to all currents.
func (m *Model) planeOwn(s *layout.Sensor) (bounded.Phasor, error) {
	f, err := m.Field(0)
	if err != nil {
		return bounded.Phasor{}, err
	}
	return f.OwnWithoutEnds(s).Axis, nil
}

// calmFill is the share of the saturation up to which what foreign sources bring to a wall does not
// move its permeability.
const calmFill = 0.02

// mostDrive is how many times the own current is taken at most to stand for foreign sources.
const mostDrive = 1000

// foreignDrive returns how many times the own current of s, peakA, would fill any wall that foreign sources fill as
// far as it and they together do: the state at that current holds the true one. 1 where foreign sources bring next to
// nothing; an *Unknown where they fill a wall to which the own current brings next to nothing.
func (m *Model) foreignDrive(s *layout.Sensor, peakA float64) (float64, error) {
	alone, err := m.aloneWalls(s, peakA)
	if err != nil {
		return 1, err
	}
	steepest, err := m.SteepestIron()
	if err != nil {
		return 1, err
	}
	own := func(k layout.ShieldIndex) (float64, error) { return steepest * alone[k].High, nil }
	drive := 1.0
	for i := range m.Layout.Shields {
		shield := &m.Layout.Shields[i]
		sat, ok := SaturationT(&m.Layout.Materials[shield.Material])
		if !ok || !m.HasCurve(layout.ShieldIndex(i)) {
			continue
		}
		f, err := m.ForeignWall(layout.ShieldIndex(i), own, alone[i], calmFill*sat/littleWall)
		if err != nil {
			return 1, err
		}
		if !(f.WallT.High > calmFill*sat) {
			continue
		}
		k := (alone[i].High + f.WallT.High) / alone[i].Value
		if !(k <= mostDrive) {
			return 1, &field.Unknown{Reason: fmt.Sprintf(
				"foreign sources fill shield %q, to which its own current brings next to nothing", shield.ID)}
		}
		drive = math.Max(drive, k)
	}
	return drive, nil
}

// aloneWalls returns what peakA of the own current of s alone, steady, brings to each wall, were its iron linear.
func (m *Model) aloneWalls(s *layout.Sensor, peakA float64) ([]bounded.Estimate, error) {
	f, err := m.Small().Field(0)
	if err != nil {
		return nil, err
	}
	out := make([]bounded.Estimate, len(m.Layout.Shields))
	for i := range out {
		if out[i], err = m.OwnWall(f, layout.ShieldIndex(i), s, peakA); err != nil {
			return nil, err
		}
	}
	return out, nil
}
