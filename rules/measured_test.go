package rules_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
	"busgauss/schema/load"
)

// bench is what really stands on it: how far it is from the drawing of benchLayout.
type bench struct {
	upM, asideM, tiltRad, pitchM float64
	gain, zeroT                  float64
}

// reads is what the sensor reads of currents in both bars, each 200 by 30 filaments without end, B = μ0 I/(2π r): no formula of
// the program is in it.
func (b *bench) reads(goA, backA float64) float64 {
	sin, cos := math.Sincos(math.Pi + b.tiltRad)
	sum := 0.0
	for _, bar := range []struct{ x, a float64 }{{0, goA}, {b.pitchM, backA}} {
		const nx, ny = 200, 30
		for i := range nx {
			for k := range ny {
				dx := b.asideM - bar.x - 20e-3*((float64(i)+0.5)/nx-0.5)
				dy := 5.5e-3 + b.upM - 3e-3*((float64(k)+0.5)/ny-0.5)
				sum += 2e-7 * bar.a / (nx * ny) / (dx*dx + dy*dy) * (-dy*cos + dx*sin)
			}
		}
	}
	return sum*b.gain + b.zeroT
}

const benchLayout = `layout: 1
bars:
  go: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  back: {section: {width: 20 mm, thickness: 3 mm}, at: [60 mm, 0 mm], metal: copper}
sensors:
  S: {reads: go, at: [0 mm, 5.5 mm], axis: 180 deg, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 0.5 deg}}
duties:
  feed: {kind: continuous, currents: {go: {dc: 250 A}, back: {dc: -250 A}}}
  return: {kind: continuous, currents: {back: {dc: 200 A}}}
surroundings: {clear: 20 m}
measurements:
  - {date: 2026-05-04, duty: feed, readings: {S: %.7g mT}, uncertainty: 0.1 %%}
  - {date: 2026-05-04, current: 100 A, readings: {S: %.7g mT}, uncertainty: 0.1 %%}
  - {date: 2026-05-04, duty: return, readings: {S: %.7g mT}, uncertainty: 0.1 %%}
`

func measuredOn(t *testing.T, b bench) finding.Finding {
	t.Helper()
	if b.gain == 0 {
		b.gain = 1
	}
	if b.pitchM == 0 {
		b.pitchM = 60e-3
	}
	text := fmt.Sprintf(benchLayout, 1e3*b.reads(250, -250), 1e3*b.reads(100, 0), 1e3*b.reads(0, 200))
	l, problems := load.Load("bench.yaml", []byte(text))
	if l == nil {
		t.Fatal(problems)
	}
	found := engine.Check(l, []engine.Rule{rules.Measured}, engine.Options{})
	if len(found) != 1 {
		t.Fatalf("%d findings: %+v", len(found), found)
	}
	return found[0]
}

// What is hidden on the bench is named, with its size and its sign, and nothing else is as good.
func TestMeasuredNamesWhatIsHidden(t *testing.T) {
	const degree = math.Pi / 180
	for _, c := range []struct {
		name  string
		bench bench
		want  string
	}{
		{"higher", bench{upM: 0.7e-3}, "One thing explains it: S stands 0.7 mm higher than drawn: 4.0 → 4.7 mm above go, which leaves"},
		{"lower", bench{upM: -0.6e-3}, "One thing explains it: S stands 0.6 mm lower than drawn: 4.0 → 3.4 mm above go, which leaves"},
		{"aside", bench{asideM: 4e-3}, "[0.0 mm, 5.5 mm] → [4.0 mm, 5.5 mm], which leaves"},
		{"aside the other way", bench{asideM: -4e-3}, "[0.0 mm, 5.5 mm] → [-4.0 mm, 5.5 mm], which leaves"},
		{"turned", bench{tiltRad: 9 * degree}, "One thing explains it: the axis of S is turned by 9.0 deg: 180.0 → 189.0 deg"},
		{"turned back", bench{tiltRad: -9 * degree}, "One thing explains it: the axis of S is turned by -9.0 deg"},
		{"nearer", bench{pitchM: 48e-3}, "back stands 12.0 mm nearer to go than drawn: pitch 60.0 → 48.0 mm"},
		{"more current", bench{gain: 1.04}, "One thing explains it: the current of the source was 4.00 % higher than stated"},
		{"zero", bench{zeroT: -30e-6}, "One thing explains it: a field of -30.0 µT with no current was not taken off"},
	} {
		f := measuredOn(t, c.bench)
		if f.Verdict != finding.Fail || !strings.Contains(f.Message, c.want) {
			t.Errorf("%s: %v %s\nwant %s", c.name, f.Verdict, f.Message, c.want)
		}
	}
	if f := measuredOn(t, bench{}); f.Verdict != finding.Pass || f.Measure.Value > 0.05 {
		t.Errorf("as drawn: %v %s", f.Verdict, f.Message)
	}
}

// En of a sensor that stands 0.3 mm higher, by hand: the field of the filaments at both places, the tolerance of y as
// the larger change at its two ends over √3 times 2 (JCGM 100:2008, 4.3.7), the instrument as it is. Those of x
// and tilt are under a hundredth of that.
func TestMeasuredNumber(t *testing.T) {
	at := func(upM float64) float64 { b := bench{upM: upM, pitchM: 60e-3, gain: 1}; return b.reads(100, 0) }
	read, computed := at(0.3e-3), at(0)
	place := 2 / math.Sqrt(3) * math.Max(math.Abs(at(0.2e-3)-computed), math.Abs(at(-0.2e-3)-computed))
	want := math.Abs(read-computed) / math.Hypot(place, 0.001*read)
	text := fmt.Sprintf(strings.Replace(benchLayout, "duty: feed", "current: 100 A", 1), 1e3*read, 1e3*read, 1e3*(&bench{pitchM: 60e-3, gain: 1}).reads(0, 200))
	l, problems := load.Load("bench.yaml", []byte(text))
	if l == nil {
		t.Fatal(problems)
	}
	f := engine.Check(l, []engine.Rule{rules.Measured}, engine.Options{})[0]
	if !(math.Abs(f.Measure.Value/want-1) < 0.01) {
		t.Errorf("En %.4f, want %.4f", f.Measure.Value, want)
	}
}

// A change that mends another rule is offered although the readings of what was built no longer fit.
func TestMeasuredHoldsNothingAgainstRemedies(t *testing.T) {
	text := fmt.Sprintf(benchLayout, 1e3*(&bench{pitchM: 60e-3, gain: 1}).reads(250, -250), 1e3*(&bench{pitchM: 60e-3, gain: 1}).reads(100, 0),
		1e3*(&bench{pitchM: 60e-3, gain: 1}).reads(0, 200))
	text = strings.Replace(text, "axis: 180 deg", "axis: 180 deg, part: godwit-4", 1)
	text = strings.Replace(text, "duties:", "parts:\n  godwit-4: {linear-range: 4 mT, sensitivity: 400 mV/mT}\nduties:", 1)
	l, problems := load.Load("bench.yaml", []byte(text))
	if l == nil {
		t.Fatal(problems)
	}
	for _, f := range engine.Check(l, []engine.Rule{rules.LinearRange, rules.Measured}, engine.Options{}) {
		if f.Rule == "linear-range" && f.Verdict == finding.Fail {
			if !strings.HasPrefix(f.Remedy, "move S from") || strings.Contains(f.Remedy, "measured") {
				t.Errorf("no change is offered: %s", f.Remedy)
			}
			return
		}
	}
	t.Error("linear-range does not fail")
}
