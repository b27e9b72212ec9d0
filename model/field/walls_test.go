package field_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/schema/load"
)

// copperChannels is a row of bars of 18 x 4 mm at 40 mm pitch, each in a channel of copper of
// the given depth, with sensors in its opening.
func copperChannels(t testing.TB, bars int, depth, metal, rest string) *layout.Layout {
	t.Helper()
	yaml := "layout: 1\nbars:\n"
	for i := range bars {
		yaml += fmt.Sprintf("  B%d: {section: {width: 18 mm, thickness: 4 mm}, at: [%d mm, 0 mm], metal: metal, length: 2000 mm}\n", i, 40*i)
	}
	yaml += "shields:\n"
	for i := range bars {
		yaml += fmt.Sprintf("  K%d: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}}, at: [%d mm, -3.2 mm], material: sheet, depth: %s}\n", i, 40*i, depth)
	}
	yaml += "materials:\n  sheet: {conductivity: 58 MS/m}\n  metal: {conductivity: " + metal + "}\nsensors:\n"
	for i := range bars {
		yaml += fmt.Sprintf("  S%d: {reads: B%d, at: [%d mm, 4.6 mm], axis: 180 deg}\n", i, i, 40*i)
	}
	l, problems := load.Load("layout.yaml", []byte(yaml+rest))
	if l == nil {
		t.Fatalf("layout does not load: %v\n%s", problems, yaml+rest)
	}
	return l
}

// A channel 12 mm deep about a bar of even density: fixtures/reference/space-frequency.yaml.
func TestShortCopperChannel(t *testing.T) {
	l := copperChannels(t, 1, "12 mm", "0.05 MS/m", "")
	m := field.NewModel(l)
	for _, c := range []struct{ hz, mT, deg float64 }{{1000, 2.381, -3.1}, {5000, 2.192, -3.0}} {
		f, err := m.Field(c.hz)
		if err != nil {
			t.Fatal(err)
		}
		own := f.Own(&l.Sensors[0]).Axis.Scale(1e5)
		t.Logf("%g Hz: %.4f mT ± %.4f, %.2f deg; %s", c.hz, cmplx.Abs(own.V), own.Bound, cmplx.Phase(own.V)*57.2958, f.Method)
		near(t, fmt.Sprintf("%g Hz", c.hz), cmplx.Abs(own.V), c.mT, 0.02)
		if off := cmplx.Abs(own.V) - c.mT; !(off*off <= (own.Bound+0.005*c.mT)*(own.Bound+0.005*c.mT)) {
			t.Errorf("%g Hz: off by %.4f mT, bound %.4f", c.hz, off, own.Bound)
		}
	}
}

// Walls ten of their widths deep and more give the plane section within a hundredth of the own
// field: with bars of even density, and with bars whose current crowds; rings with -long alone.
func TestDeepWalls(t *testing.T) {
	for _, c := range []struct {
		name, shields, metal string
		hz                   []float64
	}{
		{"channels", "  K: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}}, at: [0 mm, -3.2 mm], material: sheet, depth: 230 mm}\n" +
			"  L: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}}, at: [40 mm, -3.2 mm], material: sheet, depth: 230 mm}\n", "58 MS/m", []float64{1000, 5000}},
		{"turned plate", "  K: {form: {plate: {width: 40 mm, thickness: 2 mm}}, at: [-4 mm, 10 mm], turn: 20 deg, material: sheet, depth: 400 mm}\n",
			"0.05 MS/m", []float64{200, 20000}},
		{"ring", "  K: {form: {ring: {inner: 26 mm, wall: 1 mm}}, at: [0 mm, 0 mm], material: sheet, depth: 800 mm}\n", "0.05 MS/m", []float64{1000}},
		{"slit ring", "  K: {form: {ring: {inner: 26 mm, wall: 1 mm, slit: 3 mm}}, at: [0 mm, 0 mm], turn: 30 deg, material: sheet, depth: 800 mm}\n", "0.05 MS/m", []float64{300, 10000}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if strings.Contains(c.name, "ring") && !*field.Long {
				t.Skip("seconds; run with -long")
			}
			l, problems := load.Load("layout.yaml", []byte("layout: 1\nbars:\n"+
				"  A: {section: {width: 18 mm, thickness: 4 mm}, at: [0 mm, 0 mm], metal: metal, length: 20 m}\n"+
				"  B: {section: {width: 18 mm, thickness: 4 mm}, at: [40 mm, 0 mm], metal: metal, length: 20 m}\nshields:\n"+c.shields+
				"materials:\n  sheet: {conductivity: 58 MS/m}\n  metal: {conductivity: "+c.metal+"}\nsensors:\n  S: {reads: A, at: [0 mm, 4.6 mm], axis: 180 deg}\n"))
			if l == nil {
				t.Fatalf("layout does not load: %v", problems)
			}
			m := field.NewModel(l)
			plane := m.Section()
			for _, hz := range c.hz {
				f, err := m.Field(hz)
				if err != nil {
					t.Fatal(err)
				}
				if !strings.Contains(f.Method, "walls by a volume integral equation") {
					t.Fatalf("method is %s", f.Method)
				}
				p, err := plane.Field(hz)
				if err != nil {
					t.Fatal(err)
				}
				own := p.InSection(&l.Sensors[0], 0).B.Norm()
				for b := range l.Bars {
					got, want := f.OfBar(&l.Sensors[0], layout.BarIndex(b)), p.InSection(&l.Sensors[0], layout.CircuitIndex(b))
					d := got.B.Add(want.B.Scale(-1)).Norm()
					t.Logf("%g Hz bar %d: %.5g, plane %.5g mT per 100 A, differ by %.2f %%, bound %.2f %%", hz, b, got.Axis.V*1e5, want.Axis.V*1e5, 100*d/own, 100*got.B.Bound/own)
					if !(d <= 0.01*own) || !(d <= got.B.Bound+want.B.Bound) {
						t.Errorf("%g Hz bar %d: off by %.2f %% of the own field, bound %.2f %%", hz, b, 100*d/own, 100*got.B.Bound/own)
					}
				}
				got, want := f.Uniform(l.Sensors[0].Elements()[0].At), p.Uniform(l.Sensors[0].Elements()[0].At)
				for k := range 2 { // along z the plane section has none
					if d := got[k].Add(want[k].Scale(-1)).Norm(); !(d <= 0.02) {
						t.Errorf("%g Hz uniform field %d: off by %.2f %%", hz, k, 100*d)
					}
				}
			}
		})
	}
}

// The plane cases with a conducting wall that is not magnetic, their wall made deep and their bar
// long. Source: fixtures/reference/plane-cases (an independent finite-element code).
func TestDeepPlaneCases(t *testing.T) {
	data, err := fixtures.FS.ReadFile("reference/plane-cases/expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var all struct {
		Cases map[string]struct {
			Sensors map[string]struct {
				BxMT [2]float64 `json:"Bx_mT"`
			} `json:"sensors"`
		} `json:"cases"`
	}
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	for _, hz := range []float64{60, 1000} {
		name := fmt.Sprintf("bar-near-aluminium-wall-%gHz", hz)
		text, err := fixtures.FS.ReadFile("reference/plane-cases/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		deep := strings.Replace(string(text), "depth: long", "depth: 1080 mm", 1) // nine widths: ten count as long
		deep = strings.Replace(deep, "metal: m0,", "metal: m0, length: 20 m,", 1)
		l, problems := load.Load(name, []byte(deep))
		if l == nil {
			t.Fatalf("%s does not load: %v", name, problems)
		}
		f, err := field.NewModel(l).Field(hz)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(f.Method, "walls by a volume integral equation") {
			t.Fatalf("method is %s", f.Method)
		}
		own := f.Own(&l.Sensors[0]).Axis.Scale(100e3)
		want := all.Cases[name].Sensors["s"].BxMT
		off := cmplx.Abs(own.V - complex(want[0], want[1]))
		t.Logf("%g Hz: %.4f ± %.4f mT, want %.4f", hz, own.V, own.Bound, want)
		if !(off <= 0.01*math.Hypot(want[0], want[1])) || !(off <= own.Bound) {
			t.Errorf("%g Hz: off by %.4f mT, bound %.4f", hz, off, own.Bound)
		}
	}
}

func BenchmarkThreeCopperChannels(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		l := copperChannels(b, 3, "12 mm", "58 MS/m", "")
		m := field.NewModel(l)
		for _, hz := range []float64{50, 400, 2000, 10000} {
			f, err := m.Field(hz)
			if err != nil {
				b.Fatal(err)
			}
			for i := range l.Sensors {
				f.Own(&l.Sensors[i])
			}
		}
	}
}
