package load

import (
	"fmt"
	"io/fs"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
)

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	data, err := fs.ReadFile(fixtures.FS, name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func full(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/full.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func mustLoad(t testing.TB, name string, data []byte) *layout.Layout {
	t.Helper()
	l, problems := Load(name, data)
	for _, p := range problems {
		t.Errorf("%v: %s [%s]", p.Span, p.Message, p.Rule)
	}
	if l == nil {
		t.FailNow()
	}
	return l
}

func TestFixturesLoad(t *testing.T) {
	names, err := fixtures.Layouts()
	if err != nil || len(names) < 20 {
		t.Fatalf("%d layouts, %v", len(names), err)
	}
	for _, name := range names {
		l := mustLoad(t, name, fixture(t, name))
		if l.Path != name || len(l.Bars) == 0 || len(l.Sensors) == 0 || len(l.Duties) == 0 {
			t.Errorf("%s: path %q, %d bars, %d sensors, %d duties", name, l.Path, len(l.Bars), len(l.Sensors), len(l.Duties))
		}
	}
}

// near compares with a share of 1e-12: parsing and one product of rounding.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-12*math.Abs(want)) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// given checks a number of the file, with the line and columns of its text.
func given(t *testing.T, what string, n layout.Num, want float64, line, from, to int) {
	t.Helper()
	near(t, what, n.V, want)
	if !n.Set {
		t.Errorf("%s is not set", what)
	}
	if got := place(n.Span); got != fmt.Sprintf("%d:%d-%d:%d", line, from, line, to) {
		t.Errorf("%s: at %s, want %d:%d-%d", what, got, line, from, to)
	}
}

func place(s span.Span) string {
	return fmt.Sprintf("%d:%d-%d:%d", s.Start.Line, s.Start.Column, s.End.Line, s.End.Column)
}

// open checks a number that the file leaves open.
func open(t *testing.T, what string, n layout.Num, want float64) {
	t.Helper()
	if n.Set || n.V != want && !(math.IsNaN(n.V) && math.IsNaN(want)) {
		t.Errorf("%s: got %v (set %v), want %v, not set", what, n.V, n.Set, want)
	}
	if !n.Span.Valid() {
		t.Errorf("%s has no place", what)
	}
}

const deg = math.Pi / 180

func TestThreeBars(t *testing.T) {
	l := mustLoad(t, "examples/three-bars.yaml", fixture(t, "examples/three-bars.yaml"))
	if l.Title != "Three bare bars with a sensor each" || place(l.Span) != "2:1-2:7" || place(l.TitleSpan) != "3:8-3:42" {
		t.Errorf("title %q at %s, layout at %s", l.Title, place(l.TitleSpan), place(l.Span))
	}
	if len(l.Bars) != 3 || len(l.Sensors) != 3 || len(l.Parts) != 1 || len(l.Duties) != 3 || len(l.Shields)+len(l.Materials) != 0 {
		t.Fatalf("%d bars, %d sensors, %d parts, %d duties", len(l.Bars), len(l.Sensors), len(l.Parts), len(l.Duties))
	}
	u, w := l.Bars[0], l.Bars[2]
	if u.ID != "U" || place(u.Span) != "5:3-5:4" || u.Section.Kind != layout.Rectangle || u.Metal != "copper" || u.Material != layout.None || u.MuRel != 1 {
		t.Errorf("bar U: %+v", u)
	}
	given(t, "width of U", u.Section.WidthM, 0.020, 5, 24, 29)
	given(t, "thickness of U", u.Section.ThicknessM, 0.003, 5, 42, 46)
	given(t, "x of U", u.At.X, -0.040, 5, 54, 60)
	given(t, "y of U", u.At.Y, 0, 5, 62, 66)
	open(t, "z of U", u.At.Z, 0)
	given(t, "temperature of U", u.TemperatureC, 90, 5, 97, 102)
	given(t, "temperature of V", l.Bars[1].TemperatureC, 90, 6, 95, 102)
	open(t, "turn of U", u.TurnRad, 0)
	open(t, "length of U", u.LengthM, math.NaN())
	// IEC 60028 copper at 99 %: 57.42 MS/m, 0.00389/K, so 1/(1 + 0.00389·70) of it.
	near(t, "conductivity of U", u.SigmaSPerM, 57.42e6/(1+0.00389*70))
	near(t, "conductivity of W", w.SigmaSPerM, 57.42e6)
	given(t, "width of W", w.Section.WidthM, 0.020, 8, 22, 26)
	given(t, "thickness of W", w.Section.ThicknessM, 0.003, 8, 39, 46)
	given(t, "turn of W", w.TurnRad, 0, 10, 11, 16)
	open(t, "temperature of W", w.TemperatureC, 20)

	s := l.Sensors[0]
	if s.ID != "SU" || s.Reads != 0 || l.Sensors[2].Reads != 2 || s.Part != 0 || s.Pair != nil || l.Sensors[2].Placement != nil {
		t.Errorf("sensor SU: %+v", s)
	}
	if place(s.ReadsSpan) != "13:15-13:16" {
		t.Errorf("reads at %s", place(s.ReadsSpan))
	}
	given(t, "axis of SU", s.Axis.AngleRad, 180*deg, 13, 46, 53)
	if s.Axis.U.X != -1 || s.Axis.U.Y != 0 || s.Axis.U.Z != 0 {
		t.Errorf("axis of SU: %+v", s.Axis.U)
	}
	near(t, "height of SU", s.At.Y.V, 0.0055)
	near(t, "tolerance x", s.Placement.XM.V, 0.2e-3)
	near(t, "tolerance tilt", s.Placement.TiltRad.V, 2*deg)

	p := l.Parts[0]
	given(t, "linear range high", p.LinearHighT, 0.030, 18, 19, 24)
	given(t, "linear range low", p.LinearLowT, -0.030, 18, 19, 24)
	near(t, "sensitivity", p.SensitivityVPerT.V, 60)
	near(t, "sensitivity from", p.SensitivityFromVPT.V, 40)
	near(t, "sensitivity to", p.SensitivityToVPT.V, 80)
	near(t, "sensitivity tolerance", p.SensitivityTol.V, 0.01)
	near(t, "sensitivity drift", p.SensitivityPerK.V, 150e-6)
	near(t, "output zero", p.ZeroV.V, 2.5)
	near(t, "output low", p.LowV.V, 0.4)
	near(t, "output high", p.HighV.V, 4.6)
	near(t, "offset", p.OffsetV.V, 8e-3)
	near(t, "offset drift", p.OffsetVPerK.V, 0.05e-3)
	given(t, "noise", p.NoiseV, 0.9e-3, 22, 12, 18)
	near(t, "bandwidth", p.BandwidthHz.V, 200e3)
	open(t, "order", p.Order, 1)
	near(t, "delay", p.DelayS.V, 2e-6)
	open(t, "hysteresis", p.HysteresisT, math.NaN())

	cruise, climb, short := l.Duties[0], l.Duties[1], l.Duties[2]
	if cruise.Kind != layout.Continuous || climb.Kind != layout.Peak || short.Kind != layout.Fault {
		t.Errorf("kinds %v, %v, %v", cruise.Kind, climb.Kind, short.Kind)
	}
	near(t, "frequency", cruise.FreqHz.V, 20)
	near(t, "rms", cruise.ThreePhase.Amount.RMSA.V, 260)
	if cruise.ThreePhase.Circuits != [3]layout.CircuitIndex{0, 1, 2} || cruise.ThreePhase.Amount.PeakA.Set ||
		cruise.Ripple != nil {
		t.Errorf("cruise: %+v", cruise.ThreePhase)
	}
	near(t, "peak", climb.ThreePhase.Amount.PeakA.V, 700)
	near(t, "phase", climb.ThreePhase.Amount.PhaseRad.V, 15*deg)
	near(t, "ripple frequency", climb.Ripple.FreqHz.V, 8000)
	near(t, "ripple", climb.Ripple.Amount.RMSA.V, 9)
	open(t, "frequency of short", short.FreqHz, 0)
	if len(short.Currents) != 2 || short.Currents[0].Circuit != 0 || short.Currents[1].Circuit != 1 {
		t.Fatalf("short: %+v", short.Currents)
	}
	near(t, "fault of U", short.Currents[0].DCA.V, 1600)
	near(t, "fault of V", short.Currents[1].DCA.V, -1600)
	given(t, "uniform field", l.Surroundings.Uniform.FluxDensityT, 50e-6, 30, 12, 19)
	open(t, "direction", l.Surroundings.Uniform.DirectionRad, math.NaN())
}

func TestAssumed(t *testing.T) {
	l := mustLoad(t, "examples/three-bars.yaml", fixture(t, "examples/three-bars.yaml"))
	var got []string
	for _, a := range l.Assumed {
		got = append(got, fmt.Sprintf("%d:%d %s: %s", a.Span.Start.Line, a.Span.Start.Column, a.Object, a.Text))
	}
	want := []string{
		`5:3 U: bar "U" is long`,
		`6:3 V: bar "V" is long`,
		`7:3 W: bar "W" is at 20 °C`,
		`7:3 W: bar "W" is long`,
		`13:70 SU: placement of sensor "SU" leaves out z and yaw: they are 0`,
		`14:68 SV: placement of sensor "SV" leaves out z and yaw: they are 0`,
		`15:3 SW: sensor "SW" stands exactly where it is drawn`,
		`23:5 flat-30: bandwidth of part "flat-30" is that of a low-pass of order 1`,
		`27:101 climb: ripple of duty "climb" is a sine and has the phases of the fundamental and any phase against it`,
		`29:1 : no iron and no conducting wall is nearer than 1 m`,
		`29:1 : no return path is declared: the currents of a duty must sum to zero`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A JSON file gives the values of the same layout in YAML.
func TestJSON(t *testing.T) {
	l := mustLoad(t, "pair.json", fixture(t, "examples/pair.json"))
	n := l.Bars[1]
	if n.ID != "N" || n.Section.Kind != layout.Outline || len(n.Section.Corners) != 4 {
		t.Fatalf("bar N: %+v", n)
	}
	near(t, "area of N", n.AreaM2(), 20e-3*3e-3)
	d := l.Sensors[1]
	near(t, "spacing", d.Pair.SpacingM.V, 2.5e-3)
	near(t, "axis", d.Axis.U.Y, 1)
	near(t, "current", l.Duties[0].Currents[1].DCA.V, -300)
	if place(l.Bars[0].Span) != "5:5-5:8" {
		t.Errorf("bar P at %s", place(l.Bars[0].Span))
	}
}

func TestSortedUniqueAndDeterministic(t *testing.T) {
	bad := strings.NewReplacer("20 mm", "20", "reads: U", "reads: Q", "kind:", "kid:", "copper", "cooper").
		Replace(string(fixture(t, "examples/three-bars.yaml")))
	l, first := Load("bad.yaml", []byte(bad))
	if l != nil || len(first) < 8 {
		t.Fatalf("layout %v, %d problems", l, len(first))
	}
	for i := 1; i < len(first); i++ {
		if compareProblems(first[i-1], first[i]) >= 0 {
			t.Errorf("%v then %v", first[i-1], first[i])
		}
	}
	for range 20 {
		if _, again := Load("bad.yaml", []byte(bad)); !reflect.DeepEqual(first, again) {
			t.Fatal("problems differ from run to run")
		}
	}
}

func TestProblems(t *testing.T) {
	seen := map[string]bool{}
	last := ""
	for _, d := range Problems() {
		if d.ID <= last {
			t.Errorf("%q after %q", d.ID, last)
		}
		last, seen[d.ID] = d.ID, true
		if d.Title == "" || d.Full == "" || d.Help == "" || d.Level != finding.Error || strings.HasSuffix(d.Title, ".") {
			t.Errorf("%s is not described: %+v", d.ID, d)
		}
	}
	for _, id := range []string{ruleUnknownKey, ruleMissing, ruleForm, ruleQuantity, ruleRange, ruleUnknownID, ruleTaken, ruleOutline, "key-duplicate", "file-syntax"} {
		if !seen[id] {
			t.Errorf("%s is not described", id)
		}
	}
}
