package field

import (
	"math"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Two bars joined at both ends share 1 A by their conductance, with a length as without one: at direct current the field of
// sheets in closed form, at 50 Hz that of the section within the bounds. A third of the metal in one of them carries a third.
func TestBondedBarsOfALength(t *testing.T) {
	const bars = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, length: 2 m}
  B: {section: {width: 20 mm, thickness: 8 mm}, at: [60 mm, 0 mm], metal: copper, length: 2 m}
bonded: [A, B]
sensors:
  S: {reads: A, at: [0 mm, 8 mm], axis: 180 deg}
duties: {d: {kind: continuous, frequency: 50 Hz, currents: {A: {peak: 1 A}}}}
surroundings: {return: far}
`
	l := loaded(t, bars)
	q := geom.Point3{Y: 8e-3}
	f, err := NewModel(l).Field(0)
	if err != nil {
		t.Fatal(err)
	}
	want := -closedform.RectangleB(geom.Point{Y: 8e-3}, 20e-3, 4e-3, 1.0/3).X - closedform.RectangleB(geom.Point{X: -60e-3, Y: 8e-3}, 20e-3, 8e-3, 2.0/3).X
	if got := -real(f.At(q, 0).X); !(math.Abs(got/want-1) < 1e-3) {
		t.Errorf("%g T/A, want %g", got, want)
	}
	long := loaded(t, bars)
	for i := range long.Bars {
		long.Bars[i].LengthM = layout.Num{}
	}
	moving, err := NewModel(l).Field(50)
	if err != nil {
		t.Fatal(err)
	}
	section, err := NewModel(long).Field(50)
	if err != nil {
		t.Fatal(err)
	}
	a, b := moving.Own(&l.Sensors[0]).Axis, section.Own(&long.Sensors[0]).Axis
	if off := math.Hypot(real(a.V-b.V), imag(a.V-b.V)); !(off <= a.Bound+a.Quad+b.Bound+b.Quad) || !(off < 0.01*math.Abs(real(b.V))) {
		t.Errorf("%v ± %g in space, %v in the section", a.V, a.Bound, b.V)
	}
}
