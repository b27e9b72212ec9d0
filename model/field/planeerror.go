package field

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// PlaneError is how far the plane section may be off at one sensor, as shares of
// its own reading.
type PlaneError struct {
	Worst     bounded.Estimate // largest of Own and Stray
	Own       float64          // of the own reading: Ends and Depth together
	Ends      float64          // since the own bar ends or bends
	Depth     float64          // since shields end
	Stray     float64          // of another circuit's field on the axis, both carrying the same current
	Beside    layout.CircuitIndex
	StraightM float64            // how far the own bar stays straight along z, to its nearer end or bend
	Shield    layout.ShieldIndex // the stubbiest shield; None when all are long
	Wall      float64            // factor by which its wall may carry more than the section says
	Factor    float64            // factor by which a neighbour's field on the axis may be larger
	Long      bool               // no bar and no shield declares an end, or may have one
	Open      bool               // a shield declares no depth: Worst holds none and its outer width
	InSpace   bool               // computed: verdicts take the values in space
	Reason    string             // why verdicts take the plane section although something declares an end
}

// PlaneError returns the error of the plane section at s at direct current. Where
// the layout is computed in space it is the difference. Else the part of bars is
// computed from their centre lines, that of shields is a stated bound (see DepthFactor). The error is an *Unknown where
// the field is, where s reads nothing of its own current, and where s stands outside the middle half of a shield that ends.
func (m *Model) PlaneError(s *layout.Sensor) (PlaneError, error) {
	out := PlaneError{Beside: layout.None, Shield: layout.None, Wall: 1, Factor: 1, Long: true,
		Reason: m.extent().reason}
	f, err := m.Field(0)
	if err != nil {
		return out, err
	}
	if w, ok := f.way.(solid); ok {
		return m.planeErrorInSpace(f, w.space, s)
	}
	l := m.Layout
	if f.Own(s).Axis.V == 0 {
		return out, &Unknown{ReadsNothing(l, s, 0)}
	}
	slender := 0.0
	for i := range l.Shields {
		k := &l.Shields[i]
		r := slenderness(l, layout.ShieldIndex(i))
		if r == 0 || !l.Materials[k.Material].Magnetic() {
			continue
		}
		out.Long = false
		out.Open = out.Open || DepthUnknown(k)
		if k.DepthM.Set && k.Region().Box().Contains(s.At.Point()) && math.Abs(s.At.Z.V-k.At.Z.V) > k.DepthM.V/4 {
			return out, &Unknown{fmt.Sprintf("it stands outside the middle half of shield %q, where no bound is known", k.ID)}
		}
		if r > slender {
			slender, out.Shield, out.Wall = r, layout.ShieldIndex(i), depthFactor(l, layout.ShieldIndex(i))
		}
	}
	out.Depth = depthLoss(l)
	if slender > 0 {
		out.Factor = strayAxisFactor
	}
	own := f.OwnInSection(s).Axis.Abs()
	out.StraightM = straightM(&l.Bars[s.Reads], s)
	_, ends := f.OwnEndsT(s)
	out.Worst = bounded.Around(ends, 0).Over(own).Plus(bounded.Exact(out.Depth))
	out.Ends, out.Own = ends/own.Value, out.Worst.Value
	for b := range l.Bars {
		if l.Bars[b].LengthM.Set || len(l.Bars[b].Run) > 0 {
			out.Long = false
		}
	}
	for c := range l.Circuits {
		if !s.Hears(layout.CircuitIndex(c)) {
			continue
		}
		_, ends := f.EndsT(s.Elements(), layout.CircuitIndex(c))
		grown := f.BesideInSection(s, layout.CircuitIndex(c)).Axis.Abs().Scale(out.Factor - 1)
		stray := grown.Plus(bounded.Exact(ends)).Over(own)
		if !(stray.Value <= out.Stray) {
			out.Stray, out.Beside = stray.Value, layout.CircuitIndex(c)
		}
		if !(stray.High <= out.Worst.High) {
			out.Worst = stray
		}
	}
	if out.Open {
		out.Worst.Low = 0
	}
	return out, nil
}

// planeErrorInSpace compares the plane section with the field in space at s:
//
//	own    |P/S − 1|            P, S: what s reads of its own current in the section and in space
//	stray  |P_c − S_c| / |S|    the same of another circuit c at an equal current
func (m *Model) planeErrorInSpace(f *Field, in *spaceField, s *layout.Sensor) (PlaneError, error) {
	l := m.Layout
	out := PlaneError{Beside: layout.None, Shield: layout.None, Wall: 1, Factor: 1, InSpace: true}
	scale := f.Own(s).Axis.Abs()
	if scale.Value == 0 {
		return out, &Unknown{ReadsNothing(l, s, 0)}
	}
	share := func(section, space bounded.Phasor) bounded.Estimate {
		d := portable.Abs(section.V - space.V)
		return bounded.Around(d, section.Bound+space.Bound).Over(scale)
	}
	out.Worst = share(f.OwnInSection(s).Axis, f.Own(s).Axis)
	out.Own, out.StraightM = out.Worst.Value, straightM(&l.Bars[s.Reads], s)
	for c := range l.Circuits {
		if !s.Hears(layout.CircuitIndex(c)) {
			continue
		}
		section, space := f.BesideInSection(s, layout.CircuitIndex(c)).Axis, f.Beside(s, layout.CircuitIndex(c)).Axis
		e := share(section, space)
		if !(e.Value <= out.Stray) {
			out.Stray, out.Beside = e.Value, layout.CircuitIndex(c)
			out.Factor = portable.Abs(space.V) / portable.Abs(section.V)
		}
		if !(e.High <= out.Worst.High) {
			out.Worst = e
		}
	}
	if k := nearestIron(f, in, s); k != layout.None {
		peakA := make([]complex128, len(l.Circuits))
		peakA[s.Circuit] = 1
		section, err := f.section.wall(k, f.BarsA(peakA))
		if err != nil {
			return out, err
		}
		solid, err := f.Wall(k, peakA)
		if err != nil {
			return out, err
		}
		out.Shield, out.Wall = k, solid.Peak.Value/section.Peak.Value
	}
	return out, nil
}

// nearestIron returns the shield of iron in space that is nearest to s; None when
// there is none.
func nearestIron(f *Field, in *spaceField, s *layout.Sensor) layout.ShieldIndex {
	best, least := layout.ShieldIndex(layout.None), math.Inf(1)
	for i := range in.piece {
		if in.piece[i] < 0 {
			continue
		}
		if d := f.layout.Shields[i].Region().DistanceM(s.At.Point()); d < least {
			best, least = layout.ShieldIndex(i), d
		}
	}
	return best
}

// StraightFor returns the length that a straight bar centred on the section must
// have so that the share of the own reading of s that its ends take stays within
// limit, in metres, rounded up to a millimetre; NaN when none up to ten metres does.
func (m *Model) StraightFor(s *layout.Sensor, limit float64) float64 {
	f, err := m.Field(0)
	if err != nil {
		return math.NaN()
	}
	own := f.OwnInSection(s).Axis.Abs()
	share := func(lengthM float64) float64 {
		changed := *f
		bars := append([]layout.Bar(nil), m.Layout.Bars...)
		for _, b := range m.Layout.Circuits[s.Circuit].Members {
			bars[b.Bar].LengthM = layout.Num{V: lengthM, Set: true}
			bars[b.Bar].Run = nil
		}
		changed.layout = m.Layout.WithBars(bars)
		_, ends := f.shares.ends(s.Circuit, func(b layout.BarIndex) (float64, float64) {
			return changed.sectionEndsT(s.Elements(), b)
		})
		return ends / (own.Low - ends) // a straight bar reads less than an endless one
	}
	low, high := 0.0, 10.0
	if !(share(high) <= limit) {
		return math.NaN()
	}
	for range 40 {
		if mid := (low + high) / 2; share(mid) <= limit {
			high = mid
		} else {
			low = mid
		}
	}
	return math.Ceil(high*1e3) / 1e3
}

// DepthFor returns the depth from which on the own reading behind shield i is
// within limit of the plane section, in metres, rounded up to a millimetre.
func DepthFor(l *layout.Layout, i layout.ShieldIndex, limit float64) float64 {
	r := 1.1 * portable.Pow(limit/(ownLoss*ownLossSpread), 1/ownLossPower)
	size := l.Shields[i].Region().Box().Size()
	return math.Ceil(math.Max(size.X, size.Y)/r*1e3) / 1e3
}
