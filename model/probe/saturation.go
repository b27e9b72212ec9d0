package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/waveform"
)

// SaturationT returns the saturation polarisation of a material in tesla: the
// declared one, else
//
//	J = B − μ0 H
//
// at the last point of its curve, which is low where the curve ends before the
// iron is full. False when the material declares neither.
func SaturationT(m *layout.Material) (float64, bool) {
	if m.SaturationT.Set {
		return m.SaturationT.V, true
	}
	if n := len(m.Curve); n > 0 {
		last := m.Curve[n-1]
		return last.FluxDensityT - si.Mu0HPerM*last.FieldAPerM, true
	}
	return math.NaN(), false
}

// Iron returns whether a shield of l is of iron, and the first material of iron whose saturation is not known.
func Iron(l *layout.Layout) (iron bool, unknown string) {
	for i := range l.Shields {
		m := &l.Materials[l.Shields[i].Material]
		iron = iron || m.Magnetic()
		if _, ok := SaturationT(m); m.Magnetic() && !ok && unknown == "" {
			unknown = m.ID
		}
	}
	return iron, unknown
}

// Fill is how far a duty fills the wall of a shield.
type Fill struct {
	Duty   *layout.Duty
	WallT  bounded.Estimate // flux density of the wall
	Share  bounded.Estimate // of the saturation
	Bar    layout.BarIndex  // the nearest bar that carries a current
	PeakA  float64          // its largest current, A
	LimitA float64          // its current at which the limit is reached, were the iron linear, A
}

// wallCertainty is the relative bound from which a flux density near or above
// its limit is worth the next level: a number that people read.
const wallCertainty = 0.02

// Fill returns the fill of shield i in the duty that fills it most; false when
// no duty carries a current. Where a duty may reach limit, a share of the
// saturation, its wall is computed to wallCertainty if a level gives it, and so
// is that of the fullest duty from half of the limit on.
func (m *Model) Fill(i layout.ShieldIndex, limit float64) (Fill, bool, error) {
	var worst Fill
	sat, ok := SaturationT(&m.Layout.Materials[m.Layout.Shields[i].Material])
	if !ok {
		return worst, false, &field.Unknown{Reason: "its material declares no saturation"}
	}
	for k := range m.Layout.Duties {
		d := &m.Layout.Duties[k]
		bar, peak, err := m.drivingBar(i, d)
		if err != nil {
			return worst, false, err
		}
		if bar == layout.None {
			continue
		}
		wall, err := m.wallUpTo(i, d, limit*sat)
		if err != nil {
			return worst, false, err
		}
		if worst.Duty == nil || !(wall.High <= worst.WallT.High) {
			worst = Fill{Duty: d, WallT: wall, Bar: bar, PeakA: peak}
		}
	}
	if worst.Duty == nil {
		return worst, false, nil
	}
	wall, err := m.wallUpTo(i, worst.Duty, limit*sat/2)
	if err != nil {
		return worst, false, err
	}
	linear, err := m.smallWallT(i, worst.Duty)
	if err != nil {
		return worst, false, err
	}
	worst.WallT, worst.Share = wall, wall.Scale(1/sat)
	worst.LimitA = worst.PeakA * limit * sat / math.Max(linear, wall.Value)
	return worst, true, nil
}

// wallUpTo returns the flux density of the wall in d: at the level of m when
// that is surely at most atT, else at the first that gives wallCertainty.
func (m *Model) wallUpTo(i layout.ShieldIndex, d *layout.Duty, atT float64) (bounded.Estimate, error) {
	if waveform.Of(m.Layout, d).Steady() {
		m = m.Stated() // one state costs less than a range of permeabilities
	}
	for {
		wall, err := m.WallPeak(i, d)
		if err != nil || wall.High <= atT || wall.Certainty() <= wallCertainty {
			return wall, err
		}
		finer, ok := m.Refined()
		if !ok {
			return wall, nil
		}
		m = finer
	}
}

// smallWallT returns the flux density that duty d would bring to the wall if the
// iron kept its permeability of small signals, in tesla.
func (m *Model) smallWallT(i layout.ShieldIndex, d *layout.Duty) (float64, error) {
	sum, err := m.linearPeak(i, d)
	return sum.Value, err
}

// linearPeak returns the sum over components of what each brings to the wall of shield i, a
// fault at its first peak, and in its bound the left-over.
func (m *Model) linearPeak(i layout.ShieldIndex, d *layout.Duty) (bounded.Estimate, error) {
	sum := bounded.Exact(0)
	cur := waveform.Of(m.Layout, d)
	for k := range cur.Components {
		c := &cur.Components[k]
		w, err := m.Wall(i, c)
		if err != nil {
			return sum, err
		}
		if c.FreqHz > 0 {
			w.Peak = w.Peak.Scale(cur.PeakFactor)
		}
		sum = sum.Plus(w.Peak)
	}
	left, err := m.LeftOverWall(i, cur)
	sum.High += left
	return sum, err
}

// drivingBar returns the bar nearest to shield i that carries a current in d,
// and the largest that its current reaches; None when none does.
func (m *Model) drivingBar(i layout.ShieldIndex, d *layout.Duty) (layout.BarIndex, float64, error) {
	sums := make([]float64, len(m.Layout.Bars))
	cur := waveform.Of(m.Layout, d)
	for k := range cur.Components {
		c := &cur.Components[k]
		barsA, err := m.BarsA(c)
		if err != nil {
			return layout.None, 0, err
		}
		for b, a := range barsA {
			if c.FreqHz > 0 {
				a *= complex(cur.PeakFactor, 0)
			}
			sums[b] += cmplx.Abs(a)
		}
	}
	region := m.Layout.Shields[i].Region()
	best, least := layout.BarIndex(layout.None), math.Inf(1)
	for b, a := range sums {
		if gap, _, _ := geom.GapRegionsM(region, geom.Solid(m.Layout.Bars[b].Polygon())); a > 0 && gap < least {
			best, least = layout.BarIndex(b), gap
		}
	}
	if best == layout.None {
		return best, 0, nil
	}
	return best, sums[best], nil
}

// SectionWallPeak is WallPeak in the plane section, as if bars and shields had no
// end: what a plane study promises.
func (m *Model) SectionWallPeak(i layout.ShieldIndex, d *layout.Duty) (bounded.Estimate, error) {
	l := *m.Layout
	l.Shields = append([]layout.Shield(nil), l.Shields...)
	for k := range l.Shields {
		l.Shields[k].DepthM, l.Shields[k].Long = layout.Num{}, true
	}
	n := m.Section()
	n.Layout = &l
	return n.Stated().WallPeak(i, d)
}

// WallPeak returns the largest flux density that the wall of shield i reaches
// over all time of duty d; where the true state of iron is not asked for, all components
// together at their worst phase.
func (m *Model) WallPeak(i layout.ShieldIndex, d *layout.Duty) (bounded.Estimate, error) {
	n := m.For(d)
	if n.ExactIron() {
		return n.StatePeak(i, waveform.Of(m.Layout, d))
	}
	return n.linearPeak(i, d)
}
