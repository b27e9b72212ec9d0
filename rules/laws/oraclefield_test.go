package laws

import (
	"math"
	"math/cmplx"

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
	fl := y.flow(duty)
	if !fl.plain() {
		return 0, false
	}
	worst := 0.0
	for _, t := range fl.lines() {
		var sum complex128
		top := 0.0
		for _, c := range y.carriers {
			for _, b := range c.bars {
				sum += t.amps[c.id] * complex(b.factor, 0)
				top = math.Max(top, cmplx.Abs(t.amps[c.id])*math.Abs(b.factor))
			}
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
	own, _, _ := y.reading(f.Object)
	claim := y.needOf(f.Object, "range")
	for _, place := range y.grid(s) {
		at := y.spot(f.Object, vec{place[0], place[1]}, place[2])
		for k := range at.at {
			per := map[string]float64{}
			for _, c := range y.carriers {
				per[c.id] = y.element(at, k, c.id)
			}
			if claim != nil {
				value = math.Max(value, math.Abs(per[own])*claim.value)
			}
			for _, m := range y.root.section("duties") {
				value = math.Max(value, y.flow(m.value).crest(per))
			}
		}
	}
	return value / end, sumsError * value / end, value > 0
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
	id, sign, _ := y.reading(sensor)
	return sign * y.reads(y.spot(sensor, vec{}, 0), id)
}

func oracleRangeUse(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	top := 0.0
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") == "continuous" {
			top = math.Max(top, y.ownPeak(f.Object, m.value))
		}
	}
	v := math.Abs(y.own(f.Object)) * top / y.part(f.Object).num(0, "linear-range")
	return v, sumsError * v, top > 0
}

func oraclePolarity(y *yard, f *finding.Finding) (finding.Verdict, bool) {
	own := y.own(f.Object)
	if !y.single(f.Object) || math.Abs(own) < 1e-9 {
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
	fl := y.flow(duty)
	if !fl.plain() || fl.kappa != 1 {
		return 0, 0, false
	}
	s := y.spot(f.Object, vec{}, 0)
	id, _, _ := y.reading(f.Object)
	stray, sizes, own := 0.0, 0.0, 0.0
	for _, t := range fl.lines() {
		var sum complex128
		for _, c := range y.carriers {
			if c.id != id {
				part := t.amps[c.id] * complex(y.reads(s, c.id), 0)
				sum += part
				sizes += cmplx.Abs(part)
			}
		}
		stray += cmplx.Abs(sum)
		own += cmplx.Abs(t.amps[id])
	}
	if own == 0 {
		own = y.fullScale(f.Object)
	}
	per := math.Abs(y.own(f.Object)) * own
	return stray / per, sumsError*(stray+sizes)/per + pairError(y, f.Object), per > 0
}

// pairError lets go of pairs whose reading is a small difference of large fields.
func pairError(y *yard, sensor string) float64 {
	if !y.single(sensor) {
		return math.Inf(1)
	}
	return 0
}

// single says that a sensor is one element.
func (y *yard) single(sensor string) bool {
	s := y.root.get("sensors", sensor)
	return s.get("pair") == nil && s.get("elements") == nil
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
	// An even field of any direction reads most along the sum of axes; it cancels in a pair.
	single := math.Hypot(s.even(vec{1, 0}), s.even(vec{0, 1}))
	total, earth := 0.0, earthT
	switch u := around.get("uniform"); {
	case u == nil:
	case u.get("direction") != nil:
		total += math.Abs(s.even(direction(u.num(0, "direction")))) * u.num(0, "flux-density")
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
			b += s.weight[k] * fieldOf([]filament{{w.get("at").point(), 1}}, s.at[k]).dot(s.axis[k])
		}
		total += math.Abs(b * amps)
	}
	own := math.Abs(y.own(f.Object))
	return total / own, sumsError*total/own + pairError(y, f.Object), own > 0
}

// oraclePlacement moves the sensor to the ends of its tolerances.
func oraclePlacement(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	s := y.root.get("sensors", f.Object)
	p := s.get("placement")
	if p.get("z") != nil || p.get("yaw") != nil || y.piecesMove() {
		return 0, 0, false
	}
	id, sign, _ := y.reading(f.Object)
	scale := 0.0
	for _, m := range y.root.section("duties") {
		duty := m.value
		fl := y.flow(duty)
		if duty.str("kind") == "fault" || fl.crest(only(id, sign)) == 0 {
			continue
		}
		if !fl.plain() {
			return 0, 0, false
		}
		list, own := fl.lines(), 0.0
		for _, t := range list {
			own += cmplx.Abs(t.amps[id])
		}
		at := y.spot(f.Object, vec{}, 0)
		size := math.Abs(y.reads(at, id)) * own
		for _, g := range y.grid(s) {
			moved := y.spot(f.Object, vec{g[0], g[1]}, g[2])
			change := 0.0
			for _, t := range list {
				var d complex128
				for _, c := range y.carriers {
					d += t.amps[c.id] * complex(y.reads(moved, c.id)-y.reads(at, c.id), 0)
					scale = math.Max(scale, cmplx.Abs(t.amps[c.id])*math.Abs(y.reads(at, c.id))/size)
				}
				change += cmplx.Abs(d)
			}
			value = math.Max(value, change/size)
		}
	}
	return value, 3*sumsError*math.Max(value, 0.1*scale) + pairError(y, f.Object), value > 0
}

// piecesMove says that bars or shields have tolerances of their own.
func (y *yard) piecesMove() bool {
	for _, section := range []string{"bars", "shields"} {
		for _, m := range y.root.section(section) {
			if m.value.get("placement") != nil {
				return true
			}
		}
	}
	return false
}

func oracleAxis(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	if !y.single(f.Object) {
		return 0, 0, false
	}
	s := y.spot(f.Object, vec{}, 0)
	id, _, _ := y.reading(f.Object)
	b := y.field(id, s.at[0], s.z[0])
	v := math.Abs(b.dot(s.axis[0])) / math.Sqrt(b.dot(b))
	return v, sumsError, true
}
