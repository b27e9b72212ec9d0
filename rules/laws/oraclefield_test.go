package laws

import (
	"math"
	"math/cmplx"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

func optionsOf() engine.Options { return engine.Options{} }

// sumsError is the error of a field of threads 96 to a section, at distances of use: an edge of a
// round or slanting section is a stair of eight steps a cell.
const sumsError = 1e-3

// oracleReturn sums the currents of each frequency.
func oracleReturn(y *yard, f *finding.Finding) (finding.Verdict, bool) {
	duty := y.root.get("duties", f.Object)
	if y.root.str("surroundings", "return") == "far" {
		return finding.Pass, true
	}
	worst := 0.0
	for _, t := range tones(y.root, duty) {
		var sum complex128
		top := 0.0
		for _, m := range y.root.section("bars") {
			sum += t.amps[m.key]
			top = math.Max(top, cmplx.Abs(t.amps[m.key]))
		}
		if top > 0 {
			worst = math.Max(worst, cmplx.Abs(sum)/top)
		}
	}
	if worst > 1e-3 {
		return finding.Fail, true
	}
	return finding.Pass, true
}

// oracleLinearRange looks at each element at a thousand instants and a grid of places.
func oracleLinearRange(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	s := y.root.get("sensors", f.Object)
	end := y.part(f.Object).num(0, "linear-range")
	own := s.str("reads")
	claim := y.needOf(f.Object, "range")
	for _, place := range y.grid(s) {
		at := y.spot(f.Object, vec{place[0], place[1]}, place[2])
		for k := range at.at {
			per := map[string]float64{}
			for _, m := range y.root.section("bars") {
				per[m.key] = y.element(at, k, m.key)
			}
			if claim != nil {
				value = math.Max(value, math.Abs(per[own])*claim.value)
			}
			for _, m := range y.root.section("duties") {
				value = math.Max(value, y.crest(tones(y.root, m.value), per))
			}
		}
	}
	return value / end, sumsError * value / end, value > 0
}

// crest is the largest magnitude over a period of a sum of bars, each times a factor.
func (y *yard) crest(list []tone, per map[string]float64) float64 {
	return math.Max(y.highest(list, per, 1), y.highest(list, per, -1))
}

// highest is the largest value over a period of such a sum, times sign.
func (y *yard) highest(list []tone, per map[string]float64, sign float64) float64 {
	free, steady := 0.0, make([]complex128, 0, len(list))
	var orders []float64
	for _, t := range list {
		var sum complex128
		for _, m := range y.root.section("bars") {
			sum += t.amps[m.key] * complex(per[m.key], 0)
		}
		if cmplx.Abs(sum) == 0 {
			continue
		}
		if t.free {
			free += cmplx.Abs(sum)
			continue
		}
		steady, orders = append(steady, sum), append(orders, t.order)
	}
	const instants = 2000
	top := 0.0
	for i := range instants {
		b := 0.0
		for k, c := range steady {
			b += real(c * cmplx.Rect(1, orders[k]*2*math.Pi*float64(i)/instants))
		}
		top = math.Max(top, sign*b)
	}
	return top + free
}

// grid is the box of tolerances of a sensor, its ends and its middle.
func (y *yard) grid(s *node) [][3]float64 {
	p := s.get("placement")
	if p == nil {
		return [][3]float64{{}}
	}
	var out [][3]float64
	for _, x := range []float64{-1, 0, 1} {
		for _, v := range []float64{-1, 0, 1} {
			for _, t := range []float64{-1, 0, 1} {
				out = append(out, [3]float64{x * p.num(0, "x"), v * p.num(0, "y"), t * p.num(0, "tilt")})
			}
		}
	}
	return out
}

// own is the reading of its own bar per ampere.
func (y *yard) own(sensor string) float64 {
	return y.reads(y.spot(sensor, vec{}, 0), y.root.str("sensors", sensor, "reads"))
}

func oracleRangeUse(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	bar := y.root.str("sensors", f.Object, "reads")
	top := 0.0
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") == "continuous" {
			top = math.Max(top, y.ownPeak(bar, m.value))
		}
	}
	v := math.Abs(y.own(f.Object)) * top / y.part(f.Object).num(0, "linear-range")
	return v, sumsError * v, top > 0
}

func oraclePolarity(y *yard, f *finding.Finding) (finding.Verdict, bool) {
	own := y.own(f.Object)
	if p := y.root.get("sensors", f.Object, "pair"); p != nil || math.Abs(own) < 1e-9 {
		return 0, false // a difference may be nothing but round-off
	}
	if y.root.get("readout", "firmware") != nil || f.Measure != nil {
		return 0, false
	}
	if own > 0 {
		return finding.Pass, true
	}
	return finding.Fail, true
}

// oracleStray adds the phasors of all other bars, frequency by frequency.
func oracleStray(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	duty := y.duty(f)
	if duty == nil {
		return 0, 0, false
	}
	s := y.spot(f.Object, vec{}, 0)
	bar := y.root.str("sensors", f.Object, "reads")
	stray, sizes, own := 0.0, 0.0, 0.0
	for _, t := range tones(y.root, duty) {
		var sum complex128
		for _, m := range y.root.section("bars") {
			if m.key != bar {
				part := t.amps[m.key] * complex(y.reads(s, m.key), 0)
				sum += part
				sizes += cmplx.Abs(part)
			}
		}
		stray += cmplx.Abs(sum)
		own += cmplx.Abs(t.amps[bar])
	}
	if own == 0 {
		own = y.fullScale(bar)
	}
	per := math.Abs(y.own(f.Object)) * own
	return stray / per, sumsError*(stray+sizes)/per + pairError(y, f.Object), per > 0
}

// pairError lets go of pairs whose reading is a small difference of large fields.
func pairError(y *yard, sensor string) float64 {
	if y.root.get("sensors", sensor, "pair") != nil {
		return math.Inf(1)
	}
	return 0
}

// The Earth's flux density that the catalogue of rules names.
const earthT = 50e-6

// oracleAmbient adds what every foreign source may do at its worst.
func oracleAmbient(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	around := y.root.get("surroundings")
	if around.get("magnets") != nil {
		return 0, 0, false
	}
	s := y.spot(f.Object, vec{}, 0)
	single := 1.0
	if len(s.at) == 2 {
		single = 0 // an even field cancels
	}
	total, earth := 0.0, earthT
	switch u := around.get("uniform"); {
	case u == nil:
	case u.get("direction") != nil:
		total += single * math.Abs(direction(u.num(0, "direction")).dot(s.axis)) * u.num(0, "flux-density")
	default:
		t := u.value
		if u.kind == mapping {
			t = u.num(0, "flux-density")
		}
		if t >= earthT {
			total, earth = total+single*t, 0
		}
	}
	total += single * earth
	if i := around.get("immunity"); i != nil {
		h := i.num(0, "peak")
		if r := i.get("rms"); r != nil {
			h = r.value * math.Sqrt2
		}
		total += single * mu0 * h
	}
	for _, m := range y.root.section("surroundings", "wires") {
		w := m.value
		amps := w.num(0, "dc")
		if r := w.get("rms"); r != nil {
			amps = r.value * math.Sqrt2
		}
		if r := w.get("peak"); r != nil {
			amps = r.value
		}
		b := 0.0
		for k := range s.at {
			b += s.sign[k] * fieldOf([]filament{{w.get("at").point(), 1}}, s.at[k]).dot(s.axis)
		}
		total += math.Abs(b * amps)
	}
	own := math.Abs(y.own(f.Object))
	return total / own, sumsError*total/own + pairError(y, f.Object), own > 0
}

// oraclePlacement moves the sensor to the ends of its tolerances.
func oraclePlacement(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	s := y.root.get("sensors", f.Object)
	bar := s.str("reads")
	scale := 0.0
	for _, m := range y.root.section("duties") {
		duty := m.value
		if duty.str("kind") == "fault" || y.ownPeak(bar, duty) == 0 {
			continue
		}
		list := tones(y.root, duty)
		at := y.spot(f.Object, vec{}, 0)
		size := math.Abs(y.reads(at, bar)) * y.ownPeak(bar, duty)
		for _, g := range y.grid(s) {
			moved := y.spot(f.Object, vec{g[0], g[1]}, g[2])
			change := 0.0
			for _, t := range list {
				var d complex128
				for _, b := range y.root.section("bars") {
					d += t.amps[b.key] * complex(y.reads(moved, b.key)-y.reads(at, b.key), 0)
					scale = math.Max(scale, cmplx.Abs(t.amps[b.key])*math.Abs(y.reads(at, b.key))/size)
				}
				change += cmplx.Abs(d)
			}
			value = math.Max(value, change/size)
		}
	}
	return value, 3*sumsError*math.Max(value, 0.1*scale) + pairError(y, f.Object), value > 0
}

func oracleAxis(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	if y.root.get("sensors", f.Object, "pair") != nil {
		return 0, 0, false
	}
	s := y.spot(f.Object, vec{}, 0)
	b := y.field(y.root.str("sensors", f.Object, "reads"), s.at[0], s.z)
	v := math.Abs(b.dot(s.axis)) / math.Sqrt(b.dot(b))
	return v, sumsError, true
}

// oracleHeating squares a thousand instants of the current of each continuous duty.
func oracleHeating(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") != "continuous" {
			continue
		}
		squares := 0.0
		const instants = 2000
		list := tones(y.root, m.value)
		for i := range instants {
			a := 0.0
			for _, t := range list {
				if t.free {
					continue
				}
				a += real(t.amps[f.Object] * cmplx.Rect(1, t.order*2*math.Pi*float64(i)/instants))
			}
			squares += a * a / instants
		}
		for _, t := range list {
			if t.free { // at a frequency of its own, squares add
				squares += math.Pow(cmplx.Abs(t.amps[f.Object]), 2) / 2
			}
		}
		value = math.Max(value, math.Sqrt(squares)/areaM2(y.root.get("bars", f.Object)))
	}
	return value, 1e-6 * value, value > 0 && !strings.Contains(f.Message, "necks")
}
