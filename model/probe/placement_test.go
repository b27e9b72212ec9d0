package probe_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

const placedPair = `layout: 1
bars:
  a: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper}
  b: {section: {width: 15 mm, thickness: 4 mm}, at: [25 mm, 0 mm], metal: copper}
sensors: {s: {reads: a, at: [1 mm, 4.5 mm], axis: 180 deg}}
duties: {d: {kind: continuous, currents: {a: {dc: 100 A}, b: {dc: -70 A}}}}
`

func placed(t *testing.T, yaml string) (probe.Placed, *layout.Layout) {
	t.Helper()
	l := mustLoad(t, yaml)
	p, err := probe.NewModel(l).Placement(&l.Sensors[0], &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	return p, l
}

func partOf(t *testing.T, p probe.Placed, name string) float64 {
	t.Helper()
	for _, one := range p.Parts {
		if one.Name == name {
			return one.Change
		}
	}
	t.Fatalf("no part %q in %+v", name, p.Parts)
	return 0
}

// In the plane section the field has no part along z: a yaw by t leaves cos t of the whole
// reading, and z changes nothing and costs no place.
func TestPlacementYawInThePlane(t *testing.T) {
	p, l := placed(t, strings.Replace(placedPair, "axis: 180 deg",
		"axis: 180 deg, placement: {x: 0 mm, y: 0 mm, z: 3 mm, tilt: 0 deg, yaw: 2 deg}", 1))
	a := closedform.RectangleB(geom.Point{X: 1e-3, Y: 4.5e-3}, 15e-3, 4e-3, 100).X
	b := closedform.RectangleB(geom.Point{X: -24e-3, Y: 4.5e-3}, 15e-3, 4e-3, -70).X
	want := (1 - math.Cos(2*math.Pi/180)) * math.Abs(a+b) / math.Abs(a)
	near(t, "yaw", p.Total.Value, want, 1e-9)
	near(t, "yaw alone", partOf(t, p, "yaw"), want, 1e-9)
	if got := len(probe.NewModel(l).WithinTolerance(&l.Sensors[0])); got != 2 {
		t.Errorf("%d places, want 2: as drawn and with the yaw", got)
	}
}

// In space the axis of a sensor beside a bar that runs across reads its field along z: with a
// yaw by t it reads sin t of that. Moved along z a sensor reads what one that is drawn there
// does, beside a bar that ends near.
func TestPlacementInSpace(t *testing.T) {
	const yaml = `layout: 1
bars:
  a: {section: {width: 15 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: copper, length: 40 mm}
sensors: {s: {reads: a, at: [1 mm, 4.5 mm, 12 mm], axis: 180 deg, placement: {x: 0 mm, y: 0 mm, z: 3 mm, tilt: 0 deg, yaw: 0 deg}}}
duties: {d: {kind: continuous, currents: {a: {dc: 100 A}}}}
`
	read := func(z string) float64 {
		l := mustLoad(t, strings.Replace(yaml, "12 mm]", z+"]", 1))
		e, err := probe.NewModel(l).OwnPerAmpere(&l.Sensors[0])
		if err != nil {
			t.Fatal(err)
		}
		return e.Value
	}
	p, l := placed(t, yaml)
	drawn := read("12 mm")
	want := math.Max(math.Abs(read("9 mm")/drawn-1), math.Abs(read("15 mm")/drawn-1))
	if want < 0.02 {
		t.Fatalf("the end of the bar changes the reading by %g only", want)
	}
	near(t, "z", partOf(t, p, "z"), want, 1e-9)
	near(t, "z in all", p.Total.Value, want, 1e-9)
	if got := len(probe.NewModel(l).WithinTolerance(&l.Sensors[0])); got != 3 {
		t.Errorf("%d places, want 3", got)
	}
}

// A bar that may stand elsewhere changes the reading as if the sensor stood elsewhere: its own
// bar, alone in the field, up by v is the sensor down by v. The neighbour's is the closed form
// at its other distance. The worst case is their sum, beside it the root of the sum of squares.
func TestPlacementOfBars(t *testing.T) {
	yaml := strings.Replace(placedPair, "at: [0 mm, 0 mm], metal: copper",
		"at: [0 mm, 0 mm], metal: copper, placement: {x: 0 mm, y: 0.2 mm, turn: 0 deg}", 1)
	yaml = strings.Replace(yaml, "at: [25 mm, 0 mm], metal: copper",
		"at: [25 mm, 0 mm], metal: copper, placement: {x: 1 mm, y: 0 mm, turn: 0 deg}", 1)
	p, _ := placed(t, yaml)
	at := func(x, y, amps float64) float64 {
		return -closedform.RectangleB(geom.Point{X: x, Y: y}, 15e-3, 4e-3, amps).X
	}
	own := at(1e-3, 4.5e-3, 100)
	ownBar := math.Max(math.Abs(at(1e-3, 4.3e-3, 100)/own-1), math.Abs(at(1e-3, 4.7e-3, 100)/own-1))
	b := at(-24e-3, 4.5e-3, -70)
	other := math.Max(math.Abs(at(-23e-3, 4.5e-3, -70)-b), math.Abs(at(-25e-3, 4.5e-3, -70)-b)) / own
	near(t, `y of bar "a"`, partOf(t, p, `y of bar "a"`), ownBar, 1e-9)
	near(t, `x of bar "b"`, partOf(t, p, `x of bar "b"`), other, 1e-9)
	near(t, "worst case", p.Total.Value, ownBar+other, 1e-9)
	near(t, "root sum of squares", p.Combined, math.Hypot(ownBar, other), 1e-9)
}

// A pair and an array turn out of the plane as one body: the axis by yaw, and places along
// it into z.
func TestYawTurnsTheBody(t *testing.T) {
	l := mustLoad(t, strings.Replace(placedPair, "axis: 180 deg}",
		"axis: 180 deg, pair: {spacing: 2 mm, along: 0 deg}}", 1))
	const yaw = 0.1
	turned := l.Sensors[0].Displaced(layout.Shift{YawRad: yaw})
	e := turned.Elements()
	sin, cos := math.Sincos(yaw)
	want := geom.Point3{X: 1e-3 + 1e-3*cos, Y: 4.5e-3, Z: -1e-3 * sin} // the axis points to -x
	if d := e[0].At.Sub(want).Norm(); d > 1e-12 {
		t.Errorf("positive element at %v, want %v", e[0].At, want)
	}
	if u := (geom.Point3{X: -cos, Z: sin}); e[0].U.Sub(u).Norm() > 1e-12 || e[1].U.Sub(u).Norm() > 1e-12 {
		t.Errorf("axes %v and %v, want %v", e[0].U, e[1].U, u)
	}
	l = mustLoad(t, strings.Replace(placedPair, "axis: 180 deg",
		"axis: [0, 0, 1], placement: {x: 0 mm, y: 0 mm, z: 0 mm, tilt: 0 deg, yaw: 2 deg}", 1))
	if got := len(probe.NewModel(l).WithinTolerance(&l.Sensors[0])); got != 5 {
		t.Errorf("an axis along z: %d places, want 5: as drawn, and leaning four ways", got)
	}
}
