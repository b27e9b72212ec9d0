package laws

import (
	"math"

	"busgauss/model/finding"
)

// stages of a channel as the tree declares them, nominal values.
type stages struct {
	perA         float64 // volts at the converter per ampere
	zeroV        float64
	lowV, highV  float64 // of the converter
	bits         float64
	part, filter []pole
	rate         float64
}

// pole is a low-pass of a corner and an order with Butterworth's amplitude.
type pole struct{ hz, order float64 }

// amplitude is |H| = 1/√(1 + (f/f0)^2n).
func (p pole) amplitude(hz float64) float64 {
	return 1 / math.Sqrt(1+math.Pow(hz/p.hz, 2*p.order))
}

// chain reads the stages of a sensor; ok is false where it has one that the oracles do not know.
func (y *yard) chain(sensor string, corner float64) (c stages, ok bool) {
	p, r := y.part(sensor), y.root.get("readout")
	if p == nil || r.get("channels") != nil || r.get("amplifier") != nil || p.get("output") == nil ||
		r.get("converter") == nil || p.get("sensitivity", "set") == nil {
		return c, false
	}
	ratio := 1.0
	if d := r.get("divider"); d != nil {
		ratio = d.num(0, "bottom") / (d.num(0, "bottom") + d.num(0, "top"))
	}
	c.perA = y.own(sensor) * p.num(0, "sensitivity", "set") * ratio
	c.zeroV = p.num(0, "output", "zero") * ratio
	c.lowV, c.highV, c.bits = r.num(0, "converter", "low"), r.num(0, "converter", "high"), r.num(0, "converter", "bits")
	if b := p.get("bandwidth"); b != nil {
		c.part = append(c.part, pole{b.value, 1})
	}
	if f := r.get("filter"); f != nil {
		c.filter = append(c.filter, pole{f.num(0, "corner") * (1 + corner*f.num(0, "tolerance")), f.num(1, "order")})
	}
	c.rate = r.num(0, "sampling", "rate")
	return c, y.single(sensor)
}

// oracleResolution integrates the noise over the frequencies that pass, in small steps.
func oracleResolution(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	c, ok := y.chain(f.Object, +1)
	density := y.part(f.Object).get("noise", "density")
	if !ok || density == nil || len(c.part) == 0 { // without the corner of the part a step alone may fail
		return 0, 0, false
	}
	top := 0.0
	for _, p := range append(c.part, c.filter...) {
		top = math.Max(top, p.hz)
	}
	// Even steps in the logarithm, and the tail of a slope of 20 dB a decade beyond.
	band, ratio := 0.0, 1.001
	for hz := top * 1e-7; hz < top*1e4; hz *= ratio {
		a := 1.0
		for _, p := range append(c.part, c.filter...) {
			a *= p.amplitude(hz * math.Sqrt(ratio))
		}
		band += a * a * hz * (ratio - 1)
	}
	ratioV := c.perA / (y.own(f.Object) * y.part(f.Object).num(0, "sensitivity", "set"))
	noise := density.value * math.Sqrt(band) * ratioV / math.Abs(c.perA)
	step := (c.highV - c.lowV) / math.Exp2(c.bits) / math.Abs(c.perA)
	number := y.root.num(0, "readout", "number", "per-count")
	value = 6*noise + math.Max(step, number) // six times the rms tells a current from none, give or take a step
	return value, 3e-3 * value * y.slant(f.Object), true
}

// oracleBandwidth walks up the frequencies until the amplitude has fallen by 3 dB.
func oracleBandwidth(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	if f.Cause != "bandwidth" {
		return 0, 0, false
	}
	c, ok := y.chain(f.Object, -1)
	if !ok {
		return 0, 0, false
	}
	for hz := 1.0; hz < 1e8; hz *= 1.0005 {
		a := 1.0
		for _, p := range append(c.part, c.filter...) {
			a *= p.amplitude(hz)
		}
		if c.rate > 0 { // a held sample is a mean over one period
			x := math.Pi * hz / c.rate
			a *= math.Abs(math.Sin(x) / x)
			if hz >= c.rate/2 {
				return c.rate / 2, 1e-3 * c.rate, true
			}
		}
		if a <= math.Sqrt(0.5) {
			return hz, 1e-3 * hz, true
		}
	}
	return 0, 0, false
}

// oracleDrift multiplies the drift of the sensitivity by the farther end of use.
func oracleDrift(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	c := y.root.get("calibration", "all")
	p := y.part(f.Object)
	if f.Cause != "temperature" || c == nil || y.root.get("calibration", f.Object) != nil {
		return 0, 0, false
	}
	at := c.get("temperature")
	if at == nil {
		return 0, 0, false
	}
	far := math.Max(math.Abs(p.num(0, "temperature", "from")-at.value),
		math.Abs(p.num(0, "temperature", "to")-at.value))
	v := math.Abs(p.num(0, "sensitivity", "drift")) * far
	return v, 1e-9 * v, true
}

// oracleClip raises the current in small steps until a stage leaves its range, for every corner
// of the tolerances.
func oracleClip(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	c, ok := y.chain(f.Object, 0)
	p, r := y.part(f.Object), y.root.get("readout")
	if !ok || f.Cause == "firmware" || f.Cause == "firmware zero" || r.get("number") != nil ||
		p.str("output", "ratiometric") == "true" || y.root.get("sensors", f.Object, "placement") != nil {
		return 0, 0, false
	}
	need := y.needBoth(f.Object)
	if len(y.carriers) > 1 || y.piecesMove() || y.root.get("surroundings", "magnets") != nil {
		return 0, 0, false // what others add to the reading
	}
	own, sens := y.own(f.Object), p.num(0, "sensitivity", "set")
	foreign, _ := y.foreign(y.spot(f.Object, vec{}, 0))
	for k := range need {
		if need[k] > 0 {
			need[k] += foreign / math.Abs(own)
		}
	}
	offset := p.num(p.num(0, "offset"), "offset", "initial")
	clips := func(amps float64) bool {
		if math.Abs(own*amps) > p.num(math.Inf(1), "linear-range") {
			return true
		}
		for corner := range 16 {
			sign := func(bit int) float64 { return float64(2*(corner>>bit&1) - 1) }
			v := p.num(0, "output", "zero") + sign(0)*offset +
				own*amps*sens*(1+sign(1)*p.num(0, "sensitivity", "tolerance"))
			if v < p.num(math.Inf(-1), "output", "low") || v > p.num(math.Inf(1), "output", "high") {
				return true
			}
			if d := r.get("divider"); d != nil {
				t := sign(2) * d.num(0, "tolerance")
				top, bottom := d.num(0, "top")*(1+t), d.num(0, "bottom")*(1-t)
				v *= bottom / (top + bottom)
			}
			if full := 1 + sign(3)*r.num(0, "converter", "tolerance"); v < c.lowV*full || v > c.highV*full {
				return true
			}
		}
		return false
	}
	worst := 0.0
	for k, want := range need {
		if want == 0 {
			continue
		}
		sign := []float64{1, -1}[k]
		amps := want / 1e6
		if clips(sign * amps) {
			return 0, 0, false
		}
		for ; amps < want*1e4 && !clips(sign*amps); amps *= 1.0005 {
		}
		worst = math.Max(worst, want/amps)
	}
	return worst, 2e-3 * worst, worst > 0
}

// needBoth is the largest own current in either direction over all duties and the claimed range.
func (y *yard) needBoth(sensor string) [2]float64 {
	var out [2]float64
	id, turn, _ := y.reading(sensor)
	for _, m := range y.root.section("duties") {
		fl := y.flow(m.value)
		for k, sign := range []float64{1, -1} {
			out[k] = math.Max(out[k], fl.highest(only(id, turn), sign))
		}
	}
	if n := y.needOf(sensor, "range"); n != nil {
		out = [2]float64{math.Max(out[0], n.value), math.Max(out[1], n.value)}
	}
	return out
}
