package laws

import (
	"fmt"
	"math"
	"math/rand/v2"
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
	slow     bool     // so slow that no current crowds
	carriers []string // bars and circuits that a current flows through
}

// features are what a layout may have, in the order in which they are drawn. A key of the format
// is one small function here; what older versions cannot load is switched on when it loads.
var features = []struct {
	name string
	draw func(*draft)
}{
	{"bars", drawBars},
	{"slowness", drawSlowness},
	{"circuits", drawCircuits},
	{"currents", drawCurrents},
	{"waveforms", drawPoints},
	{"further sets", drawWith},
	{"ripple of its own", drawRippleShape},
	{"asymmetry", drawAsymmetry},
	{"sensors", drawSensors},
	{"arrays", drawElements},
	{"places out of the plane", drawSpacePlaces},
	{"shields", drawShields},
	{"parts", drawParts},
	{"readout", drawReadout},
	{"calibration", drawCalibration},
	{"surroundings", drawSurroundings},
	{"clear", drawClear},
	{"pieces that move", drawPiecePlaces},
	{"insulation", drawInsulation},
	{"lasting voltages", drawLastingVoltages},
	{"needs", drawNeeds},
	{"phase sums", drawPhaseSums},
}

// generate returns layout k of a seed.
func generate(seed, k uint64) *node {
	d := &draft{dice: roll(seed, k), ratedA: map[string]float64{}}
	d.root = obj("layout", num(1), "title", say(fmt.Sprintf("layout %d of seed %d", k, seed)))
	d.shielded = d.chance(shieldedShare)
	d.space = d.chance(0.3)
	d.slow = !d.shielded && d.chance(slowShare)
	switch {
	case d.slow: // see drawSlowness
	case d.shielded:
		d.hz = pick(d.dice, 0., 0, 50, 400)
	case d.chance(quickShare):
		d.hz = pick(d.dice, 50., 60, 400, d.times(100, 20e3))
	}
	for _, f := range features {
		f.draw(d)
	}
	return d.root
}

// How many layouts have shields, how many others have currents too slow to crowd, and how many of
// the rest currents that crowd: a layout whose field has a closed form is checked a hundred times as fast.
const (
	shieldedShare = 0.03
	slowShare     = 0.5
	quickShare    = 0.06
)

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

// drawSensors stands sensors over the flat sides of bars, most with the axis along the field.
func drawSensors(d *draft) {
	sensors := d.root.under("sensors")
	for i, id := range d.bars {
		if i > 0 && d.chance(0.25) || i > 1 && d.chance(0.3) {
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
		if math.Abs(p.x) < half.x+1e-3 && math.Abs(p.y) < half.y+1e-3 &&
			(m.value.get("section", "diameter") == nil || inside(p.times(0.9))) {
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
	at := centre.plus(vec{aside,
		side * (half.y + math.Round(above*1e4)/1e4)}).turned(b.turn()).plus(b.get("at").point())
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
	reads := bar
	for _, m := range d.root.section("circuits") {
		if len(m.value.section("parallel")) > 0 && m.value.get("parallel", bar) != nil ||
			refers(m.value.get("parallel"), bar) || m.value.get("series", bar) != nil {
			if reads = m.key; d.chance(0.3) {
				reads = bar
			}
		}
	}
	s := obj("reads", ref(reads), "at", place(tidy(at.x), tidy(at.y)), "axis", q(wrapped(axis), angle))
	if d.space && d.chance(0.3) {
		s.get("at").items = append(s.get("at").items, metres(d.between(-40e-3, 40e-3, 5e-3)))
	}
	if !d.shielded && d.chance(0.1) {
		s.set("pair", obj("spacing", metres(d.between(1e-3, 4e-3, 0.5e-3)), "along",
			q(wrapped(b.turn()+pick(d.dice, 0, math.Pi/2)), angle)))
	}
	if d.chance(0.8) {
		s.set("placement", obj("x", metres(d.between(0, 0.5e-3, 0.1e-3)), "y", metres(d.between(0, 0.4e-3, 0.1e-3)),
			"tilt", q(d.between(0, 2, 0.5)*math.Pi/180, angle)))
	}
	return s
}
