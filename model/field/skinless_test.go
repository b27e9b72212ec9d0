package field

import (
	"math"
	"math/cmplx"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/si"
	"busgauss/model/space/eddy"
	"busgauss/model/space/iron"
)

// Walls of copper that shut the field out are bodies of next to no permeability: no flux goes through their surface. At a
// skin of a thousandth of the wall the field that a bar of even density has at the sensor within 2 % of what the solver of iron
// gives for a permeability of 1/500 without any eddy current: a channel and a plate, pieces without an opening, so that
// no current need flow round one.
func TestWallsWithoutSkin(t *testing.T) {
	if !*Long {
		t.Skip("seconds: with -long")
	}
	const mm = 1e-3
	for name, form := range map[string]string{
		"channel": "form: {channel: {opening: 20 mm, leg: 14 mm, wall: 2 mm}}, at: [0 mm, -4 mm]",
		"plate":   "form: {plate: {width: 40 mm, thickness: 2 mm}}, at: [0 mm, 9 mm]",
	} {
		l := loaded(t, "layout: 1\nbars:\n  A: {section: {width: 18 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: m0, length: 2 m}\n"+
			"shields:\n  S: {"+form+", material: m, depth: 20 mm}\nmaterials:\n  m0: {conductivity: 0.01 S/m}\n  m: {conductivity: 58 MS/m}\n"+
			"sensors:\n  P: {reads: A, at: [0 mm, 5 mm], axis: 180 deg}\n")
		m := NewModel(l)
		bars, err := m.conductors()
		if err != nil {
			t.Fatal(err)
		}
		source := func(q geom.Point3) geom.Point3 { v, _ := bars[0].B(q); return v }
		q, section := l.Sensors[0].At.Point3(), l.Shields[0].Region()
		wall, err := eddy.New([]eddy.Piece{{Name: "S", Section: section, FromZM: -10 * mm, ToZM: 10 * mm, SigmaSPerM: 58e6}}, []geom.Point3{q}, eddy.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, err := wall.Respond([]eddy.Source{source}, nil)
		if err != nil {
			t.Fatal(err)
		}
		skin := 2e-3 * mm
		b, bound := r.At(1/(math.Pi*si.Mu0HPerM*58e6*skin*skin), [][]complex128{{1}}).B(q, 0)
		p, err := iron.New([]iron.Piece{{Name: "S", Section: section, FromZM: -10 * mm, ToZM: 10 * mm, MuRel: 2}}, []geom.Point3{q}, iron.Options{Certainty: 0.005})
		if err != nil {
			t.Fatal(err)
		}
		body, err := p.Linear([]float64{1.0 / 500}, []iron.Source{source})
		if err != nil {
			t.Fatal(err)
		}
		want, least := body.B(q, 0)
		own := source(q)
		got := geom.Point3{X: real(b[0]), Y: real(b[1]), Z: real(b[2])}.Add(own)
		off := got.Sub(want).Norm()
		t.Logf("%s: %.5g ± %.2g, without skin %.5g ± %.2g mT per 100 A, alone %.5g; %.2f %%", name, got.X*1e5, bound*1e5, want.X*1e5, least.T*1e5, own.X*1e5, 100*off/want.Norm())
		if !(off <= 0.02*want.Norm()) || !(off <= bound+least.T) {
			t.Errorf("%s: off by %.2f %%, bounds %.2f %%", name, 100*off/want.Norm(), 100*(bound+least.T)/want.Norm())
		}
		if im := cmplx.Abs(b[0]) - cmplx.Abs(complex(real(b[0]), 0)); !(im <= 1e-3*cmplx.Abs(b[0])) {
			t.Errorf("%s: the currents are not in phase with what drives them", name)
		}
	}
}
