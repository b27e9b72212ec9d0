package audit

import (
	"math"
	"math/cmplx"
	"os"
	"reflect"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/rules/report"
	"busgauss/schema/load"
)

// shielded is one bar in a channel of iron beside a bare one, at two frequencies.
// Demo: a feeder of a cable ferry.
const shielded = `layout: 1
title: Cable ferry, feeder
bars:
  A: {section: {width: 15 mm, thickness: 4 mm}, at: [-20 mm, 0 mm], metal: copper}
  B: {section: {width: 15 mm, thickness: 4 mm}, at: [20 mm, 0 mm], metal: copper}
shields:
  K: {form: {channel: {opening: 18 mm, leg: 12 mm, wall: 1.5 mm}}, at: [-20 mm, -3 mm], material: iron, depth: long}
materials:
  iron: {relative-permeability: 2000, conductivity: 2 MS/m, source: invented for this test}
sensors:
  SA: {reads: A, at: [-20 mm, 5 mm], axis: 180 deg, part: tern, placement: {x: 0.2 mm, y: 0.3 mm, tilt: 0.5 deg}}
  SB: {reads: B, at: [20 mm, 5 mm], axis: 180 deg, part: tern}
parts:
  tern: {linear-range: 25 mT, sensitivity: 80 mV/mT, output: {zero: 2.5 V, low: 0.5 V, high: 4.5 V}}
duties:
  haul: {kind: continuous, currents: {A: {dc: 200 A}, B: {dc: -200 A}}}
  idle: {kind: continuous, frequency: 400 Hz, currents: {A: {rms: 50 A}, B: {rms: 50 A, phase: 180 deg}}}
`

func loaded(t *testing.T, text string) *layout.Layout {
	t.Helper()
	l, problems := load.Load("test.yaml", []byte(text))
	if l == nil {
		t.Fatal(problems)
	}
	return l
}

func built(t *testing.T, l *layout.Layout) *Page {
	t.Helper()
	m := probe.NewModel(l)
	found := engine.CheckWith(m, rules.All(), engine.Options{})
	return Build(Input{Model: m, Findings: found, Assumed: channel.Assumed(l), Rules: rules.Describe(rules.All())})
}

func fixture(t *testing.T, name string) *layout.Layout {
	t.Helper()
	data, err := os.ReadFile("../../fixtures/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return loaded(t, string(data))
}

// What stands under the pointer is what the model gives at that place, and the parts of
// the bars are those of the same superposition.
func TestSamplesAreTheModel(t *testing.T) {
	l := loaded(t, shielded)
	p := built(t, l)
	m := probe.NewModel(l)
	if len(p.Section.Points) < 50 || len(p.Section.Frames) != 2 {
		t.Fatalf("%d points, %d frames", len(p.Section.Points), len(p.Section.Frames))
	}
	for i := range p.Section.Frames {
		f := &p.Section.Frames[i]
		c := waveform.Of(l, &l.Duties[i]).Components[0]
		field, err := m.Rough().Field(c.FreqHz)
		if err != nil {
			t.Fatal(err)
		}
		for k := 0; k < len(p.Section.Points); k += 7 {
			q := p.Section.Points[k]
			v, err := m.Rough().TotalAt(q, &c)
			if err != nil {
				t.Fatal(err)
			}
			size := v.Norm()
			if math.Abs(f.At[k].X-cmplx.Abs(v.X)) > 1e-9*size || math.Abs(f.At[k].Y-cmplx.Abs(v.Y)) > 1e-9*size || size == 0 {
				t.Errorf("frame %d, %v: page %+v, model %+v", i, q, f.At[k], v)
			}
			for b := range l.Circuits {
				if want := field.At(q, layout.CircuitIndex(b)).Norm() *
					cmplx.Abs(c.PeakA[b]); math.Abs(f.CircuitT[b][k]-want) > 1e-9*want {
					t.Errorf("frame %d, %v, circuit %d: %g, want %g", i, q, b, f.CircuitT[b][k], want)
				}
			}
		}
	}
}

// On a line of symmetry a component is rounding alone and counts as none; a small one
// that is real stays, and what is not known stays unknown.
func TestWithoutNoise(t *testing.T) {
	if got := (FieldT{4.5e-18, 3.4e-3, 0}).withoutNoise(); got != (FieldT{0, 3.4e-3, 0}) {
		t.Errorf("%+v", got)
	}
	if got := (FieldT{1e-9, 3.4e-3, 0}).withoutNoise(); got.X != 1e-9 {
		t.Errorf("%+v", got)
	}
	if got := (FieldT{math.NaN(), 3.4e-3, 0}).withoutNoise(); !math.IsNaN(got.X) || got.Y != 3.4e-3 {
		t.Errorf("%+v", got)
	}
}

// A slid sensor reads what a fresh layout with the sensor at that place reads, within
// the bounds of both; at its own place exactly what the table says. In metal it reads
// nothing.
func TestSlidesEqualAFreshRun(t *testing.T) {
	l := loaded(t, shielded)
	p := built(t, l)
	metal := 0
	for i := range p.Section.Frames {
		f := &p.Section.Frames[i]
		c := waveform.Of(l, &l.Duties[i]).Components[0]
		for k := range p.Section.Slides {
			s := &p.Section.Slides[k]
			for at, got := range f.Slid[k] {
				dx, dy := s.DX[at%len(s.DX)], s.DY[at/len(s.DX)]
				if math.IsNaN(got.PerAmpereT) {
					metal++
					continue
				}
				if dx == 0 && dy == 0 && (got.PerAmpereT != f.Rows[k].PerAmpereT || got.StrayA != f.Rows[k].StrayA) {
					t.Errorf("frame %d, %s at its place: slide %g T/A, %g A; table %g T/A, %g A", i, s.Sensor, got.PerAmpereT, got.StrayA, f.Rows[k].PerAmpereT, f.Rows[k].StrayA)
				}
				if at%11 != 0 {
					continue
				}
				moved := l.WithSensor(layout.SensorIndex(k), l.Sensors[k].Moved(geom.Point{X: dx, Y: dy}, 0))
				r, err := probe.NewModel(moved).Read(&moved.Sensors[k], &c)
				if err != nil {
					t.Fatal(err)
				}
				want := cmplx.Abs(r.PerAmpere.V)
				if e := math.Abs(got.PerAmpereT - want); !(e <= 0.01*want) {
					t.Errorf("frame %d, %s by %g, %g: %g T/A, fresh %g", i, s.Sensor, dx, dy, got.PerAmpereT, want)
				}
				stray := cmplx.Abs(r.Stray.V) / want
				if e := math.Abs(got.StrayA - stray); !(e <= 0.01*stray+0.005*cmplx.Abs(r.OwnA)) {
					t.Errorf("frame %d, %s by %g, %g: stray %g A, fresh %g", i, s.Sensor, dx, dy, got.StrayA, stray)
				}
			}
		}
	}
	if metal == 0 {
		t.Error("no place of a slide lies in metal, though the lowest ones do")
	}
}

// The thin wire is μ0/2πr (Jackson, section 5.2): 4e-7π/(2π·5 mm) = 40 µT/A. Across an
// opening of 18 mm the law of Ampère gives 4e-7π/18 mm = 69.8 µT/A. Three strips by
// Simpson's rule come within 1 % of the exact section.
func TestHandEstimates(t *testing.T) {
	p := built(t, loaded(t, shielded))
	hand := p.Channels[0].Hand
	if len(hand) != 3 || hand[0].Result != "40.00 µT/A" || hand[1].Result != "69.81 µT/A" {
		t.Fatalf("%+v", hand)
	}
	if bare := p.Channels[1].Hand; len(bare) != 2 || bare[0].Result != "40.00 µT/A" {
		t.Errorf("%+v", bare)
	}
	for _, h := range hand {
		if h.Reason == "" || h.Source == "" || h.Formula == "" || h.Against == "" {
			t.Errorf("%+v", h)
		}
	}
	// 26.40 µT/A is the closed form of the section (RectangleB).
	for i := range p.Channels {
		w := p.Channels[i].Worked[0]
		if !strings.HasPrefix(w.Result, "26.4") || !strings.Contains(w.Numbers, "exact 26.4") {
			t.Errorf("%+v", w)
		}
		for _, s := range p.Channels[i].Worked {
			if s.Formula == "" || s.Numbers == "" || s.Result == "" || s.Source == "" {
				t.Errorf("channel %d: %+v", i, s)
			}
		}
	}
}

// Failing first, then undecided, permitted, passed; in each the smaller margin first.
func TestOrderAndPermission(t *testing.T) {
	l := loaded(t, shielded)
	of := func(v finding.Verdict, level finding.Level, value float64) finding.Finding {
		return finding.Finding{Rule: "stray-ratio", Verdict: v, Level: level, Object: "SA", Others: []string{"A"}, Cause: "haul",
			Measure: &finding.Measure{Value: value, Limit: 0.05, Unit: "1", Certainty: 0.01,
				Of: finding.Share{Whole: finding.OwnCurrent}}, Message: "m"}
	}
	p := Build(Input{
		Model:     probe.NewModel(l),
		Findings:  []finding.Finding{of(finding.Pass, 0, 0.01), of(finding.Undecided, finding.Warning, 0.05), of(finding.Fail, finding.Error, 0.06), of(finding.Fail, finding.Error, 0.2), of(finding.Fail, finding.Note, 0.9)},
		Permitted: []report.Permission{{Finding: of(finding.Permitted, 0, 0.07), Was: finding.Undecided, Level: finding.Warning, Reason: "prototype", By: "Design"}},
		Rules:     rules.Describe(rules.All()),
	})
	var got []string
	for _, v := range p.Verdicts {
		got = append(got, v.Verdict.String()+" "+v.Value)
	}
	want := []string{"fail 20.0 %", "fail 6.00 %", "fail 90.0 %", "undecided 5.00 %", "permitted 7.00 %", "pass 1.00 %"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	v := p.Verdicts[4]
	if v.Was != finding.Undecided || v.Level != finding.Warning || v.Permission != "by Design: prototype" {
		t.Errorf("%+v", v)
	}
	// 20 % of the 200 A of duty haul are 40 A.
	if v := p.Verdicts[0]; v.Amperes != "40.0 A of 200 A" || v.Percent != "20.0 % of the own current" || v.Margin != "-300 %" || v.Limit != "at most 5.00 %" {
		t.Errorf("%+v", v)
	}
	if len(p.NotSeen) != 1 || p.NotSeen[0].Rule != "stray-ratio" || p.NotSeen[0].Text == "" {
		t.Errorf("%+v", p.NotSeen)
	}
}

func TestLineOf(t *testing.T) {
	const help = "Reports this\nand that.\n\n- Quantity: a\n- Not seen: first\n  second\n- Limit `x`: at most 3"
	if got := lineOf(help, "Not seen"); got != "first second" {
		t.Errorf("%q", got)
	}
	if got := lineOf(help, "Source"); got != "" {
		t.Errorf("%q", got)
	}
	for _, r := range rules.Describe(rules.All()) {
		if lineOf(r.Help, "Not seen") == "" || lineOf(r.Help, "Source") == "" {
			t.Errorf("%s says nothing of what it does not see, or has no source", r.ID)
		}
	}
}

// The steepest piece rises by 0.4 T in 50 A/m, 8 mH/m. A tenth of it lies between the pieces from (200, 1.0) to (500, 1.35),
// 1.167 mH/m about J = 1.1746 T, and from there to (2000, 1.5), 0.1 mH/m about 1.4234 T: at ln(1.167/0.8)/ln(11.67) =
// 0.1536 of the way, 1.2128 T (by hand). Eight tenths of saturation are the most.
func TestKnee(t *testing.T) {
	m := &layout.Material{Curve: []layout.CurvePoint{{}, {FieldAPerM: 50, FluxDensityT: 0.2}, {FieldAPerM: 100, FluxDensityT: 0.6},
		{FieldAPerM: 200, FluxDensityT: 1}, {FieldAPerM: 500, FluxDensityT: 1.35}, {FieldAPerM: 2000, FluxDensityT: 1.5}}}
	b := &builder{}
	if got := b.fullT("K", m, 1.6); math.Abs(got-1.2128) > 1e-4 {
		t.Errorf("knee at %g T", got)
	}
	if got := b.fullT("K", m, 1.5); math.Abs(got-1.2) > 1e-12 {
		t.Errorf("knee at %g T, beyond eight tenths of saturation", got)
	}
	if got := b.fullT("K", &layout.Material{}, 1.5); math.Abs(got-1.2) > 1e-12 {
		t.Errorf("without a curve %g T", got)
	}
	b.Findings = []finding.Finding{{Rule: "shield-saturation", Object: "K", Measure: &finding.Measure{Limit: 0.5}}}
	if got := b.fullT("K", m, 1.6); got != 0.8 {
		t.Errorf("knee at %g T where the rule has its limit at half of 1.6 T", got)
	}
}

// Steps of the grid are round numbers, never below what was asked.
func TestRoundStep(t *testing.T) {
	for _, c := range []struct{ in, want float64 }{{0.3, 0.5}, {1, 1}, {1.1, 2}, {2.1, 2.5}, {2.6, 5}, {7, 10}, {0.02, 0.02}, {0, 1}, {math.NaN(), 1}} {
		if got := roundStep(c.in); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g: %g, want %g", c.in, got, c.want)
		}
	}
}

// Where nothing can be computed the page says so and is whole all the same.
func TestBrokenField(t *testing.T) {
	text := strings.Replace(shielded, "at: [20 mm, 0 mm]", "at: [-18 mm, 0 mm]", 1) // bars overlap
	p := built(t, loaded(t, text))
	for i := range p.Section.Frames {
		if p.Section.Frames[i].Undecided == "" {
			t.Errorf("frame %d has a field", i)
		}
	}
	if len(p.Channels) != 2 || len(p.Channels[0].Curves) != 0 || !strings.Contains(p.Channels[0].Facts[len(p.Channels[0].Facts)-1].Value, "not known") {
		t.Errorf("%+v", p.Channels)
	}
	failing := 0
	for _, v := range p.Verdicts {
		if v.Verdict == finding.Fail {
			failing++
		}
	}
	if failing == 0 {
		t.Error("overlapping bars do not fail")
	}
}

// More components than are drawn: the main one of each duty is, and the rest is named.
func TestFramesAreFew(t *testing.T) {
	var duties strings.Builder
	for _, id := range []string{"a", "b", "c", "d", "e"} {
		duties.WriteString("  " + id + ": {kind: continuous, frequency: 50 Hz, currents: {A: {rms: 9 A}, B: {rms: 9 A, phase: 180 deg}}, harmonics: [{order: 5, share: 10 %}, {order: 7, share: 5 %}, {order: 11, share: 2 %}]}\n")
	}
	text := shielded[:strings.Index(shielded, "shields:")] + shielded[strings.Index(shielded, "sensors:"):strings.Index(shielded, "  haul:")] + duties.String()
	p := built(t, loaded(t, text))
	if len(p.Section.Frames) != maxFrames || len(p.Section.Left) != 5*4-maxFrames {
		t.Fatalf("%d frames, %d left out", len(p.Section.Frames), len(p.Section.Left))
	}
	seen := map[string]bool{}
	for _, f := range p.Section.Frames {
		if f.Role == "fundamental" {
			seen[f.Duty] = true
		}
	}
	if len(seen) != 5 {
		t.Errorf("fundamentals of %v", seen)
	}
}

// Two builds of one layout are equal to the last bit.
func TestSameTwice(t *testing.T) {
	l := fixture(t, "clean/ferry-thruster.yaml")
	if a, b := built(t, l), built(t, l); !reflect.DeepEqual(nanless(a), nanless(b)) {
		t.Error("two builds differ")
	}
}

// nanless makes NaN equal to itself.
func nanless(p *Page) *Page {
	for i := range p.Verdicts {
		if math.IsNaN(p.Verdicts[i].MarginShare) {
			p.Verdicts[i].MarginShare = -12345
		}
	}
	for i := range p.Section.Frames {
		f := &p.Section.Frames[i]
		for k := range f.Rows {
			for _, v := range []*float64{&f.Rows[k].StrayShare, &f.Rows[k].Certainty} {
				if math.IsNaN(*v) {
					*v = -12345
				}
			}
		}
		for k := range f.Slid {
			for j := range f.Slid[k] {
				if s := &f.Slid[k][j]; math.IsNaN(s.PerAmpereT) || math.IsNaN(s.StrayShare) {
					*s = SlidPlace{PerAmpereT: -1}
				}
			}
		}
	}
	for i := range p.Channels {
		p.Channels[i].Curves = nil // compared as drawn, in the package of the page
	}
	return p
}
