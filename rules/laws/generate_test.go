package laws

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// dice are random choices of one layout.
type dice struct{ *rand.Rand }

// roll returns the dice of layout k of a seed.
func roll(seed, k uint64) dice { return dice{rand.New(rand.NewPCG(seed, k))} }

// chance is true once in so many times on average; share is from 0 to 1.
func (d dice) chance(share float64) bool { return d.Float64() < share }

// between returns a number of the span in steps.
func (d dice) between(low, high, step float64) float64 {
	n := math.Round((high - low) / step)
	return low + step*math.Floor(d.Float64()*(n+1))
}

// times returns a factor between low and high, even in its logarithm, to three digits.
func (d dice) times(low, high float64) float64 {
	return digits(low*math.Pow(high/low, d.Float64()), 3)
}

func pick[T any](d dice, from ...T) T { return from[d.IntN(len(from))] }

// digits rounds v to so many of them, as people write numbers.
func digits(v float64, n int) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-float64(n-1))
	return math.Round(v/unit) * unit
}

// draft is a layout under way with what later steps must know of it.
type draft struct {
	dice
	root     *node
	bars     []string
	sensors  []string
	ratedA   map[string]float64 // continuous peak current of a bar
	shielded bool
	space    bool // bars and shields have a length
	hz       float64
}

// features are what a layout may have, in the order in which they are drawn. A key of the format
// is one small function here; what older versions cannot load is switched on when it loads.
var features = []struct {
	name string
	draw func(*draft)
}{
	{"bars", drawBars},
	{"currents", drawCurrents},
	{"sensors", drawSensors},
	{"shields", drawShields},
	{"parts", drawParts},
	{"readout", drawReadout},
	{"calibration", drawCalibration},
	{"surroundings", drawSurroundings},
	{"insulation", drawInsulation},
	{"needs", drawNeeds},
	{"phase sums", drawPhaseSums},
}

// generate returns layout k of a seed.
func generate(seed, k uint64) *node {
	d := &draft{dice: roll(seed, k), ratedA: map[string]float64{}}
	d.root = obj("layout", num(1), "title", say(fmt.Sprintf("layout %d of seed %d", k, seed)))
	d.shielded = d.chance(shieldedShare)
	d.space = d.chance(0.3)
	d.hz = pick(d.dice, 0, 0, 0, 0, 0, 0, 0, 0, 50, 60, 400, d.times(100, 20e3))
	for _, f := range features {
		f.draw(d)
	}
	return d.root
}

// shieldedShare is how many layouts have shields: few, since a bare one is checked a hundred
// times as fast.
const shieldedShare = 0.03

// drawBars stands one to six bars in a row with room between them.
func drawBars(d *draft) {
	bars := d.root.under("bars")
	n := pick(d.dice, 1, 2, 2, 3, 3, 3, 4, 5, 6)
	if d.shielded {
		n = pick(d.dice, 1, 2, 3)
	}
	metal, hot := pick(d.dice, "copper", "copper", "copper", "aluminium", "brass"), d.between(20, 90, 10)
	like := section(d)
	x := 0.0
	gap := d.times(4e-3, 120e-3)
	if d.shielded {
		gap = d.times(30e-3, 120e-3)
	}
	gap = math.Round(gap*1e3) / 1e3
	for i := range n {
		id := fmt.Sprintf("B%d", i+1)
		if d.chance(0.2) {
			like = section(d)
		}
		bar := obj("section", like.clone(), "at", place(0, 0), "metal", say(metal), "temperature", q(hot, temperature))
		_, half := sectionOf(bar)
		turn := 0.0
		switch {
		case d.shielded:
		case d.chance(0.1):
			turn = math.Pi / 2
		case d.chance(0.1):
			turn = d.between(-40, 40, 5) * math.Pi / 180
		}
		if turn != 0 {
			bar.set("turn", q(turn, angle))
		}
		s, c := math.Abs(math.Sin(turn)), math.Abs(math.Cos(turn))
		reach := math.Round((c*half.x+s*half.y)*1e4) / 1e4
		x += reach
		y := 0.0
		if d.chance(0.1) {
			y = d.between(-10e-3, 10e-3, 1e-3)
		}
		centre := outlineCentre(bar).turned(turn)
		bar.get("at").setPoint(vec{tidy(x - centre.x), tidy(y - centre.y)})
		x += reach + gap
		if d.space {
			bar.set("length", metres(d.between(0.2, 1, 0.05)))
		}
		bars.set(id, bar)
		d.bars = append(d.bars, id)
	}
}

// tidy rounds a coordinate to ten micrometres.
func tidy(v float64) float64 { return math.Round(v*1e5) / 1e5 }

// section draws a cross-section of use.
func section(d *draft) *node {
	switch {
	case d.shielded || d.chance(0.7):
		w := d.between(8e-3, 60e-3, 1e-3)
		if d.shielded {
			w = d.between(10e-3, 20e-3, 1e-3)
		}
		return obj("width", metres(w), "thickness", metres(d.between(2e-3, 8e-3, 0.5e-3)))
	case d.chance(0.6):
		return obj("diameter", metres(d.between(5e-3, 25e-3, 0.5e-3)))
	}
	a, b := d.between(10e-3, 30e-3, 1e-3), d.between(4e-3, 10e-3, 1e-3)
	corners := seq(place(0, 0), place(a, 0), place(a, b), place(0, b))
	switch d.IntN(3) {
	case 0: // a corner cut off
		corners = seq(place(0, 0), place(a, 0), place(a, b/2), place(a-b/2, b), place(0, b))
	case 1: // an angle
		corners = seq(place(0, 0), place(a, 0), place(a, b/3), place(b/3, b/3), place(b/3, b), place(0, b))
	case 2: // a trapezium
		corners = seq(place(0, 0), place(a, 0), place(a-b/3, b), place(b/3, b))
	}
	return obj("outline", corners)
}

// areaM2 is the area of a section by its own corners.
func areaM2(bar *node) float64 {
	s := bar.get("section")
	switch {
	case s.get("diameter") != nil:
		r := s.num(0, "diameter") / 2
		return math.Pi * r * r
	case s.get("outline") != nil:
		sum := 0.0
		c := s.get("outline").items
		for i := range c {
			a, b := c[i].point(), c[(i+1)%len(c)].point()
			sum += a.x*b.y - b.x*a.y
		}
		return math.Abs(sum) / 2
	}
	return s.num(0, "width") * s.num(0, "thickness")
}

// drawCurrents gives the bars currents that come back, and duties of every kind.
func drawCurrents(d *draft) {
	least := math.Inf(1)
	for _, id := range d.bars {
		least = math.Min(least, areaM2(d.root.get("bars", id)))
	}
	base := digits(least*1e6*d.times(0.4, 5), 2) // 0.4 to 5 A/mm²
	kinds := []string{"continuous"}
	for _, k := range []string{"continuous", "peak", "fault"} {
		if d.chance(0.5) {
			kinds = append(kinds, k)
		}
	}
	if d.chance(0.1) {
		kinds = kinds[1:]
	}
	duties := d.root.under("duties")
	for i, kind := range kinds {
		a := base
		switch kind {
		case "peak":
			a *= d.between(1.2, 2.5, 0.1)
		case "fault":
			a *= d.between(2, 6, 0.5)
		}
		duties.set(fmt.Sprintf("D%d", i+1), duty(d, kind, digits(a, 3)))
	}
	for _, id := range d.bars {
		d.ratedA[id] = base * math.Sqrt2
	}
	if d.chance(0.85) || len(d.bars) == 1 {
		d.root.under("surroundings").set("return", say("far"))
	}
}

// duty draws currents of about amps rms.
func duty(d *draft, kind string, amps float64) *node {
	out := obj("kind", say(kind))
	hz := d.hz
	if kind == "fault" && d.chance(0.5) {
		hz = 0
	}
	if hz > 0 {
		out.set("frequency", q(digits(hz, 3), frequency))
	}
	bars := slices.Clone(d.bars)
	if hz > 0 && len(bars) >= 3 && d.chance(0.6) {
		three := obj("bars", names(bars[:3]...), pick(d.dice, "rms", "peak"), q(amps, current))
		if d.chance(0.3) {
			three.set("phase", q(d.between(-170, 180, 5)*math.Pi/180, angle))
		}
		out.set("three-phase", three)
		bars = bars[3:]
	}
	if currents := singles(d, bars, amps, hz, out.get("three-phase") != nil); len(currents.members) > 0 {
		out.set("currents", currents)
	}
	if alternates(out) && d.chance(0.25) {
		out.set("harmonics", harmonics(d, amps, hz))
	}
	if d.chance(0.25) && (hz > 0 || d.chance(0.2)) {
		out.set("ripple", obj("frequency", q(pick(d.dice, 4e3, 8e3, 16e3, 20e3), frequency), "rms", q(digits(amps*d.times(0.01, 0.1), 2), current)))
	}
	return out
}

// singles gives bars currents of their own, in pairs that cancel where there are two.
func singles(d *draft, bars []string, amps, hz float64, other bool) *node {
	out := obj()
	for i := 0; i < len(bars); i += 2 {
		if (i > 0 || other) && d.chance(0.3) {
			continue // idle
		}
		a := digits(amps*d.times(0.6, 1), 3)
		phase := d.between(-170, 180, 5) * math.Pi / 180
		direct := hz == 0 || d.chance(0.2)
		key := pick(d.dice, "rms", "peak")
		for k, sign := range []float64{1, -1} {
			if i+k >= len(bars) {
				break
			}
			if direct {
				out.set(bars[i+k], obj("dc", q(sign*a, current)))
				continue
			}
			c := obj(key, q(a, current))
			if p := phase + float64(k)*math.Pi; p != 0 {
				c.set("phase", q(wrapped(p), angle))
			}
			out.set(bars[i+k], c)
		}
	}
	return out
}

// wrapped returns an angle within half a turn to either side.
func wrapped(rad float64) float64 {
	if deg := math.Remainder(rad, 2*math.Pi) * 180 / math.Pi; deg > -180 {
		return math.Round(deg*1e9) / 1e9 * (math.Pi / 180)
	}
	return math.Pi
}

// alternates says whether a duty has a current that alternates with its frequency.
func alternates(duty *node) bool {
	if duty.get("frequency") == nil {
		return false
	}
	if duty.get("three-phase") != nil {
		return true
	}
	return slices.ContainsFunc(duty.section("currents"), func(m member) bool { return m.value.get("dc") == nil })
}

func harmonics(d *draft, amps, hz float64) *node {
	out := seq()
	for _, order := range []float64{3, 5, 7, 11} {
		if order*hz > 2e5 || d.chance(0.5) {
			continue
		}
		h := obj("order", num(order))
		if d.chance(0.7) {
			h.set("share", q(digits(d.times(0.01, 0.2), 2), share))
		} else {
			h.set("peak", q(digits(amps*d.times(0.01, 0.1), 2), current))
		}
		if d.chance(0.5) {
			h.set("phase", q(d.between(-170, 180, 10)*math.Pi/180, angle))
		}
		out.items = append(out.items, h)
	}
	if len(out.items) == 0 {
		out.items = append(out.items, obj("order", num(2), "share", q(0.02, share)))
	}
	return out
}

// drawSensors stands sensors over the flat sides of bars, most with the axis along the field.
func drawSensors(d *draft) {
	sensors := d.root.under("sensors")
	for i, id := range d.bars {
		if i > 0 && d.chance(0.25) {
			continue
		}
		s := sensor(d, id)
		for range 8 {
			if !insideMetal(d.root, s) {
				break
			}
			s = sensor(d, id)
		}
		name := fmt.Sprintf("S%d", i+1)
		sensors.set(name, s)
		d.sensors = append(d.sensors, name)
		if d.chance(0.08) {
			name += "b"
			sensors.set(name, sensor(d, id))
			d.sensors = append(d.sensors, name)
		}
	}
}

// insideMetal says that a sensor stands in a bar or within a millimetre of one, as a neighbour of
// a turned bar may do.
func insideMetal(root, sensor *node) bool {
	for _, m := range root.section("bars") {
		inside, half := sectionOf(m.value)
		p := sensor.get("at").point().minus(m.value.get("at").point()).turned(-m.value.turn()).minus(outlineCentre(m.value))
		if math.Abs(p.x) < half.x+1e-3 && math.Abs(p.y) < half.y+1e-3 && (m.value.get("section", "diameter") == nil || inside(p.times(0.9))) {
			return true
		}
	}
	return false
}

func sensor(d *draft, bar string) *node {
	b := d.root.get("bars", bar)
	_, half := sectionOf(b)
	centre := outlineCentre(b)
	above := d.times(1.5e-3, 12e-3)
	aside := 0.0
	if d.chance(0.3) {
		aside = d.between(-0.4, 0.4, 0.1) * half.x
	}
	side := 1.0
	if !d.shielded && d.chance(0.15) {
		side = -1
	}
	at := centre.plus(vec{aside, side * (half.y + math.Round(above*1e4)/1e4)}).turned(b.turn()).plus(b.get("at").point())
	axis := b.turn() + math.Pi
	if side < 0 {
		axis -= math.Pi
	}
	switch {
	case d.chance(0.15):
		axis += d.between(-25, 25, 1) * math.Pi / 180
	case d.chance(0.03):
		axis += d.between(80, 100, 1) * math.Pi / 180
	}
	s := obj("reads", ref(bar), "at", place(tidy(at.x), tidy(at.y)), "axis", q(wrapped(axis), angle))
	if d.space && d.chance(0.3) {
		s.get("at").items = append(s.get("at").items, metres(d.between(-40e-3, 40e-3, 5e-3)))
	}
	if !d.shielded && d.chance(0.1) {
		s.set("pair", obj("spacing", metres(d.between(1e-3, 4e-3, 0.5e-3)), "along", q(wrapped(b.turn()+pick(d.dice, 0, math.Pi/2)), angle)))
	}
	if d.chance(0.8) {
		s.set("placement", obj("x", metres(d.between(0, 0.5e-3, 0.1e-3)), "y", metres(d.between(0, 0.4e-3, 0.1e-3)),
			"tilt", q(d.between(0, 2, 0.5)*math.Pi/180, angle)))
	}
	return s
}
