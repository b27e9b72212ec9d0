package probe_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"busgauss/model/bounded"
	"busgauss/model/probe"
)

// twoWires are thin bars 30 mm apart with a sensor 5 mm straight above each, and a pair about the first.
const twoWires = `layout: 1
bars:
  A: {section: {diameter: 1 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {diameter: 1 mm}, at: [30 mm, 0 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, 5 mm], axis: 180 deg}
  P: {reads: A, at: [0 mm, 0 mm], axis: 180 deg, pair: {spacing: 12 mm, along: 90 deg}}
`

// axisTPerA is the field along -x at (x, y) of a filament at the origin, μ0/(2π)·y/r², per ampere:
// Ampère's law, exact outside a round bar.
func axisTPerA(xM, yM float64) float64 { return 2e-7 * yM / (xM*xM + yM*yM) }

func swingsOf(t *testing.T, yaml, sensor string) []probe.Swing {
	t.Helper()
	l := mustLoad(t, yaml)
	got, err := probe.NewModel(l).ElementSwing(sensorOf(t, l, sensor), &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// TestSwingAgainstSampling compares the two ends of a swing with the field of the two wires
// at 200000 instants of currents that are written down here again: fundamental and harmonics
// keep their phases, the ripple takes its worst.
func TestSwingAgainstSampling(t *testing.T) {
	const seed = 11
	random := rand.New(rand.NewPCG(seed, seed))
	k := [2]float64{axisTPerA(0, 5e-3), axisTPerA(-30e-3, 5e-3)}
	for trial := range 12 {
		type part struct{ order, size, phase float64 }
		var parts [2][]part
		var mean [2]float64
		var words [2]string
		for i := range parts {
			mean[i] = 100 * random.NormFloat64()
			var harmonics []string
			for _, order := range []float64{1, 3, 5, 7}[:1+trial%4] {
				p := part{order, 100 * random.ExpFloat64(), 2 * math.Pi * random.Float64()}
				parts[i] = append(parts[i], p)
				amount := fmt.Sprintf("peak: %.17g A, phase: %.17g rad", p.size, p.phase)
				if order == 1 {
					words[i] = fmt.Sprintf("dc: %.17g A, %s", mean[i], amount)
				} else {
					harmonics = append(harmonics, fmt.Sprintf("{order: %g, %s}", order, amount))
				}
			}
			if harmonics != nil {
				words[i] += ", harmonics: [" + strings.Join(harmonics, ", ") + "]"
			}
		}
		duty, free := "", 0.0
		if trial%2 == 1 {
			free = 50 * random.ExpFloat64()
			duty = fmt.Sprintf(", ripple: {frequency: 8 kHz, peak: %.17g A, bars: [A]}", free)
		}
		currents := fmt.Sprintf("currents: {A: {%s}, B: {%s}}", words[0], words[1])
		got := swingsOf(t, twoWires+"duties:\n  d: {kind: peak, frequency: 1 Hz, "+currents+duty+"}\n", "S")
		low, high := math.Inf(1), math.Inf(-1)
		for n := range 200000 {
			x, v := 2*math.Pi*float64(n)/200000, 0.0
			for i := range parts {
				v += k[i] * mean[i]
				for _, p := range parts[i] {
					v += k[i] * p.size * math.Cos(p.order*x+p.phase)
				}
			}
			low, high = math.Min(low, v), math.Max(high, v)
		}
		low, high = low-free*k[0], high+free*k[0]
		if len(got) != 1 {
			t.Fatalf("%d elements", len(got))
		}
		// 200000 samples miss a peak of order 7 by (7·π/200000)²/2 of the size, 1e-8.
		tol := 1e-6 * (high - low)
		w := got[0]
		off := math.Max(math.Abs(w.Low.Value-low), math.Abs(w.High.Value-high))
		if !(off <= tol) || !holds(w.Low, low, tol) || !holds(w.High, high, tol) {
			t.Errorf("seed %d, trial %d: %+v, sampled %.8g to %.8g", seed, trial, w, low, high)
		}
	}
}

func holds(e bounded.Estimate, v, tol float64) bool { return e.Low-tol <= v && v <= e.High+tol }

// One cosine on a mean reaches mean ± amplitude; two wires in quadrature add as the root of
// squares. Each element of a pair stands by itself, without its sign.
func TestSwingInClosedForm(t *testing.T) {
	own, other := axisTPerA(0, 5e-3), axisTPerA(-30e-3, 5e-3)
	above, below := axisTPerA(0, 6e-3), axisTPerA(0, -6e-3)
	for _, c := range []struct {
		sensor, duty string
		want         [][2]float64
	}{
		{"S", "kind: peak, frequency: 1 Hz, currents: {A: {dc: 200 A, peak: 500 A, phase: 53 deg}}",
			[][2]float64{{-300 * own, 700 * own}}},
		{"S", "kind: peak, currents: {A: {dc: -200 A}}", [][2]float64{{-200 * own, -200 * own}}},
		{"S", "kind: peak, frequency: 1 Hz, currents: {A: {peak: 30 A}, B: {peak: 200 A, phase: 90 deg}}",
			[][2]float64{{-math.Hypot(30*own, 200*other), math.Hypot(30*own, 200*other)}}},
		{"P", "kind: peak, currents: {A: {dc: 100 A}}",
			[][2]float64{{100 * above, 100 * above}, {100 * below, 100 * below}}},
		// Two inverters that know nothing of each other: their peaks add.
		{"S", "kind: peak, frequency: 1 Hz, currents: {A: {peak: 30 A}}, with: [{frequency: 1.0007 Hz, currents: {B: {peak: 200 A}}}]",
			[][2]float64{{-30*own - 200*other, 30*own + 200*other}}},
		// A fault whose direct component has not decayed at the first peak: κ times the alternating peak, either way.
		{"S", "kind: fault, frequency: 1 Hz, currents: {A: {peak: 500 A}}, asymmetry: {peak-factor: 1.8}",
			[][2]float64{{-900 * own, 900 * own}}},
	} {
		got := swingsOf(t, twoWires+"duties: {d: {"+c.duty+"}}\n", c.sensor)
		if len(got) != len(c.want) {
			t.Fatalf("%s: %d elements", c.duty, len(got))
		}
		for e, w := range got {
			size := 1e-9 + math.Max(math.Abs(c.want[e][0]), math.Abs(c.want[e][1]))
			if d := math.Max(math.Abs(w.Low.Value-c.want[e][0]),
				math.Abs(w.High.Value-c.want[e][1])); !(d <= 1e-8*size) {
				t.Errorf("%s, element %d: %.10g to %.10g, want %.10g", c.duty, e, w.Low.Value, w.High.Value, c.want[e])
			}
			if !holds(w.Low, c.want[e][0], 1e-12*size) || !holds(w.High, c.want[e][1], 1e-12*size) {
				t.Errorf("%s, element %d: %+v does not hold %g", c.duty, e, w, c.want[e])
			}
		}
	}
}

// TestFullIronLetsForeignFieldsIn holds the range that a duty takes to what its own iron lets in: a ring in a field across it
// lets 4 m/((m+1)² - (m-1)² a²/b²) of it through (Jackson, Classical Electrodynamics, section 5.12, in the plane; from
// memory), with m = 4000 at rest 1.06 % of 9 mT, and all of it at most where the duty fills the wall beyond its knee.
func TestFullIronLetsForeignFieldsIn(t *testing.T) {
	const ring = `layout: 1
bars:
  A: {section: {diameter: 10 mm}, at: [0 mm, 0 mm], metal: copper}
shields:
  R: {form: {ring: {inner: 40 mm, wall: 1 mm}}, at: [0 mm, 0 mm], material: m, depth: long}
materials:
  m: {relative-permeability: 4000, saturation: 1.8 T, conductivity: 0 S/m}
sensors:
  S: {reads: A, at: [0 mm, 12 mm], axis: 180 deg, part: p}
parts:
  p: {linear-range: 6 mT, sensitivity: 100 mV/mT}
surroundings: {return: far, uniform: {flux-density: 9 mT}}
duties:
  idle: {kind: continuous, currents: {A: {dc: 1 A}}}
  run: {kind: continuous, currents: {A: {dc: 60 A}}}
`
	l := mustLoad(t, ring)
	m, s := probe.NewModel(l).Stated(), sensorOf(t, l, "S")
	taken := func(d int) probe.RangeTaken {
		r, err := m.RangeIn(s, &l.Duties[d])
		if err != nil || r.Open != nil {
			t.Fatal(err, r.Open)
		}
		return r
	}
	const restT, ownTPerA = 0.0106 * 9e-3, 2e-7 / 12e-3
	if r := taken(0); !(r.ForeignT > 0.95*restT && r.ForeignT < 1.25*restT) {
		t.Errorf("%.4g T of foreign fields while the wall is nearly empty, want %.4g and what its own 0.39 T take of m", r.ForeignT, restT)
	}
	if r := taken(1); !(r.ForeignT > 10*restT) || !(6e-3*r.Share.High > 60*ownTPerA+9e-3*0.9) || !(6e-3*r.Share.Low < 60*ownTPerA+2*restT) {
		t.Errorf("%.4g T of foreign fields in the full wall, %.3g of the range between %.3g and %.3g",
			r.ForeignT, r.Share.Value, r.Share.Low, r.Share.High)
	}
}
