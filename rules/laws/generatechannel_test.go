package laws

import (
	"fmt"
	"math"
)

// peakAtSensor is the field on the axis of a sensor at the rated current of its bar alone, and
// per ampere of it; a coarse sum will do for the choice of a part.
func (d *draft) peakAtSensor(id string) (peakT, perA float64) {
	s := d.root.get("sensors", id)
	axis := direction(s.num(0, "axis"))
	list := carriersOf(d.root)
	reads, _, _ := carrierOf(list, s.str("reads"))
	for _, c := range list {
		if c.id == reads {
			for _, b := range c.bars {
				perA += b.factor * fieldOf(filaments(d.root.get("bars", b.bar), 24), s.get("at").point()).dot(axis)
			}
		}
	}
	return math.Abs(perA) * d.ratedA[s.str("reads")], perA
}

// drawParts gives sensors parts whose range fits the field within a factor, so that some pass,
// some fail and some lie near.
func drawParts(d *draft) {
	parts := d.root.under("parts")
	last := ""
	for i, id := range d.sensors {
		s := d.root.get("sensors", id)
		if last != "" && d.chance(0.7) {
			s.set("part", ref(last))
			continue
		}
		if d.chance(0.03) {
			continue // a bare element
		}
		peak, _ := d.peakAtSensor(id)
		rangeT := digits(math.Max(peak, 1e-6)*d.times(0.8, 7), 2)
		last = fmt.Sprintf("P%d", i+1)
		parts.set(last, part(d, rangeT))
		s.set("part", ref(last))
	}
	if last == "" {
		d.root.drop("parts")
	}
}

// part draws the data of a part of 5 V that is linear to rangeT.
func part(d *draft, rangeT float64) *node {
	sens := digits(2/rangeT*d.times(0.7, 1.1), 3) // V/T
	p := obj("linear-range", q(rangeT, fluxDensity))
	if d.chance(0.9) {
		s := obj("set", q(sens, sensitivity))
		for _, k := range []struct {
			key       string
			dim       dimension
			low, high float64
		}{{"tolerance", share, 0.002, 0.03}, {"drift", perKelvin, 20e-6, 400e-6}, {"life", share, 0.001, 0.02}} {
			if d.chance(0.8) {
				s.set(k.key, q(digits(d.times(k.low, k.high), 2), k.dim))
			}
		}
		p.set("sensitivity", s)
	}
	if d.chance(0.9) {
		o := obj("zero", q(2.5, voltage), "low", q(d.between(0.2, 0.5, 0.1), voltage), "high",
			q(d.between(4.5, 4.8, 0.1), voltage))
		if d.chance(0.3) {
			o.set("ratiometric", say("true"))
			o.set("supply", q(5, voltage))
			o.set("supply-tolerance", q(d.between(0.005, 0.05, 0.005), share))
		}
		p.set("output", o)
	}
	give := func(share float64, key string, value func() *node) {
		if d.chance(share) {
			p.set(key, value())
		}
	}
	give(0.8, "offset", func() *node {
		return obj("initial", q(d.between(1e-3, 12e-3, 1e-3), voltage), "drift",
			q(digits(d.times(0.01e-3, 0.1e-3), 2), voltagePerKelvin),
			"life", q(d.between(0, 3e-3, 1e-3), voltage))
	})
	give(0.8, "noise", func() *node {
		if d.chance(0.5) {
			return q(d.between(0.5e-3, 3e-3, 0.1e-3), voltage)
		}
		return obj("density", q(digits(d.times(1e-6, 10e-6), 2), noiseDensity))
	})
	give(0.8, "bandwidth", func() *node { return q(digits(d.times(20e3, 400e3), 2), frequency) })
	give(0.8, "delay", func() *node { return q(d.between(0, 5e-6, 0.5e-6), duration) })
	give(0.6, "hysteresis", func() *node { return q(digits(rangeT*d.times(2e-4, 3e-3), 2), fluxDensity) })
	give(0.6, "non-linearity", func() *node { return q(d.between(0.001, 0.006, 0.001), share) })
	give(0.7, "temperature", func() *node {
		return obj("from", q(-40, temperature), "to", q(pick(d.dice, 85., 105, 125), temperature))
	})
	give(0.7, "body", func() *node {
		return obj("width", metres(d.between(3e-3, 6e-3, 0.5e-3)), "height", metres(d.between(1e-3, 2e-3, 0.5e-3)),
			"element-height", metres(d.between(0.3e-3, 0.6e-3, 0.1e-3)))
	})
	return p
}

// drawReadout draws what stands behind the parts.
func drawReadout(d *draft) {
	if d.chance(0.4) {
		return
	}
	r := d.root.under("readout")
	top := 5.0
	if d.chance(0.5) {
		r.set("divider", obj("top", q(10e3, resistance), "bottom", q(pick(d.dice, 15e3, 18e3, 20e3), resistance),
			"tolerance", q(pick(d.dice, 0.001, 0.005, 0.01), share)))
		top = pick(d.dice, 3, 3.3)
	}
	if d.chance(0.7) {
		r.set("filter", obj("corner", q(digits(d.times(1e3, 100e3), 2), frequency), "order",
			num(pick(d.dice, 1., 1, 2, 3)), "tolerance", q(d.between(0, 0.1, 0.01), share)))
	}
	if d.chance(0.9) {
		r.set("converter", obj("low", q(0, voltage), "high", q(top, voltage), "bits",
			num(pick(d.dice, 8., 10, 12, 12, 14, 16)), "tolerance", q(pick(d.dice, 0., 0.002, 0.01), share),
			"ratiometric", say("false")))
	}
	if d.chance(0.8) {
		r.set("sampling", obj("rate", q(pick(d.dice, 8e3, 16e3, 32e3, 64e3), frequency), "delay",
			q(d.between(1e-6, 10e-6, 1e-6), duration)))
	}
	if d.chance(0.5) {
		most := 0.0
		for _, id := range d.bars {
			most = math.Max(most, d.ratedA[id])
		}
		r.set("number", obj("signed", say("true"), "width", num(16), "per-count",
			q(digits(most*d.times(1, 8)/32768, 2), current)))
	}
	if d.chance(0.2) {
		r.set("zeroing", obj("window", q(digits(d.ratedA[d.bars[0]]*d.times(0.005, 0.1), 2), current)))
	}
	if len(r.members) == 0 {
		d.root.drop("readout")
	}
}

func drawCalibration(d *draft) {
	if d.chance(0.6) {
		return
	}
	c := obj("kind", say(pick(d.dice, "none", "zero", "one-point", "two-point", "matrix")))
	if k := c.str("kind"); k != "none" && k != "zero" {
		c.set("conductor", say("bar"))
		c.set("current", q(digits(d.ratedA[d.bars[0]]*d.times(0.2, 1), 2), current))
		c.set("tolerance", q(pick(d.dice, 0.001, 0.002, 0.01), share))
	}
	c.set("temperature", q(d.between(20, 40, 5), temperature))
	d.root.set("calibration", obj("all", c))
}

func drawNeeds(d *draft) {
	if d.chance(0.4) {
		return
	}
	needs := d.root.under("needs")
	lagAt := pick(d.dice, 50., 400, 1000)
	if d.slow {
		lagAt = digits(d.hz, 2)
	}
	draw := func(topA float64) *node {
		n := obj()
		give := func(key string, value *node) {
			if d.chance(0.25) {
				n.set(key, value)
			}
		}
		give("accuracy", q(digits(d.times(0.01, 0.2), 2), share))
		give("smallest-current", q(digits(topA*d.times(0.001, 0.1), 2), current))
		give("range", q(digits(topA*d.times(0.8, 4), 2), current))
		give("bandwidth", q(digits(d.times(1e3, 50e3), 2), frequency))
		give("stray", q(digits(d.times(0.003, 0.05), 2), share))
		give("ambient", q(digits(topA*d.times(0.005, 0.1), 2), current))
		give("placement", q(digits(d.times(0.01, 0.05), 2), share))
		give("range-use", q(d.between(0.2, 0.6, 0.1), share))
		give("trip", obj("current", q(digits(topA*d.times(1.2, 5), 2), current), "within",
			q(digits(d.times(10e-6, 1e-3), 2), duration),
			"by", say(pick(d.dice, "number", "output")), "switching", q(2e-6, duration), "supply",
			q(digits(d.times(48, 800), 2), voltage),
			"inductance", q(digits(d.times(10e-6, 500e-6), 2), inductance)))
		give("lag", obj("angle", q(d.between(1, 20, 1)*math.Pi/180, angle), "at", q(lagAt, frequency)))
		if d.chance(0.3) {
			give("battery", obj("charge", q(digits(d.times(50, 2000), 2)*3600, charge), "per-day",
				q(digits(d.times(0.01, 0.2), 2), share)))
		}
		return n
	}
	if n := draw(d.ratedA[d.bars[0]]); d.chance(0.8) && len(n.members) > 0 {
		needs.set("all", n)
	}
	if id := pick(d.dice, d.sensors...); d.chance(0.4) {
		if n := draw(d.ratedA[d.root.str("sensors", id, "reads")]); len(n.members) > 0 {
			needs.set(id, n)
		}
	}
	if len(needs.members) == 0 {
		d.root.drop("needs")
	}
}

// drawPhaseSums sums the channels of a three-phase set.
func drawPhaseSums(d *draft) {
	for _, id := range []string{"S1", "S2", "S3"} {
		if d.root.get("sensors", id) == nil {
			return
		}
	}
	for _, m := range d.root.section("duties") {
		if m.value.get("three-phase") != nil && d.chance(0.4) {
			d.root.set("phase-sums", seq(obj("channels", names("S1", "S2", "S3"), "measured", say("three"),
				"threshold", q(digits(d.ratedA["B1"]*d.times(0.02, 0.3), 2), current))))
			return
		}
	}
}
