package laws

import (
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/finding"
)

// oracle computes the number of a rule, or its verdict, a second time. It reads the tree that the
// text was written from, and shares neither code nor closed forms with the rules.
type oracle struct {
	rule string
	// value returns the number with the error of the oracle itself, in the unit of the finding;
	// ok is false where the oracle does not know the case.
	value func(y *yard, f *finding.Finding) (value, errorOf float64, ok bool)
	// limit returns the limit that the finding must name, where it comes out of a table.
	limit func(y *yard, f *finding.Finding) (limit float64, ok bool)
	// verdict is for rules without a number.
	verdict func(y *yard, f *finding.Finding) (finding.Verdict, bool)
}

// oracles are in the order of the catalogue.
var oracles = []oracle{
	{rule: "return-path", verdict: oracleReturn},
	{rule: "linear-range", value: oracleLinearRange},
	{rule: "range-use", value: oracleRangeUse},
	{rule: "polarity", verdict: oraclePolarity},
	{rule: "stray-ratio", value: oracleStray},
	{rule: "ambient-field", value: oracleAmbient},
	{rule: "placement", value: oraclePlacement},
	{rule: "sensor-axis", value: oracleAxis},
	{rule: "bar-heating", value: oracleHeating},
	{rule: "creepage", limit: oracleCreepage},
	{rule: "clearance", value: oracleGap, limit: oracleClearance},
	{rule: "output-chain", value: oracleClip},
	{rule: "resolution", value: oracleResolution},
	{rule: "response", value: oracleBandwidth},
	{rule: "calibration", value: oracleDrift},
}

// secondValues holds every number of a check to its oracle, within the bound that the finding
// states and the oracle's own error.
func (b *bed) secondValues(count map[string]int) []breach {
	if b.root.hasSection("shields") {
		return nil
	}
	root, base := b.root, b.base
	if !still(root) {
		// So slow that no eddy current is left: the sums of fields in step remain.
		root = slowed(root)
		base = check(yaml(root, nil), optionsOf())
	}
	y := survey(root)
	var out []breach
	for i := range base.found {
		f := &base.found[i]
		for _, o := range oracles {
			if o.rule != f.Rule {
				continue
			}
			if !y.outside(f.Object) {
				continue
			}
			tell := func(format string, args ...any) {
				out = append(out, breach{law: "oracle", rule: f.Rule, object: f.Object, text: "  " + fmt.Sprintf(format, args...) + "\n" + lines(base.found[i:i+1])})
			}
			if o.verdict != nil {
				if want, ok := o.verdict(y, f); ok {
					count[f.Rule]++
					if f.Verdict != want {
						tell("it is a %s", want)
					}
				}
			}
			m := f.Measure
			if m == nil {
				continue
			}
			if o.value != nil {
				if want, own, ok := o.value(y, f); ok {
					count[f.Rule]++
					if may := spread(m.Value, m.Certainty) + own; !(math.Abs(m.Value-want) <= may) && !math.IsInf(may, 1) {
						tell("the second computation gives %.6g ± %.2g, the rule %.6g ± %.2g", want, own, m.Value, spread(m.Value, m.Certainty))
					}
				}
			}
			if o.limit != nil {
				if want, ok := o.limit(y, f); ok {
					count[f.Rule]++
					if !(math.Abs(m.Limit-want) <= 1e-9) {
						tell("the table asks for %.6g, the rule for %.6g", want, m.Limit)
					}
				}
			}
		}
	}
	return out
}

// slowed is a layout whose alternating currents take a quarter of an hour for a period.
func slowed(root *node) *node {
	n := root.clone()
	for _, m := range n.section("duties") {
		if f := m.value.get("frequency"); f != nil {
			f.value = 1e-3
		}
		if f := m.value.get("ripple", "frequency"); f != nil {
			f.value = 0.1
		}
	}
	for _, m := range n.section("surroundings", "wires") {
		if f := m.value.get("frequency"); f != nil {
			f.value = 1e-3
		}
	}
	return n
}

// yard is a layout with its bars cut into threads.
type yard struct {
	root    *node
	threads map[string][]filament
	half    map[string]float64 // half length of a bar, infinite where it is long
}

func survey(root *node) *yard {
	y := &yard{root: root, threads: map[string][]filament{}, half: map[string]float64{}}
	for _, m := range root.section("bars") {
		y.threads[m.key] = filaments(m.value, threadsAcross)
		y.half[m.key] = m.value.num(math.Inf(1), "length") / 2
	}
	return y
}

// field of a bar per ampere at p in the plane z.
func (y *yard) field(bar string, p vec, z float64) vec {
	if h := y.half[bar]; !math.IsInf(h, 1) {
		return fieldOfLength(y.threads[bar], p, z, h)
	}
	return fieldOf(y.threads[bar], p)
}

// spot is a sensor at a place: its elements with their signs, and its axis.
type spot struct {
	at   []vec
	sign []float64
	z    float64
	axis vec
}

func (y *yard) spot(id string, shift vec, tilt float64) spot {
	s := y.root.get("sensors", id)
	at := s.get("at").point().plus(shift)
	out := spot{at: []vec{at}, sign: []float64{1}, axis: direction(s.num(0, "axis") + tilt)}
	if items := s.get("at").items; len(items) > 2 {
		out.z = items[2].value
	}
	if p := s.get("pair"); p != nil {
		h := direction(p.num(0, "along") + tilt).times(p.num(0, "spacing") / 2)
		out.at, out.sign = []vec{at.plus(h), at.minus(h)}, []float64{1, -1}
	}
	return out
}

// outside says that a sensor stands clear of all metal, wherever its tolerances let it: threads
// are no field of a bar between them.
func (y *yard) outside(sensor string) bool {
	s := y.root.get("sensors", sensor)
	if s == nil {
		return true // no sensor
	}
	for _, g := range y.grid(s) {
		for _, p := range y.spot(sensor, vec{g[0], g[1]}, g[2]).at {
			for _, m := range y.root.section("bars") {
				_, half := sectionOf(m.value)
				cell := 2 * math.Max(half.x, half.y) / threadsAcross
				for _, t := range y.threads[m.key] {
					if d := p.minus(t.at); d.dot(d) < 1.5*1.5*cell*cell {
						return false
					}
				}
			}
		}
	}
	return true
}

// threadsAcross is how many threads the longer side of a section has.
const threadsAcross = 96

// element is what element k reads of an ampere in a bar.
func (y *yard) element(s spot, k int, bar string) float64 {
	return y.field(bar, s.at[k], s.z).dot(s.axis)
}

// reads is what the sensor reads of an ampere in a bar.
func (y *yard) reads(s spot, bar string) float64 {
	sum := 0.0
	for k := range s.at {
		sum += s.sign[k] * y.element(s, k, bar)
	}
	return sum
}

// tone is one frequency of a duty: peak phasors by bar.
type tone struct {
	order float64 // multiple of the fundamental; 0 direct
	free  bool    // its phase against the others is not known
	amps  map[string]complex128
}

// tones of a duty, by the definitions of the format: peak is √2 rms, b lags a by a third of a
// period and c lags b, a harmonic follows the shift in time of its phase.
func tones(root, duty *node) []tone {
	direct, base := tone{amps: map[string]complex128{}}, tone{order: 1, amps: map[string]complex128{}}
	peak := func(n *node) float64 {
		if r := n.get("rms"); r != nil {
			return r.value * math.Sqrt2
		}
		return n.num(0, "peak")
	}
	if t := duty.get("three-phase"); t != nil {
		for k, b := range t.get("bars").items {
			base.amps[b.text] += cmplx.Rect(peak(t), t.num(0, "phase")-float64(k)*2*math.Pi/3)
		}
	}
	for _, m := range duty.section("currents") {
		if dc := m.value.get("dc"); dc != nil {
			direct.amps[m.key] += complex(dc.value, 0)
		} else {
			base.amps[m.key] += cmplx.Rect(peak(m.value), m.value.num(0, "phase"))
		}
	}
	out := []tone{direct, base}
	if h := duty.get("harmonics"); h != nil {
		for _, item := range h.items {
			t := tone{order: item.num(0, "order"), amps: map[string]complex128{}}
			for bar, i := range base.amps {
				size := peak(item)
				if s := item.get("share"); s != nil {
					size = s.value * cmplx.Abs(i)
				}
				t.amps[bar] = cmplx.Rect(size, t.order*cmplx.Phase(i)+item.num(0, "phase"))
			}
			out = append(out, t)
		}
	}
	if r := duty.get("ripple"); r != nil {
		t := tone{order: 1, free: true, amps: map[string]complex128{}}
		for _, m := range root.section("bars") {
			like, ok := base.amps[m.key], true
			if like == 0 {
				like, ok = direct.amps[m.key]
			}
			if ok || like != 0 {
				t.amps[m.key] = cmplx.Rect(peak(r), cmplx.Phase(like))
			}
		}
		out = append(out, t)
	}
	return out
}

// ownPeak is the sum of the amplitudes of the own current.
func (y *yard) ownPeak(bar string, duty *node) float64 {
	sum := 0.0
	for _, t := range tones(y.root, duty) {
		sum += cmplx.Abs(t.amps[bar])
	}
	return sum
}

// fullScale is the largest own current in continuous and peak duties.
func (y *yard) fullScale(bar string) float64 {
	top := 0.0
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") != "fault" {
			top = math.Max(top, y.ownPeak(bar, m.value))
		}
	}
	return top
}

// duties that a finding names by its cause.
func (y *yard) duty(f *finding.Finding) *node { return y.root.get("duties", f.Cause) }

func (y *yard) part(sensor string) *node {
	return y.root.get("parts", y.root.str("sensors", sensor, "part"))
}

// needOf is the need of a channel, its own before that of all.
func (y *yard) needOf(sensor string, path ...string) *node {
	if n := y.root.get(append([]string{"needs", sensor}, path...)...); n != nil {
		return n
	}
	return y.root.get(append([]string{"needs", "all"}, path...)...)
}
