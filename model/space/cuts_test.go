package space

import (
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// A long neck, plan 8 mm wide of 3 mm thick, a pair at ±1.29 mm across and 2 mm over the
// face: 18.38 mT per kA difference. Between two 3 mm slots nothing of a neck as long as that tells it
// from a bar 8 mm wide, closedform.RectangleB (worked from common practice, and by formula).
func TestLongNeck(t *testing.T) {
	bar := flat(0.020, 0.003)
	bar.Cuts = []layout.Cut{{Kind: layout.Neck, LengthM: num(0.160), WidthM: num(0.008)}}
	c := conductor(t, bar)
	right, e1 := c.B(mm(1.29, 3.5, 0))
	left, e2 := c.B(mm(-1.29, 3.5, 0))
	if got := 1e6 * (right.Y - left.Y); math.Abs(got-18.38) > 0.03 {
		t.Errorf("neck: %.3f mT per kA, want 18.38", got)
	}
	if !(e1+e2 < 2e-3*right.Norm()) {
		t.Errorf("bounds %g and %g of %g", e1, e2, right.Norm())
	}
}

// A cut changes nothing far away and everything stays as declared elsewhere: with a
// length, with bends and long, the same change within the bounds; the current round the
// bar is the same at the cut (circulation, law of Ampère).
func TestCutInARun(t *testing.T) {
	hole := []layout.Cut{{Kind: layout.Hole, AlongM: num(0.005), AcrossM: num(0.002), DiameterM: num(0.008)}}
	at := mm(-3, 6, 8)
	var change [3]geom.Point3
	var bounds float64
	for i, b := range []*layout.Bar{flat(0.020, 0.003), flat(0.020, 0.003), runOf(flat(0.020, 0.003), mm(-90, 0, -110), mm(0, 0, -110), mm(0, 0, 130), mm(0, 70, 150))} {
		if i == 1 {
			b.LengthM = num(0.3)
		}
		whole, _ := conductor(t, b).B(at)
		b.Cuts = hole
		c := conductor(t, b)
		got, e := c.B(at)
		change[i] = got.Sub(whole)
		bounds = math.Max(bounds, e)
		if c.Flow() == nil {
			t.Error("no flow")
		}
		const n = 200
		sum := 0.0
		for k := range n {
			s, co := math.Sincos(2 * math.Pi * float64(k) / n)
			v, _ := c.B(geom.Point3{X: 0.018 * co, Y: 0.012 * s, Z: 0.005})
			sum += v.Dot(geom.Point3{X: -0.018 * s, Y: 0.012 * co}) / n
		}
		if i == 0 && math.Abs(sum-2e-7) > 2e-11 {
			t.Errorf("circulation %g of μ0 I", sum/2e-7)
		}
	}
	if change[0].Norm() < 0.01*change[0].Add(change[1]).Norm() || change[0].Norm() < 1e-7 {
		t.Errorf("the hole changes nothing: %v", change[0])
	}
	same(t, "with a length", change[1], change[0], 2*bounds)
	same(t, "with bends", change[2], change[0], 2*bounds)
}

// Metal round cuts, by hand: 20 × 3 mm, a hole of 8 mm at (2, 10), a neck of 10 mm from 35 to
// 45 mm, a notch 6 mm deep on the left from −40 to −30 mm.
func TestCutsContains(t *testing.T) {
	bar := runOf(flat(0.020, 0.003), mm(0, 0, -100), mm(0, 0, 90), mm(0, 60, 90))
	bar.Cuts = []layout.Cut{
		{Kind: layout.Hole, AlongM: num(0.010), AcrossM: num(0.002), DiameterM: num(0.008)},
		{Kind: layout.Neck, AlongM: num(0.040), LengthM: num(0.010), WidthM: num(0.010)},
		{Kind: layout.Notch, AlongM: num(-0.035), LengthM: num(0.010), DepthM: num(0.006), Side: -1},
	}
	c := conductor(t, bar)
	for _, r := range []struct {
		p        geom.Point3
		want     float64 // mm
		polygons float64 // mm
	}{
		{mm(2, 0, 10), 4, 0.02}, {mm(2, 4.5, 10), 5, 0.02}, {mm(5, 0, 10), 1, 0.02}, {mm(7, 0, 10), 0, 0}, {mm(2, 1.5, 14.1), 0, 0},
		{mm(8, 0, 40), 3, 0}, {mm(13, 1.5, 44), math.Hypot(1, 3), 0}, {mm(4.9, 1.5, 40), 0, 0}, {mm(8, 4.5, 40), math.Hypot(3, 3), 0},
		{mm(-7, 0, -35), 3, 0}, {mm(7, 0, -35), 0, 0}, {mm(-3.9, 0, -35), 0, 0}, {mm(-9, 0, -31), 1, 0},
		{mm(0, 4, -60), 2.5, 0}, {mm(0, 0, -103), 3, 0}, {mm(8, 0, 150), 58.5, 0}, {mm(0, 40, 95), 3.5, 0},
	} {
		if got := c.DistanceM(r.p); math.Abs(got-1e-3*r.want) > 1e-12+1e-3*r.polygons || c.Contains(r.p) != (r.want == 0) {
			t.Errorf("%v: distance %g, contains %v, want %g mm", r.p, got, c.Contains(r.p), r.want)
		}
	}
	filled := false
	for _, s := range c.Solids() {
		filled = filled || s.Contains(mm(2, 0, 10))
	}
	if !filled {
		t.Error("the solids should have their cuts filled")
	}
}

// What cannot be computed is an error.
func TestConductorRefuses(t *testing.T) {
	back := runOf(flat(0.020, 0.003), mm(0, 0, -50), mm(0, 0, 50), mm(0, 0, -20))
	tight := runOf(flat(0.020, 0.003), mm(0, 0, -50), mm(0, 0, 50), mm(5, 0, 50), mm(5, 0, 90))
	roundCut := flat(0, 0)
	roundCut.Section = layout.Section{Kind: layout.Round, DiameterM: num(0.010)}
	roundCut.Cuts = []layout.Cut{{Kind: layout.Hole, DiameterM: num(0.002)}}
	wide := flat(0.020, 0.003)
	wide.Cuts = []layout.Cut{{Kind: layout.Hole, DiameterM: num(0.022)}}
	intoBend := runOf(flat(0.020, 0.003), mm(0, 0, -50), mm(0, 0, 50), mm(60, 0, 50))
	intoBend.Cuts = []layout.Cut{{Kind: layout.Hole, AlongM: num(0.045), DiameterM: num(0.006)}}
	for name, b := range map[string]*layout.Bar{"back": back, "tight": tight, "round": roundCut, "wide": wide, "into the bend": intoBend} {
		if _, err := NewConductor(b); err == nil {
			t.Errorf("%s: no error", name)
		} else {
			t.Log(err)
		}
	}
}
