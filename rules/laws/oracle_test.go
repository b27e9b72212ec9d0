package laws

import (
	"fmt"
	"math"

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
				out = append(out, breach{law: "oracle", rule: f.Rule, object: f.Object,
					text: "  " + fmt.Sprintf(format, args...) + "\n" + lines(base.found[i:i+1])})
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
					if may := spread(m.Value, m.Certainty) + own; !(math.Abs(m.Value-want) <= may) &&
						!math.IsInf(may, 1) {
						tell("the second computation gives %.6g ± %.2g, the rule %.6g ± %.2g", want, own, m.Value,
							spread(m.Value, m.Certainty))
					}
				}
			}
			if o.limit != nil {
				if want, ok := o.limit(y, f); ok {
					count[f.Rule]++
					// What lasts, such as the working voltage, may ask for more than the impulse does.
					if more := f.Rule == "clearance" && m.Limit > want; !more && !(math.Abs(m.Limit-want) <= 1e-9) {
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
		hz := 1.0
		if f := m.value.get("frequency"); f != nil {
			hz, f.value = f.value, 1e-3
		}
		if p := m.value.get("period"); p != nil {
			hz = 1 / p.value
		}
		if f := m.value.get("ripple", "frequency"); f != nil {
			f.value = 0.1
		}
		if p := m.value.get("period"); p != nil {
			slow := 1e3 / p.value
			p.value = 1e3
			for _, c := range m.value.section("currents") {
				if points := c.value.get("points"); points != nil {
					for _, point := range points.items {
						point.items[0].value *= slow
					}
				}
			}
		}
		if w := m.value.get("with"); w != nil {
			for _, s := range w.items {
				s.get("frequency").value *= 1e-3 / hz
			}
		}
	}
	if f := n.get("surroundings", "immunity", "frequency"); f != nil {
		f.value = 1e-3
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
	root     *node
	carriers []carrier
	threads  map[string][]filament
	half     map[string]float64 // half length of a bar, infinite where it is long
}

func survey(root *node) *yard {
	y := &yard{root: root, carriers: carriersOf(root), threads: map[string][]filament{}, half: map[string]float64{}}
	for _, m := range root.section("bars") {
		y.threads[m.key] = filaments(m.value, threadsAcross)
		y.half[m.key] = m.value.num(math.Inf(1), "length") / 2
	}
	return y
}

// field of a carrier per ampere at p in the plane z.
func (y *yard) field(id string, p vec, z float64) vec {
	var b vec
	for _, c := range y.carriers {
		if c.id == id {
			for _, one := range c.bars {
				b = b.plus(y.fieldOfBar(one.bar, p, z).times(one.factor))
			}
		}
	}
	return b
}

func (y *yard) fieldOfBar(bar string, p vec, z float64) vec {
	if h := y.half[bar]; !math.IsInf(h, 1) {
		return fieldOfLength(y.threads[bar], p, z, h)
	}
	return fieldOf(y.threads[bar], p)
}

// spot is a sensor at a place: its elements, their axes and the weights of their readings.
type spot struct {
	at, axis []vec
	weight   []float64
	z        []float64
}

func (y *yard) spot(id string, shift vec, tilt float64) spot {
	s := y.root.get("sensors", id)
	at := s.get("at").point().plus(shift)
	z := 0.0
	if items := s.get("at").items; len(items) > 2 {
		z = items[2].value
	}
	axis := direction(s.num(0, "axis") + tilt)
	if p := s.get("pair"); p != nil {
		h := direction(p.num(0, "along") + tilt).times(p.num(0, "spacing") / 2)
		return spot{[]vec{at.plus(h), at.minus(h)}, []vec{axis, axis}, []float64{1, -1}, []float64{z, z}}
	}
	if e := s.get("elements"); e != nil {
		var out spot
		for _, one := range e.items {
			dz := 0.0
			if items := one.get("at").items; len(items) > 2 {
				dz = items[2].value
			}
			out.at = append(out.at, at.plus(one.get("at").point().turned(tilt)))
			out.axis = append(out.axis, direction(one.num(0, "axis")+tilt))
			out.weight, out.z = append(out.weight, one.num(1, "weight")), append(out.z, z+dz)
		}
		return out
	}
	return spot{[]vec{at}, []vec{axis}, []float64{1}, []float64{z}}
}

// even is what the sensor reads of a field that is the same everywhere.
func (s *spot) even(b vec) float64 {
	sum := 0.0
	for k := range s.at {
		sum += s.weight[k] * s.axis[k].dot(b)
	}
	return sum
}

// outside says that a sensor stands clear of all metal, wherever its tolerances let it: threads
// are no field of a bar between them.
func (y *yard) outside(sensor string) bool {
	s := y.root.get("sensors", sensor)
	if s == nil {
		return true // no sensor
	}
	if _, _, leg := y.reading(sensor); leg {
		return false // the share of a leg is no current of its own
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

// element is what element k reads of an ampere in a carrier.
func (y *yard) element(s spot, k int, id string) float64 {
	return y.field(id, s.at[k], s.z[k]).dot(s.axis[k])
}

// reads is what the sensor reads of an ampere in a carrier.
func (y *yard) reads(s spot, id string) float64 {
	sum := 0.0
	for k := range s.at {
		sum += s.weight[k] * y.element(s, k, id)
	}
	return sum
}

// flow of a duty.
func (y *yard) flow(duty *node) *stream { return flowOf(y.root, duty) }

// only is the sum in which one carrier counts, times sign.
func only(id string, sign float64) map[string]float64 { return map[string]float64{id: sign} }

// ownPeak is the largest magnitude of the current that a sensor reads.
func (y *yard) ownPeak(sensor string, duty *node) float64 {
	id, sign, _ := y.reading(sensor)
	return y.flow(duty).crest(only(id, sign))
}

// reading is the carrier that a sensor reads.
func (y *yard) reading(sensor string) (carrier string, sign float64, leg bool) {
	return carrierOf(y.carriers, y.root.str("sensors", sensor, "reads"))
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
