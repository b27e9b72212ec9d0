package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// A shield of finite depth gathers flux of the bar beyond its ends. How far the
// plane section is then off was found by independent computations in space of a U
// 22 mm wide (fixtures/reference/space-cases.yaml): its wall carries
// 1 + 0.55 width/depth times the flux density of the plane, within a fifth; the
// field of its own bar at the sensor is lower by 3 % at 20 mm, 9 % at 12 mm and
// 16 % at 8 mm; the small field of a neighbour on the axis is 2.4 to 5.5 times
// the plane's, and across the axis 4 to 29 % off.
const (
	wallPerWidth    = 0.55
	wallSpread      = 1.2
	ownLoss         = 0.03 // at width = 1.1 depth
	ownLossPower    = 1.8
	ownLossSpread   = 1.4
	strayAxisFactor = 5.5
	strayAcross     = 0.29
)

// slenderness returns outer width over depth of shield i, 0 for a long one; 1 for one of unknown
// depth, which may be any from its outer width up.
func slenderness(l *layout.Layout, i layout.ShieldIndex) float64 {
	s := &l.Shields[i]
	switch {
	case s.DepthM.Set:
		return outerM(s) / s.DepthM.V
	case s.Long:
		return 0
	}
	return 1
}

// outerM returns the larger side of the box about a shield.
func outerM(s *layout.Shield) float64 {
	size := s.Region().Box().Size()
	return math.Max(size.X, size.Y)
}

// DepthUnknown reports whether shield s may be of any depth.
func DepthUnknown(s *layout.Shield) bool { return !s.DepthM.Set && !s.Long }

// depthFactor returns the largest factor by which the wall of shield i may carry
// more than in the plane section; 1 for a long one.
func depthFactor(l *layout.Layout, i layout.ShieldIndex) float64 {
	r := slenderness(l, i)
	if r == 0 {
		return 1
	}
	return (1 + float64(wallPerWidth*r)) * wallSpread
}

// DepthFactor is depthFactor times bendFactor where the plane section is used, 1 in space.
func (m *Model) DepthFactor(i layout.ShieldIndex) float64 {
	if m.inSpace() {
		return 1
	}
	return depthFactor(m.Layout, i) * bendFactor(m.Layout, i)
}

// bendFactor returns the largest factor by which the wall of shield i may carry more than in the plane section because
// bars bend: over bars and corners of the shield at its height
//
//	1 + |ΔB| / |B|
//
// with B the field of the bar as if it were endless and ΔB what its centre line has besides (endError), as if the wall
// answered to that as it does to B. A bar that ends has less about its ends, not more.
func bendFactor(l *layout.Layout, i layout.ShieldIndex) float64 {
	worst := 1.0
	s := &l.Shields[i]
	r := s.Region()
	for b := range l.Bars {
		bar := &l.Bars[b]
		if len(bar.Run) < 3 {
			continue
		}
		for _, ring := range append([]geom.Polygon{r.Outer}, r.Holes...) {
			for _, p := range ring {
				q := p.Space(s.At.Point3().Z)
				worst = math.Max(worst, 1+endError(bar, q).XY().Norm()/endless(q, bar.At.Point()).XY().Norm())
			}
		}
	}
	return worst
}

// depthLoss returns the largest share by which the plane section may read the
// own field of a bar too high because shields of iron end; 0 when all are long.
func depthLoss(l *layout.Layout) float64 {
	worst := 0.0
	for i := range l.Shields {
		if !l.Materials[l.Shields[i].Material].Magnetic() {
			continue // what it does with frequency: see endShare
		}
		if r := slenderness(l, layout.ShieldIndex(i)); r > 0 {
			worst = math.Max(worst, ownLoss*portable.Pow(r/1.1, ownLossPower)*ownLossSpread)
		}
	}
	return math.Min(worst, 1)
}

// FiniteDepth widens the bounds of a reading of saturating iron of bar b at a sensor for
// shields that end, where the plane section is used.
func (m *Model) FiniteDepth(s *layout.Sensor, b layout.BarIndex, r Reading) Reading {
	if m.inSpace() {
		return r
	}
	return finiteDepth(m.Layout, s, b, r)
}

// StrayDepth returns the largest factor by which the ratio of stray to own reading may
// be larger than in the plane section because shields end; 1 in space.
func (m *Model) StrayDepth() float64 {
	loss := depthLoss(m.Layout)
	if m.inSpace() || loss == 0 {
		return 1
	}
	return strayAxisFactor / (1 - math.Min(loss, 0.999))
}

// finiteDepth widens the bounds of a reading of bar b at a sensor for shields
// that end: the own field may be lower, a neighbour's larger on the axis.
func finiteDepth(l *layout.Layout, s *layout.Sensor, b layout.BarIndex, r Reading) Reading {
	loss := depthLoss(l)
	if loss == 0 {
		return r
	}
	if b == s.Reads {
		r.B.Bound += float64(loss * r.B.Norm())
		r.Axis.Bound += float64(loss * r.Axis.Abs().Value)
		return r
	}
	r.B.Bound += float64(strayAcross * r.B.Norm())
	r.Axis.Bound += float64((strayAxisFactor - 1) * r.Axis.Abs().Value)
	return r
}
