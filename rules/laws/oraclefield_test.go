package laws

import (
	"maps"
	"math"
	"math/cmplx"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

func optionsOf() engine.Options { return engine.Options{} }

// sumsError is the error of a field of threads 96 to a section, at distances of use: an edge of a
// round or slanting section is a stair of 24 steps a cell.
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

// oracleLinearRange looks at each element at a thousand instants and a grid of places, foreign fields on top.
func oracleLinearRange(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	s := y.root.get("sensors", f.Object)
	if p := s.get("placement"); p.get("z") != nil || p.get("yaw") != nil || y.piecesMove() {
		return 0, 0, false
	}
	end := y.part(f.Object).num(0, "linear-range")
	own, _, _ := y.reading(f.Object)
	claim := y.needOf(f.Object, "range")
	for _, place := range y.grid(s) {
		at := y.spot(f.Object, vec{place[0], place[1]}, place[2])
		for k := range at.at {
			per, top := map[string]float64{}, 0.0
			for _, c := range y.carriers {
				per[c.id] = y.element(at, k, c.id)
			}
			if claim != nil {
				top = math.Abs(per[own]) * claim.value
			}
			for _, m := range y.root.section("duties") {
				top = math.Max(top, y.flow(m.value).crest(per))
			}
			more, ok := y.foreign(spot{at.at[k : k+1], at.axis[k : k+1], []float64{1}, at.z[k : k+1]})
			if !ok {
				return 0, 0, false
			}
			value = math.Max(value, top+more)
		}
	}
	return value / end, sumsError * value / end * y.slant(f.Object), value > 0
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

// slant is how many times the own field at the first element is what that reads of it: the error of a sum of threads is
// a share of the field.
func (y *yard) slant(sensor string) float64 {
	s := y.spot(sensor, vec{}, 0)
	id, _, _ := y.reading(sensor)
	b := y.field(id, s.at[0], s.z[0])
	return math.Sqrt(b.dot(b)) / math.Abs(b.dot(s.axis[0]))
}

func oracleRangeUse(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	top := 0.0
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") == "continuous" {
			top = math.Max(top, y.ownPeak(f.Object, m.value))
		}
	}
	v := math.Abs(y.own(f.Object)) * top / y.part(f.Object).num(0, "linear-range")
	return v, sumsError * v * y.slant(f.Object), top > 0 && y.single(f.Object)
}

func oraclePolarity(y *yard, f *finding.Finding) (finding.Verdict, bool) {
	own := y.own(f.Object)
	if !y.single(f.Object) || math.Abs(own) < 1e-9 || y.slant(f.Object) > 100 {
		return 0, false // a difference, or what an axis across the field reads, may be nothing but round-off
	}
	if y.root.get("readout", "firmware") != nil || f.Measure != nil {
		return 0, false
	}
	if own > 0 {
		return finding.Pass, true
	}
	return finding.Fail, true
}

// oracleStray takes the component in which the own current is largest, and the crests of stray and own current for
// direct part and fundamentals, with harmonics, with ripple and the decaying part; the largest ratio counts.
func oracleStray(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	duty := y.duty(f)
	if duty == nil {
		return 0, 0, false
	}
	fl := y.flow(duty)
	if !fl.plain() {
		return 0, 0, false
	}
	s := y.spot(f.Object, vec{}, 0)
	id, sign, _ := y.reading(f.Object)
	others, sizes := map[string]float64{}, 0.0
	for _, c := range y.carriers {
		if c.id != id {
			others[c.id] = y.reads(s, c.id)
		}
	}
	per := math.Abs(y.own(f.Object))
	idle := fl.crest(only(id, sign)) == 0
	scale, ok := y.mainScale(f.Object)
	if idle && (scale == 0 || !ok) {
		return 0, 0, false
	}
	most := 0.0
	for _, t := range fl.lines() {
		var sum complex128
		size := 0.0
		for _, c := range y.carriers {
			sum += t.amps[c.id] * complex(others[c.id], 0)
			size += cmplx.Abs(t.amps[c.id]) * math.Abs(others[c.id])
		}
		sizes += size
		if own := cmplx.Abs(t.amps[id]); !idle && own > most*(1+1e-9) {
			most, value = own, cmplx.Abs(sum)/(own*per)
		}
	}
	for _, level := range []*stream{fl.only(mainTone),
		fl.only(func(t tone) bool { return !t.ripple }), fl} {
		own := level.crest(only(id, sign))
		if idle {
			own = scale
		}
		if own > 0 {
			value = math.Max(value, level.crest(others)/(own*per))
		}
	}
	own := scale
	if !idle {
		own = fl.crest(only(id, sign))
	}
	return value, sumsError*(value+sizes/(own*per)) + pairError(y, f.Object), per > 0
}

func mainTone(t tone) bool { return t.order == 1 && !t.ripple }

// mainScale is the largest peak of direct part and fundamentals of a sensor's own current over the duties that are no
// faults; ok is false where one of them is drawn by points or triangles.
func (y *yard) mainScale(sensor string) (top float64, ok bool) {
	id, sign, _ := y.reading(sensor)
	for _, m := range y.root.section("duties") {
		if m.value.str("kind") == "fault" {
			continue
		}
		fl := y.flow(m.value)
		if !fl.plain() {
			return 0, false
		}
		top = math.Max(top, fl.only(mainTone).crest(only(id, sign)))
	}
	return top, true
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

// earthT is the largest flux density of the Earth at its surface: 25 to 65 µT (International Geomagnetic Reference
// Field, from memory).
const earthT = 65e-6

// foreign is what some elements of a spot read of every foreign source at its worst, in tesla; ok is false with
// magnets, whose field is none of filaments.
func (y *yard) foreign(s spot) (tesla float64, ok bool) {
	around := y.root.get("surroundings")
	if around.get("magnets") != nil {
		return 0, false
	}
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
		total += single * mu0 * peakOf(i)
	}
	for _, m := range y.root.section("surroundings", "wires") {
		w := m.value
		b := 0.0
		for k := range s.at {
			b += s.weight[k] * fieldOf([]filament{{w.get("at").point(), 1}}, s.at[k]).dot(s.axis[k])
		}
		total += math.Abs(b) * (math.Abs(w.num(0, "dc")) + peakOf(w))
	}
	return total, true
}

// oracleAmbient adds what every foreign source may do at its worst.
func oracleAmbient(y *yard, f *finding.Finding) (value, errorOf float64, ok bool) {
	total, ok := y.foreign(y.spot(f.Object, vec{}, 0))
	own := math.Abs(y.own(f.Object))
	if y.root.get("sensors", f.Object, "placement") != nil {
		return 0, 0, false // which turns and moves the sensor in them
	}
	return total / own, sumsError*total/own*y.slant(f.Object) + pairError(y, f.Object), ok && own > 0
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
		if duty.str("kind") == "fault" {
			continue
		}
		if !fl.plain() {
			return 0, 0, false
		}
		idle := fl.crest(only(id, sign)) == 0
		reach, known := y.mainScale(f.Object)
		if idle && !known {
			return 0, 0, false
		}
		list, largest := fl.lines(), 0.0
		for _, t := range list {
			if t.order <= 1 && !t.ripple {
				largest = math.Max(largest, cmplx.Abs(t.amps[id]))
			}
		}
		at := y.spot(f.Object, vec{}, 0)
		per := math.Abs(y.reads(at, id))
		kinds := []func(tone) bool{
			func(t tone) bool { return t.order <= 1 && !t.ripple }, func(t tone) bool { return !t.ripple },
			func(tone) bool { return true }}
		for _, t := range list {
			if a := cmplx.Abs(t.amps[id]); t.order <= 1 && !t.ripple && a > 0 && a >= largest*(1-1e-9) {
				kinds = append(kinds, func(o tone) bool { return o.order == t.order && !o.ripple && maps.Equal(o.amps, t.amps) })
			}
		}
		for _, g := range y.grid(s) {
			moved := y.spot(f.Object, vec{g[0], g[1]}, g[2])
			for _, in := range kinds {
				change, size := 0.0, 0.0
				for _, t := range list {
					if !in(t) {
						continue
					}
					size += per * cmplx.Abs(t.amps[id])
					var d complex128
					for _, c := range y.carriers {
						d += t.amps[c.id] * complex(y.reads(moved, c.id)-y.reads(at, c.id), 0)
					}
					change += cmplx.Abs(d)
				}
				if idle {
					size = per * reach
				}
				if size == 0 {
					continue
				}
				for _, t := range list {
					for _, c := range y.carriers {
						scale = math.Max(scale, cmplx.Abs(t.amps[c.id])*math.Abs(y.reads(at, c.id))/size)
					}
				}
				value = math.Max(value, change/size)
			}
		}
	}
	return value, 3*sumsError*math.Max(value, 0.1*scale)*y.slant(f.Object) + pairError(y, f.Object), value > 0
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
