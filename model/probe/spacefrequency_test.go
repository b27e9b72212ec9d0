package probe_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"busgauss/model/probe"
	"busgauss/schema/node"
)

// Short walls that conduct, against an independent code in space (fixtures/reference/space-frequency.yaml): the
// stated bound covers the difference, less what the reference itself may be off, also with a bar that declares no
// length.
func TestBoundsCoverShortWallsAtFrequency(t *testing.T) {
	const file = "space-frequency.yaml"
	seen := 0
	for i, c := range reference(t, file, "/cases").Items {
		text := func(pointer string) float64 {
			n, _, ok := c.At(pointer)
			if !ok {
				t.Fatalf("case %d: nothing at %s", i, pointer)
			}
			return cellNumber(n)
		}
		form := "plate: {width: 40 mm, thickness: 1 mm}"
		if _, _, ok := c.At("/shield/channel"); ok {
			form = "channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}"
		}
		s := c.Items
		_ = s
		sensor, _, _ := c.At("/sensor_mm")
		at, _, _ := c.At("/shield/at_mm")
		for _, length := range []string{", length: 1 m", ""} {
			m := probe.NewModel(mustLoad(t, fmt.Sprintf(`layout: 1
bars:
  A: {section: {width: 18 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: m0%s}
shields:
  S: {form: {%s}, at: [%g mm, %g mm], material: m, depth: %g mm}
materials:
  m0: {conductivity: 0.05 MS/m}
  m: {conductivity: %g MS/m, relative-permeability: %g}
sensors:
  P: {reads: A, at: [%g mm, %g mm], axis: 180 deg}
`, length, form, cellNumber(at.Items[0]), cellNumber(at.Items[1]), text("/shield/depth_mm"), text("/shield/conductivity_MS_per_m"),
				text("/shield/relative_permeability"), cellNumber(sensor.Items[0]),
				cellNumber(sensor.Items[1])))).Precise()
			values, _, _ := c.At("/values")
			for _, v := range values.Items {
				seen++
				coverShortWall(t, m, v, text("/spread"), strings.TrimPrefix(length, ", "))
			}
		}
	}
	if seen != 12 {
		t.Errorf("%d values, want 12", seen)
	}
}

// coverShortWall holds one value of the reference against what the sensor reads per 100 A.
func coverShortWall(t *testing.T, m *probe.Model, v *node.Node, spread float64, name string) {
	t.Helper()
	at := func(key string) (float64, bool) {
		n, _, ok := v.At("/" + key)
		if !ok {
			return 0, false
		}
		return cellNumber(n), true
	}
	hz, _ := at("hz")
	f, err := m.Field(hz)
	if err != nil {
		t.Fatal(err)
	}
	s := &m.Layout.Sensors[0]
	got := f.Own(s).Axis.Scale(1e5) // mT per 100 A
	want, ok := at("axis_mT")
	if !ok {
		want, _ = at("ratio_to_steady")
		still, err := m.Field(0)
		if err != nil {
			t.Fatal(err)
		}
		change := f.OwnChange(still, s).At()
		got = change
	}
	off := math.Abs(cmplx.Abs(got.V) - want)
	if deg, ok := at("phase_deg"); ok {
		off = cmplx.Abs(got.V - cmplx.Rect(want, deg*math.Pi/180))
	}
	if !(off <= got.Bound+got.Quad+spread*want) {
		t.Errorf("%s, %g Hz: %.4g where %.4g is true, %.3g off, bound %.3g", name, hz, cmplx.Abs(got.V), want, off,
			got.Bound)
	}
	if hz > 0 && !(got.Bound <= cmplx.Abs(got.V)) {
		t.Errorf("%s, %g Hz: bound %.3g of %.3g tells nothing", name, hz, got.Bound, cmplx.Abs(got.V))
	}
}
