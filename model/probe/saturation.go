package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/material"
	"busgauss/model/portable"
	"busgauss/model/si"
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
		return last.FluxDensityT - float64(si.Mu0HPerM*last.FieldAPerM), true
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

// KneeT returns the polarisation of a material at which its differential permeability has fallen to share of its
// largest, in tesla: see material.KneeT. False where the material declares no curve or one that ends before.
func KneeT(m *layout.Material, share float64) (float64, bool) {
	points := make([]material.CurvePoint, len(m.Curve))
	for i, p := range m.Curve {
		points[i] = material.CurvePoint{FieldAPerM: p.FieldAPerM, FluxDensityT: p.FluxDensityT}
	}
	return material.KneeT(points, share)
}

// Iron counts as full at FullShare of its saturation, or at the knee of its curve where FullSlope of its largest
// differential permeability is left; common practice both.
const (
	FullShare = 0.8
	FullSlope = 0.1
)

// FullAt returns the share of its saturation satT at which iron counts as full: share, or the knee of its curve for
// slope where that lies lower, and whether it is the knee, at kneeT tesla.
func FullAt(m *layout.Material, satT, share, slope float64) (at, kneeT float64, knee bool) {
	kneeT, ok := KneeT(m, slope)
	if !ok || !(kneeT/satT < share) {
		return share, math.NaN(), false
	}
	return kneeT / satT, kneeT, true
}

// Fill is how far a duty fills the wall of a shield, foreign sources counted, with its wall as thin, its iron as
// weak, openings and permeability as temperature and tolerances let them be at their worst.
type Fill struct {
	Duty    *layout.Duty     // nil where no duty gives a current and foreign sources alone fill it
	WallT   bounded.Estimate // flux density of the wall
	SatT    float64          // saturation of its iron
	Share   bounded.Estimate // of it
	Foreign ForeignWall      // part of WallT
	Bar     layout.BarIndex  // the nearest bar that carries a current; None with Duty
	PeakA   float64          // its largest current, A
	LimitA  float64          // its current at which the limit is reached, were the iron linear, A; 0: none
	Drawn   float64          // share as the file has wall, material and the temperature that it is measured at
	Squares float64          // Drawn with what tolerances and temperature add as the root of the sum of their squares
	At      *Model           // with the ends of the tolerances at which it is so full
}

// wallCertainty is the relative bound from which a flux density near or above
// its limit is worth the next level: a number that people read.
const wallCertainty = 0.03

// Fill returns the fill of shield i in the duty that fills it most; false when
// no duty carries a current and no foreign source but the Earth is there. Where a duty may reach limit, a share of the
// saturation, its wall is computed to wallCertainty if a level gives it, and so
// is that of the fullest duty from half of the limit on.
func (m *Model) Fill(i layout.ShieldIndex, limit float64) (Fill, bool, error) {
	weak, differs := m.Weakest()
	found := false
	out, steps, err := atWorst(m, drives, func(n *Model) (Fill, float64, error) {
		f, some, err := n.fill(i, limit)
		found, f.At = found || some, n
		return f, f.Share.High, err
	})
	differs = differs || len(steps) > 0
	if err != nil || !found || !differs {
		return out, found, err
	}
	drawn, _, err := m.fill(i, limit)
	if err != nil {
		return out, found, err
	}
	base, _, err := weak.fill(i, limit)
	if err != nil {
		return out, found, err
	}
	out.Drawn = drawn.Share.Value
	out.Squares = (base.Share.Value - out.Drawn) * m.squares(i)
	for _, step := range steps {
		out.Squares = portable.Hypot(out.Squares, step)
	}
	out.Squares += out.Drawn
	return out, true, nil
}

// squares returns what part of the change by thickness, saturation and temperature of shield i together is left where
// they add as the root of the sum of their squares: of what each alone takes from the flux that the wall may hold.
func (m *Model) squares(i layout.ShieldIndex) float64 {
	s := &m.Layout.Shields[i]
	mat := m.Layout.Materials[s.Material]
	sum, square := 0.0, 0.0
	add := func(left float64) {
		sum += 1/left - 1
		square += float64((1/left - 1) * (1/left - 1))
	}
	if w := WallM(s); w.Value > 0 {
		add(1 - s.WallTolM.V/w.Value)
	}
	add(1 - mat.SaturationTol.V)
	mat.SaturationTol.V = 0
	add(m.Layout.SaturationShare(&mat))
	if !(sum > 0) {
		return 1 // another shield or another material alone differs
	}
	return math.Sqrt(square) / sum
}

// fill is Fill of the layout as it stands.
func (m *Model) fill(i layout.ShieldIndex, limit float64) (Fill, bool, error) {
	var worst Fill
	sat, ok := SaturationT(&m.Layout.Materials[m.Layout.Shields[i].Material])
	if !ok {
		return worst, false, &field.Unknown{Reason: "its material declares no saturation"}
	}
	found := false
	for k := range m.Layout.Duties {
		d := &m.Layout.Duties[k]
		bar, peak, err := m.drivingBar(i, d)
		if err != nil {
			return worst, false, err
		}
		if bar == layout.None {
			continue
		}
		wall, foreign, err := m.fullWall(i, d, limit*sat)
		if err != nil {
			return worst, false, err
		}
		if !found || !(wall.High <= worst.WallT.High) {
			worst, found = Fill{Duty: d, WallT: wall, Foreign: foreign, Bar: bar, PeakA: peak}, true
		}
	}
	if !found {
		if !m.hasForeign() {
			return worst, false, nil
		}
		wall, foreign, err := m.fullWall(i, nil, limit*sat)
		return Fill{WallT: wall, SatT: sat, Share: wall.Scale(1 / sat), Foreign: foreign, Bar: layout.None}, err == nil, err
	}
	wall, foreign, err := m.fullWall(i, worst.Duty, limit*sat/2)
	if err != nil {
		return worst, false, err
	}
	linear, err := m.smallWallT(i, worst.Duty)
	if err != nil {
		return worst, false, err
	}
	worst.WallT, worst.Foreign, worst.SatT, worst.Share = wall, foreign, sat, wall.Scale(1/sat)
	bars := math.Max(linear, wall.Value-foreign.WallT.Value)
	worst.LimitA = worst.PeakA * math.Max(0, float64(limit*sat)-foreign.WallT.Value) / bars
	return worst, true, nil
}

// fullWall returns the flux density of the wall in d, nil: at rest, with what foreign sources add to it: see wallUpTo
// and joined.
func (m *Model) fullWall(i layout.ShieldIndex, d *layout.Duty, atT float64) (bounded.Estimate, ForeignWall, error) {
	wall := bounded.Exact(0)
	if d != nil {
		var err error
		if wall, err = m.wallUpTo(i, d, atT); err != nil {
			return wall, ForeignWall{}, err
		}
	}
	return m.joined(i, d, wall, atT)
}

// joined adds to wall, what duty d brings, what foreign sources do at their worst: from what the larger of the two
// brings alone to their sum. Where the sum is above atT the state of all together, if it is computed, is the value
// and a bound from below: see togetherT. Else the value is that sum, or full iron where it is more.
func (m *Model) joined(i layout.ShieldIndex, d *layout.Duty, wall bounded.Estimate,
	atT float64) (bounded.Estimate, ForeignWall, error) {
	foreign, err := m.ForeignWall(i, m.dutyWalls(d), wall, atT)
	if err != nil {
		return wall, foreign, err
	}
	total := wall.Plus(foreign.WallT)
	total.Low = math.Max(wall.Low, foreign.WallT.Low)
	if !(total.High > atT) {
		return total, foreign, nil
	}
	all, known, err := m.togetherT(i, d)
	if known {
		total.Low = math.Max(total.Low, all.Low)
		total.Value = math.Min(total.High, math.Max(total.Low, all.Value))
	} else if sat, ok := SaturationT(&m.Layout.Materials[m.Layout.Shields[i].Material]); ok && m.HasCurve(i) {
		// Two that fill it together bring no more than full iron holds.
		larger := math.Max(wall.Value, foreign.WallT.Value)
		total.Value = math.Max(total.Low, math.Min(total.Value, math.Max(larger, sat)))
	}
	return total, foreign, err
}

// FullWall returns the flux density of the wall of shield i in duty d, nil: at rest, as Fill takes it, at the level
// of m.
func (m *Model) FullWall(i layout.ShieldIndex, d *layout.Duty) (bounded.Estimate, error) {
	out, _, err := atWorst(m, drives, func(n *Model) (bounded.Estimate, float64, error) {
		wall := bounded.Exact(0)
		if d != nil {
			var err error
			if wall, err = n.WallPeak(i, d); err != nil {
				return wall, wall.High, err
			}
		}
		wall, _, err := n.joined(i, d, wall, 0)
		return wall, wall.High, err
	})
	return out, err
}

// DrivenWall is FullWall without foreign sources.
func (m *Model) DrivenWall(i layout.ShieldIndex, d *layout.Duty) (bounded.Estimate, error) {
	out, _, err := atWorst(m, drives, func(n *Model) (bounded.Estimate, float64, error) {
		wall, err := n.WallPeak(i, d)
		return wall, wall.High, err
	})
	return out, err
}

// LeastSaturationT is SaturationT of the iron of shield i with what temperature and tolerance take from it.
func (m *Model) LeastSaturationT(i layout.ShieldIndex) (float64, bool) {
	mat := &m.Layout.Materials[m.Layout.Shields[i].Material]
	sat, ok := SaturationT(mat)
	return sat * m.Layout.SaturationShare(mat), ok
}

// wallUpTo returns the flux density of the wall in d: at the level of m when
// that is surely at most atT, else at the first that gives wallCertainty.
func (m *Model) wallUpTo(i layout.ShieldIndex, d *layout.Duty, atT float64) (bounded.Estimate, error) {
	if m.Currents(d).Steady() {
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
	cur := m.Currents(d)
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
	cur := m.Currents(d)
	for k := range cur.Components {
		c := &cur.Components[k]
		barsA, err := m.BarsA(c)
		if err != nil {
			return layout.None, 0, err
		}
		for b, a := range barsA {
			if c.FreqHz > 0 {
				a = portable.Times(a, complex(cur.PeakFactor, 0))
			}
			sums[b] += portable.Abs(a)
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
		return n.StatePeak(i, m.Currents(d))
	}
	return n.linearPeak(i, d)
}
