package audit

import (
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

func num(v float64) layout.Num { return layout.Num{V: v, Set: true} }

// The plan of a cut bar has the area that is left: the full one less what each cut
// takes. A round hole is drawn as 48 corners, which lack 0.3 % of it.
func TestCutPlan(t *testing.T) {
	const w, length = 20e-3, 100e-3
	b := &layout.Bar{ID: "b", At: layout.Place{X: num(7e-3), Y: num(0)}, LengthM: num(length),
		Section: layout.Section{Kind: layout.Rectangle, WidthM: num(w), ThicknessM: num(3e-3)}}
	b.Cuts = []layout.Cut{
		{Kind: layout.Neck, AlongM: num(-30e-3), LengthM: num(10e-3), WidthM: num(12e-3)},
		{Kind: layout.Notch, AlongM: num(0), LengthM: num(8e-3), DepthM: num(5e-3), Side: 1},
		{Kind: layout.Hole, AlongM: num(20e-3), AcrossM: num(2e-3), DiameterM: num(6e-3)},
		{Kind: layout.Slot, AlongM: num(38e-3), AcrossM: num(-2e-3), LengthM: num(12e-3), WidthM: num(4e-3)},
	}
	legs, err := b.Legs()
	if err != nil || len(legs) != 1 {
		t.Fatal(legs, err)
	}
	full := hull(prismPoints(geom.Rectangle(w, 3e-3), -length/2, length/2), func(p geom.Point3) geom.Point { return geom.Point{X: p.X + 7e-3, Y: p.Z} })
	if got := full.AreaM2(); math.Abs(got-w*length) > 1e-12 {
		t.Fatalf("hull has %g m2, want %g", got, w*length)
	}
	got := cutPlan(b, &legs[0], full)
	hole, slot := math.Pi*9e-6, 8e-3*4e-3+math.Pi*4e-6
	want := w*length - 8e-3*10e-3 - 5e-3*8e-3 - hole - slot
	if math.Abs(got.AreaM2()-want) > 0.004*(hole+slot) {
		t.Errorf("plan has %g m2, want %g", got.AreaM2(), want)
	}
	// The notch is on the right.
	if got.Contains(geom.Point{X: 7e-3 + 8e-3}) || !got.Contains(geom.Point{X: 7e-3 - 8e-3}) {
		t.Error("the notch stands on the wrong side")
	}
}

// Plan and side view come with space data only, and hold every piece.
func TestViews(t *testing.T) {
	if p := built(t, loaded(t, shielded)); p.Views != nil {
		t.Errorf("%d views of a layout without ends", len(p.Views))
	}
	p := built(t, fixture(t, "clean/ferry-thruster.yaml"))
	if len(p.Views) != 2 || p.Views[0].Drawing.Up != "z" || p.Views[1].Drawing.Across != "z" {
		t.Fatalf("%+v", p.Views)
	}
	// Bars are 300 mm or what the file says: the plan reaches from end to end.
	l := fixture(t, "clean/ferry-thruster.yaml")
	for i := range l.Bars {
		box := p.Views[0].Drawing.Bars[i].Regions[0].Box()
		if got := box.Size().Y; math.Abs(got-l.Bars[i].LengthM.V) > 1e-9 {
			t.Errorf("bar %s is %g m long in plan, want %g", l.Bars[i].ID, got, l.Bars[i].LengthM.V)
		}
	}
}
