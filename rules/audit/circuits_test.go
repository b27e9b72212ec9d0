package audit

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/rules/report/figure"
)

// Round bars: outside each the field is that of a wire in its middle, μ0 i / (2π r)
// (Jackson, section 5.2), so that every number here can be worked by hand.
// Demo: the store of a harbour crane beside its slewing drive.
const round = `layout: 1
bars:
  out: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}
  back: {section: {diameter: 8 mm}, at: [0 mm, -20 mm], metal: copper}
  L1: {section: {diameter: 8 mm}, at: [100 mm, 0 mm], metal: copper}
  L2: {section: {diameter: 8 mm}, at: [120 mm, 0 mm], metal: copper}
  T: {section: {diameter: 8 mm}, at: [300 mm, 0 mm], metal: copper}
circuits:
  store: {series: {out: 1, back: -1}}
  slew: {parallel: [L1, L2]}
sensors:
  SB: {reads: store, at: [0 mm, 10 mm], axis: 180 deg, part: tern}
  SL: {reads: L1, at: [100 mm, 10 mm], axis: 180 deg, part: tern}
  SA:
    reads: T
    at: [300 mm, 0 mm]
    axis: 180 deg
    part: tern
    elements:
      - {at: [0 mm, 10 mm], axis: 180 deg, weight: 0.5}
      - {at: [0 mm, -10 mm], axis: 0 deg, weight: 0.5}
parts:
  tern: {linear-range: 25 mT, sensitivity: 80 mV/mT}
duties:
  lift: {kind: continuous, frequency: 50 Hz, currents: {store: {dc: 100 A, peak: 40 A, phase: 30 deg, harmonics: [{order: 3, share: 25 %, phase: 90 deg}]}}, ripple: {frequency: 8100 Hz, peak: 2 A, currents: {store: {peak: 2 A}}}}
  hold: {kind: continuous, currents: {store: {dc: 50 A}, slew: {dc: 60 A}, T: {dc: 70 A}}}
`

const mu0 = 4e-7 * math.Pi

// alone builds a page without verdicts.
func alone(t *testing.T, text string) *Page {
	t.Helper()
	return Build(Input{Model: probe.NewModel(loaded(t, text))})
}

func curve(t *testing.T, c *Channel, name string) *Curve {
	t.Helper()
	for i := range c.Curves {
		if c.Curves[i].Name == name {
			return &c.Curves[i]
		}
	}
	t.Fatalf("channel %s has no curve %q", c.Sensor, name)
	return nil
}

// The current of the file and μ0 i (1/r1 − 1/r2)/2π of go and return, from 0 to one period of
// 50 Hz; ripple stands at any phase to it and is named instead.
func TestPeriod(t *testing.T) {
	p := alone(t, round)
	c := curve(t, &p.Channels[0], "Current and reading over a period, duty lift")
	current, reading := c.Chart.Panels[0].Series[0], c.Chart.Panels[1].Series[0]
	last := len(current.X) - 1
	if current.X[0] != 0 || math.Abs(current.X[last]-20e-3) > 1e-12 || last < 48 {
		t.Fatalf("%d places from %g to %g", last, current.X[0], current.X[last])
	}
	for k, at := range current.X {
		w := 2 * math.Pi * 50 * at
		i := 100 + 40*math.Cos(w+math.Pi/6) + 10*math.Cos(3*w+math.Pi/2)
		if math.Abs(current.Y[k]-i) > 1e-9 {
			t.Fatalf("%g A at %g s, want %g", current.Y[k], at, i)
		}
		b := mu0 / (2 * math.Pi) * i * (1/10e-3 - 1/30e-3)
		// Eddy currents of thick bars 20 mm apart add some thousandths.
		if math.Abs(reading.Y[k]-b) > 0.01*mu0/(2*math.Pi)*50*(1/10e-3-1/30e-3) {
			t.Fatalf("%g T at %g s, want %g", reading.Y[k], at, b)
		}
	}
	if !strings.Contains(c.Text, "ripple, 8.10 kHz") || !strings.Contains(c.Text, "with what is not drawn") {
		t.Errorf("%q", c.Text)
	}
	// 150 A · 20 µT/A − a third are 2 mT, 8 % of 25 mT.
	if band := c.Chart.Panels[1].Bands; len(band) != 1 || band[0].From != -25e-3 || band[0].To != 25e-3 {
		t.Errorf("bands %+v", band)
	}
	for _, c := range p.Channels[0].Curves {
		if strings.Contains(c.Name, "duty hold") {
			t.Error("direct current is drawn over a period")
		}
	}
	// A channel that carries nothing shows what the others do to it, each element by itself:
	// μ0 i cos θ/2π r of store at 300 mm, next to nothing across its axis.
	c = curve(t, &p.Channels[2], "Current and reading over a period, duty lift")
	if len(c.Chart.Panels) != 3 || len(c.Chart.Panels[2].Series) != 2 {
		t.Fatalf("%d panels", len(c.Chart.Panels))
	}
	x, above, below := 300e-3, 10e-3, -10e-3
	along := func(y float64) float64 { // B along −x per ampere of the pair
		return mu0 / (2 * math.Pi) * (y/(x*x+y*y) - (y+20e-3)/(x*x+(y+20e-3)*(y+20e-3)))
	}
	for k := range current.X {
		i := current.Y[k]
		for e, want := range []float64{i * along(above), -i * along(below)} {
			if got := c.Chart.Panels[2].Series[e].Y[k]; math.Abs(got-want) > 3e-3*math.Abs(want)+1e-10 {
				t.Fatalf("element %d: %g T, want %g", e, got, want)
			}
		}
	}
}

// Hand estimates, facts and words of circuits. Of the pair 13.33 µT/A, go and return; of
// equal legs half of 60 A each.
func TestCircuitsOnThePage(t *testing.T) {
	p := alone(t, round)
	store, leg, ring := &p.Channels[0], &p.Channels[1], &p.Channels[2]
	if got := store.Facts[0].Value; got != "circuit store, at bar out, 6.00 mm from its surface" {
		t.Errorf("%q", got)
	}
	if got := leg.Facts[0].Value; got != "leg L1 of circuit slew, at bar L1, 6.00 mm from its surface" {
		t.Errorf("%q", got)
	}
	for i, want := range []string{"13.33 µT/A", "20.00 µT/A", "20.00 µT/A"} {
		for _, h := range p.Channels[i].Hand {
			if h.Result != want {
				t.Errorf("channel %d, %s: %s, want %s", i, h.Name, h.Result, want)
			}
		}
		if w := p.Channels[i].Worked[0]; w.Result != want {
			t.Errorf("channel %d: worked %s, want %s", i, w.Result, want)
		}
	}
	if !strings.Contains(store.Hand[0].Numbers, "bar back: -1.000 × ") {
		t.Errorf("%q", store.Hand[0].Numbers)
	}
	var still *Frame
	for i := range p.Section.Frames {
		if p.Section.Frames[i].Duty == "hold" {
			still = &p.Section.Frames[i]
		}
	}
	if want := "Circuit slew carries 60.00 A: 30.00 A in bar L1, 30.00 A in bar L2."; !strings.Contains(still.Currents,
		want) {
		t.Errorf("%q", still.Currents)
	}
	if got := p.Section.Circuits; len(got) != 3 || got[0] != "store" || got[1] != "slew" || got[2] != "T" {
		t.Errorf("%q", got)
	}
	// The leg reads 30 A; what its twin does is stray: across its axis, 10 mm over 22.4 mm.
	row := still.Rows[1]
	twin := mu0 / (2 * math.Pi) * 30 * 10e-3 / (20e-3*20e-3 + 10e-3*10e-3)
	if row.Reads != "L1" || row.Largest != "slew" || math.Abs(row.LargestT-twin) > 1e-3*twin || row.OwnA != 30 {
		t.Errorf("%+v, twin %g T", row, twin)
	}
	var names []string
	for _, s := range still.Drawing.Sensors {
		names = append(names, s.Name)
	}
	if got := strings.Join(names, ", "); got != "SB, SL, SA 1 × 0.5, SA 2 × 0.5" {
		t.Errorf("%q", got)
	}
	if got := still.Drawing.Sensors[3]; got.AtM.Y != -10e-3 || math.Abs(got.Axis.X-1) > 1e-12 {
		t.Errorf("%+v", got)
	}
	if len(still.Drawing.Bars) != 5 {
		t.Errorf("%d bars are drawn", len(still.Drawing.Bars))
	}
	// Each element of the array stands 10 mm off the wire: 25 mT / 20 µT/A.
	for _, s := range ring.Worked {
		if s.What == "own current that fills the linear range" && s.Result != "1.25 kA" {
			t.Errorf("%+v", s)
		}
	}
}

// Points, sets at any phase, sets of one base and an asymmetrical fault, each said in words.
// Demo: a rail welder beside a lift.
const waves = `layout: 1
bars:
  A: {section: {diameter: 8 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {diameter: 8 mm}, at: [60 mm, 0 mm], metal: copper}
sensors:
  S: {reads: A, at: [0 mm, 10 mm], axis: 180 deg, part: tern}
parts:
  tern: {linear-range: 25 mT, sensitivity: 80 mV/mT}
duties:
  weld: {kind: continuous, period: 50 us, currents: {A: {points: [[0 us, 0 A], [12.5 us, 100 A], [37.5 us, -100 A]]}}}
  tied: {kind: continuous, frequency: 20 Hz, currents: {A: {peak: 100 A}}, with: [{frequency: 50 Hz, currents: {A: {peak: 10 A}}}]}
  loose: {kind: continuous, frequency: 20 Hz, currents: {A: {peak: 100 A}}, with: [{frequency: 50.0123 Hz, currents: {A: {peak: 10 A}}}]}
  short: {kind: fault, frequency: 50 Hz, currents: {A: {peak: 1000 A}}, asymmetry: {peak-factor: 1.8}}
`

// A triangle of 100 A between its corners, at 5 µs 40 A; 20 and 50 Hz repeat after 100 ms and
// 20 and 50.0123 Hz never do within 1000 periods, so that one is left out; 1.8 · 1000 A.
func TestEveryWaveform(t *testing.T) {
	c := &alone(t, waves).Channels[0]
	l := loaded(t, waves)
	leftA := waveform.Of(l, &l.Duties[0]).LeftOverA[0]
	if !(leftA < 4) {
		t.Fatalf("%g A are left out", leftA)
	}
	for duty, want := range map[string]struct {
		periodS, firstA float64
		words           []string
	}{
		"weld": {50e-6, 0, []string{"What the components leave out of the waveform is "}},
		"tied": {50e-3, 100, []string{"peaks at 100 A as drawn, and at up to 110 A with", "second set, 50.0 Hz."}},
		"loose": {50e-3, 100, []string{"peaks at 100 A as drawn, and at up to 110 A with",
			"at any phase to it: second set, 50.0 Hz."}},
		"short": {20e-3, 1000, []string{"up to 1.80 kA with", "makes the first peak 1.800 times as large"}},
	} {
		one := curve(t, c, "Current and reading over a period, duty "+duty)
		if len(one.Chart.Panels) != 2 || !finite(one.Chart.Panels) {
			t.Fatalf("%s: no lines: %s", duty, one.Text)
		}
		line := one.Chart.Panels[0].Series[0]
		if end := line.X[len(line.X)-1]; math.Abs(end-want.periodS) > 1e-9*want.periodS ||
			math.Abs(line.Y[0]-want.firstA) > 0.2 {
			t.Errorf("%s: from %g A to %g s, want %g and %g", duty, line.Y[0], end, want.firstA, want.periodS)
		}
		for _, w := range want.words {
			if !strings.Contains(one.Text, w) {
				t.Errorf("%s: %q lacks %q", duty, one.Text, w)
			}
		}
		if duty != "weld" {
			continue
		}
		for k, at := range line.X {
			// 100 A are met at a quarter of the period, −100 A at three quarters.
			x := at / want.periodS
			tri := 100 * (1 - 4*math.Abs(math.Mod(x+0.25, 1)-0.5))
			if math.Abs(line.Y[k]-tri) > leftA+1e-9 {
				t.Fatalf("%g A at %g of the period, want %g", line.Y[k], x, tri)
			}
		}
	}
}

func finite(panels []figure.Panel) bool {
	for _, p := range panels {
		for _, s := range p.Series {
			for _, v := range s.Y {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					return false
				}
			}
		}
	}
	return true
}
