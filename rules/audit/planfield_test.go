package audit

import (
	"math"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/probe"
	"busgauss/model/waveform"
)

// The field in plan is that of the model at its height, symmetric about the middle plane of a layout that is, and the copper
// takes a part of what the bar makes beyond it. A layout of long shields has none.
func TestFieldInPlan(t *testing.T) {
	l := fixture(t, "failing/crane-copper-channel.yaml")
	views := built(t, l).Views
	if len(views) != 3 || views[2].Drawing.Shade == nil {
		t.Fatalf("%d views", len(views))
	}
	g := views[2].Drawing.Shade.Grid
	m := probe.NewModel(l)
	d := &l.Duties[0]
	c := &waveform.Of(l, d).Components[0]
	f, err := m.For(d).Rough().FieldOf(c)
	if err != nil {
		t.Fatal(err)
	}
	size := g.BoxM.Size()
	for _, at := range [][2]int{{0, 0}, {g.NX / 2, g.NY / 2}, {g.NX / 3, g.NY - 1}} {
		q := geom.Point3{X: g.BoxM.Min.X + size.X*float64(at[0])/float64(g.NX-1), Y: 4.6e-3,
			Z: g.BoxM.Min.Y + size.Y*float64(at[1])/float64(g.NY-1)}
		if want, got := f.At(q, 0).Scale(280).Norm(), g.Value[at[1]*g.NX+at[0]]; !(math.Abs(got/want-1) < 1e-9) {
			t.Errorf("%v: %g T, want %g", q, got, want)
		}
		if a, b := g.Value[at[1]*g.NX+at[0]], g.Value[(g.NY-1-at[1])*g.NX+at[0]]; !(math.Abs(a/b-1) < 0.02) {
			t.Errorf("%v: %g T and %g T on the other side", q, a, b)
		}
	}
	middle, beyond := g.Value[g.NY/2*g.NX+g.NX/2], g.Value[g.NX/2]
	if !(middle < 0.9*beyond) {
		t.Errorf("%g T within the copper, %g T beyond", middle, beyond)
	}
	if views := built(t, loaded(t, shielded)).Views; len(views) != 0 {
		t.Errorf("%d views of long shields", len(views))
	}
}
