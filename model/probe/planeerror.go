package probe

import (
	"fmt"
	"math"

	"busgauss/model/layout"
)

// PlaneError is how far the plane section may be off at one sensor, as shares of
// its own reading.
type PlaneError struct {
	Worst     Estimate // largest of Own and Stray
	Own       float64  // of the own reading: Ends and Depth together
	Ends      float64  // since the own bar ends or bends
	Depth     float64  // since shields end
	Stray     float64  // of another bar's field on the axis, both bars carrying the same current
	StrayBar  layout.BarIndex
	StraightM float64            // how far the own bar stays straight along z, to its nearer end or bend
	Shield    layout.ShieldIndex // the stubbiest shield; None when all are long
	Wall      float64            // factor by which its wall may carry more than the section says
	Factor    float64            // factor by which a neighbour's field on the axis may be larger
	Long      bool               // no bar and no shield declares an end
}

// PlaneError returns the error of the plane section at s at direct current. The
// part of bars is computed from their centre lines, that of shields is a stated
// bound (see depthFactor). The error is an *Unknown where the field is, and where
// s stands outside the middle half of a shield that ends.
func (m *Model) PlaneError(s *layout.Sensor) (PlaneError, error) {
	out := PlaneError{StrayBar: layout.None, Shield: layout.None, Wall: 1, Factor: 1, Long: true}
	f, err := m.Field(0)
	if err != nil {
		return out, err
	}
	l := m.Layout
	slender := 0.0
	for i := range l.Shields {
		k := &l.Shields[i]
		r := slenderness(l, layout.ShieldIndex(i))
		if r == 0 {
			continue
		}
		out.Long = false
		if k.Region().Box().Contains(s.At.Point()) && math.Abs(s.At.Z.V-k.At.Z.V) > k.DepthM.V/4 {
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
	own := f.section(s, s.Reads).Axis.Abs()
	out.StraightM = straightM(&l.Bars[s.Reads], s)
	_, ends := f.endsT(s, s.Elements(), s.Reads)
	out.Worst = around(ends, 0).Over(own).Plus(Exact(out.Depth))
	out.Ends, out.Own = ends/own.Value, out.Worst.Value
	for b := range l.Bars {
		if l.Bars[b].LengthM.Set || len(l.Bars[b].Run) > 0 {
			out.Long = false
		}
		if layout.BarIndex(b) == s.Reads {
			continue
		}
		_, ends := f.endsT(s, s.Elements(), layout.BarIndex(b))
		grown := f.section(s, layout.BarIndex(b)).Axis.Abs().Scale(out.Factor - 1)
		stray := grown.Plus(Exact(ends)).Over(own)
		if !(stray.Value <= out.Stray) {
			out.Stray, out.StrayBar = stray.Value, layout.BarIndex(b)
		}
		if !(stray.High <= out.Worst.High) {
			out.Worst = stray
		}
	}
	return out, nil
}

// StraightFor returns the length that a straight bar centred on the section must
// have so that the share of the own reading of s that its ends take stays within
// limit, in metres, rounded up to a millimetre; NaN when none up to ten metres does.
func (m *Model) StraightFor(s *layout.Sensor, limit float64) float64 {
	f, err := m.Field(0)
	if err != nil {
		return math.NaN()
	}
	own := f.section(s, s.Reads).Axis.Abs()
	share := func(lengthM float64) float64 {
		changed := *f
		bars := append([]layout.Bar(nil), m.Layout.Bars...)
		bars[s.Reads].LengthM = layout.Num{V: lengthM, Set: true}
		bars[s.Reads].Run = nil
		changed.layout = m.Layout.WithBars(bars)
		_, ends := changed.endsT(s, s.Elements(), s.Reads)
		return ends / own.Low
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
	r := 1.1 * math.Pow(limit/(ownLoss*ownLossSpread), 1/ownLossPower)
	size := l.Shields[i].Region().Box().Size()
	return math.Ceil(math.Max(size.X, size.Y)/r*1e3) / 1e3
}
