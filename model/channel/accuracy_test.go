package channel_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/schema/load"
)

// winch is an invented cable-car winch: a feed of two bars and a heater with
// alternating current beside them, every datum of the channel given.
const winch = `layout: 1
bars:
  P: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  N: {section: {width: 20 mm, thickness: 3 mm}, at: [45 mm, 6 mm], metal: copper}
  H: {section: {diameter: 6 mm}, at: [-50 mm, 10 mm], metal: copper}
  R: {section: {diameter: 6 mm}, at: [-62 mm, 10 mm], metal: copper}
sensors:
  SP: {reads: P, at: [2 mm, 5.5 mm], axis: 180 deg, part: wigeon, placement: {x: 0.3 mm, y: 0.15 mm, tilt: 1.2 deg}}
parts:
  wigeon:
    linear-range: 20 mT
    sensitivity: {set: 100 mV/mT, tolerance: 1.5 %, drift: 150 ppm/K, life: 0.4 %}
    output: {zero: 2.5 V, low: 0.3 V, high: 4.7 V, ratiometric: false}
    offset: {initial: 15 mV, drift: 0.1 mV/K, life: 3 mV}
    noise: {density: 4 uV/rtHz}
    bandwidth: 100 kHz
    delay: 2 us
    hysteresis: 30 uT
    non-linearity: 0.2 %
    temperature: {from: 0 °C, to: 75 °C}
readout:
  amplifier: {gain: 0.9, zero: 2.4 V, reference: 2.5 V, low: 0.1 V, high: 4.9 V, tolerance: 0.5 %, offset: 2 mV, noise: 20 nV/rtHz}
  divider: {top: 10 kohm, bottom: 18 kohm, tolerance: 1 %, place: after-amplifier}
  filter: {corner: 10 kHz, tolerance: 5 %}
  converter: {low: 0 V, high: 3.3 V, bits: 10, tolerance: 0.5 %, ratiometric: false, noise: 0.2}
  sampling: {rate: 40 kHz, delay: 3 us, aperture: 0.5 us}
  number: {signed: true, width: 16, per-count: 50 mA}
duties:
  haul: {kind: continuous, frequency: 50 Hz, currents: {P: {dc: 400 A}, N: {dc: -400 A}, H: {rms: 120 A}, R: {rms: 120 A, phase: 180 deg}}}
needs:
  all: {accuracy: 5 %, range: 500 A, smallest-current: 8 A}
calibration:
  all: {kind: two-point, conductor: bar, current: 200 A, temperature: 25 °C, tolerance: 0.2 %}
`

func loaded(t testing.TB, text string) *layout.Layout {
	t.Helper()
	l, problems := load.Load("layout.yaml", []byte(text))
	if l == nil {
		t.Fatalf("layout does not load: %v", problems)
	}
	return l
}

func accuracyOf(t testing.TB, text string) *channel.Accuracy {
	t.Helper()
	l := loaded(t, text)
	a, err := channel.AccuracyOf(probe.NewModel(l), &l.Sensors[0], &l.Duties[0])
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// trial is one channel as it might be built, calibrated and used: every input drawn
// by itself.
type trial struct {
	t          testing.TB
	m          *probe.Model
	chain      channel.Chain // nominal
	static     channel.Chain // as built, at the temperature of calibration
	used       channel.Chain // at its temperature and age of use
	place      layout.Sensor
	nominalTPA float64
	rng        *rand.Rand
	strayA     float64
	earthT     float64 // at the place of use
	benchT     float64 // at the calibration
	nonLinearA float64
	referenceE float64
	noiseA     float64
}

func (x *trial) within(half float64) float64 { return half * (2*x.rng.Float64() - 1) }

// build draws the data of the chain within its tolerances.
func (x *trial) build() {
	s := &x.m.Layout.Sensors[0]
	p := s.Placement
	x.place = s.Moved(geom.Point{X: x.within(p.XM.V), Y: x.within(p.YM.V)}, x.within(p.TiltRad.V))
	c := x.chain
	o, a, d, k := *c.Output, *c.Amplifier, *c.Divider, *c.Converter
	c.Output, c.Amplifier, c.Divider, c.Converter = &o, &a, &d, &k
	f, err := x.m.Field(0)
	if err != nil {
		x.t.Fatal(err)
	}
	c.Element.SlopeTPerA = real(f.Own(&x.place).Axis.V)
	o.SensitivityVPerT *= 1 + x.within(o.SensitivityTol)
	o.ZeroV += x.within(o.ZeroTolV)
	a.Gain *= 1 + x.within(a.GainTol)
	a.ReferenceV -= x.within(a.InputTolV)
	d.TopOhm *= 1 + x.within(d.Tol)
	d.BottomOhm *= 1 + x.within(d.Tol)
	k.HighV *= 1 + x.within(k.Tol)
	x.static = c
	heat := x.within(c.Drift.SpanK)
	aged := o
	aged.SensitivityVPerT *= 1 + c.Drift.SensitivityPerK*heat
	aged.SensitivityVPerT *= 1 + x.within(c.Drift.SensitivityLife)
	aged.ZeroV += c.Drift.ZeroVPerK*heat + x.within(c.Drift.ZeroLifeV)
	c.Output = &aged
	x.used = c
}

// surround draws the currents of the other circuits and the fields of the place.
func (x *trial) surround() {
	l := x.m.Layout
	x.strayA = 0
	for _, c := range waveform.Of(l, &l.Duties[0]).Components {
		f, err := x.m.Field(c.FreqHz)
		if err != nil {
			x.t.Fatal(err)
		}
		var sum complex128
		for k, i := range c.PeakA {
			sum += f.Beside(&x.place, layout.CircuitIndex(k)).Axis.V * i
		}
		b := real(sum)
		if c.FreqHz > 0 {
			sin, cos := math.Sincos(2 * math.Pi * x.rng.Float64())
			b = real(sum)*cos - imag(sum)*sin
		}
		x.strayA += b
	}
	x.strayA /= x.static.Element.SlopeTPerA
	// 0.065 mT at most along the axis, either sign.
	x.earthT, x.benchT = x.within(65e-6), x.within(65e-6)
	x.nonLinearA = x.within(x.chain.Drift.NonLinearity * 40e-3 / x.nominalTPA)
	x.referenceE = x.within(0.002)
}

// counts is one reading: everything that shifts it, noise, and the step.
func (x *trial) counts(c *channel.Chain, currentA, fieldT float64, noise bool) float64 {
	zero, perA := c.Counts()
	hysteresis := x.within(x.chain.Drift.HysteresisT)
	n := zero + perA*(currentA+(fieldT+hysteresis)/c.Element.SlopeTPerA)
	if noise {
		_, nominal := x.chain.Counts()
		n += nominal * (x.noiseA*x.rng.NormFloat64() + x.nonLinearA)
	}
	return math.Round(n)
}

// told returns the current that the controller tells after a kind of calibration.
func (x *trial) told(currentA float64, after channel.After) float64 {
	n := x.counts(&x.used, currentA+x.strayA, x.earthT, true)
	zero, perA := x.chain.Counts()
	const calA = 200.0
	at := func(i float64) float64 { return x.counts(&x.static, i*(1+x.referenceE), x.benchT, false) }
	switch after {
	case channel.AfterZero:
		zero = at(0)
	case channel.AfterOnePoint:
		zero = at(0)
		perA = (at(calA) - zero) / calA
	case channel.AfterTwoPoint:
		up, down := at(calA), at(-calA)
		zero, perA = (up+down)/2, (up-down)/(2*calA)
	}
	a := (n - zero) / perA
	const step = 0.05
	return step * math.Round(a/step)
}

// The combined standard uncertainty and the known error of the budget against draws
// through the field model and the chain, calibration included (JCGM 101:2008, clause
// 7; draws by clause 6.4). The standard error of a sample's standard deviation is
// s √((κ−1)/4M), κ its fourth moment over the square of its second (M. G. Kendall, A.
// Stuart, The Advanced Theory of Statistics, vol. 1); four of them are passed by
// chance once in 16 000 runs, and the seed is fixed. Lines of certainty are doubts of
// the model that the draws share, so they are left out.
func TestAccuracyAgainstMonteCarlo(t *testing.T) {
	if testing.Short() {
		t.Skip("draws a hundred thousand channels")
	}
	const draws, seed = 20000, 17
	l := loaded(t, winch)
	m := probe.NewModel(l)
	a := accuracyOf(t, winch)
	of, err := channel.Of(m, &l.Sensors[0])
	if err != nil {
		t.Fatal(err)
	}
	r := of.Chain.Resolution()
	for _, after := range []channel.After{channel.AfterNothing, channel.AfterZero, channel.AfterOnePoint, channel.AfterTwoPoint} {
		for _, currentA := range []float64{500, 8} {
			x := &trial{t: t, m: m, chain: *of.Chain, nominalTPA: math.Abs(of.PerA.Value), rng: rand.New(rand.NewPCG(seed, uint64(after))),
				noiseA: math.Hypot(r.PartNoiseA, r.AnalogNoiseA)}
			var values []float64
			mean := 0.0
			for range draws {
				x.build()
				x.surround()
				e := x.told(currentA, after) - currentA
				values = append(values, e)
				mean += e / draws
			}
			var m2, m4 float64
			for _, v := range values {
				d := (v - mean) * (v - mean)
				m2 += d / draws
				m4 += d * d / draws
			}
			sd := math.Sqrt(m2)
			own := sd * math.Sqrt((m4/(m2*m2)-1)/(4*draws))
			o := a.AtOf(currentA, after, func(n *channel.AccuracyLine) bool { return !n.Field })
			if len(o.Missing) > 0 {
				t.Fatalf("missing: %v", o.Missing)
			}
			t.Logf("%s at %g A: budget %.4f A, sample %.4f ± %.4f A; known %.4f A, mean %.4f ± %.4f A", after, currentA, o.ExpandedA/2, sd, own, o.KnownA, mean, sd/math.Sqrt(draws))
			if !(math.Abs(o.ExpandedA/2-sd) <= 4*own) {
				t.Errorf("%s at %g A: standard uncertainty %g A, sample %g ± %g A", after, currentA, o.ExpandedA/2, sd, own)
			}
			if !(math.Abs(o.KnownA-mean) <= 4*sd/math.Sqrt(draws)) {
				t.Errorf("%s at %g A: known error %g A, mean %g ± %g A", after, currentA, o.KnownA, mean, sd/math.Sqrt(draws))
			}
		}
	}
}
