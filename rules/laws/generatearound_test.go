package laws

import (
	"fmt"
	"math"
)

// drawShields puts iron or a conducting wall about the bars of sensors.
func drawShields(d *draft) {
	if !d.shielded {
		return
	}
	shields := d.root.under("shields")
	curved := d.chance(0.2)
	if curved {
		d.root.under("materials").set("steel", obj("curve", seq(
			seq(q(0, fieldStrength), q(0, fluxDensity)), seq(q(40, fieldStrength), q(0.4, fluxDensity)),
			seq(q(100, fieldStrength), q(0.9, fluxDensity)),
			seq(q(400, fieldStrength), q(1.3, fluxDensity)), seq(q(3000, fieldStrength), q(1.6, fluxDensity)),
			seq(q(20000, fieldStrength), q(1.85, fluxDensity))),
			"coercivity", q(d.between(5, 60, 5), fieldStrength), "conductivity", q(2.1e6, conductivity), "sheet",
			metres(d.between(0.1e-3, 0.5e-3, 0.05e-3))))
	} else {
		d.root.under("materials").set("steel",
			obj("relative-permeability", num(d.between(500, 6000, 500)), "saturation",
				q(d.between(0.4, 2, 0.1), fluxDensity),
				"coercivity", q(d.between(5, 60, 5), fieldStrength), "conductivity", q(2.1e6, conductivity), "sheet",
				metres(d.between(0.1e-3, 0.5e-3, 0.05e-3))))
	}
	form := pick(d.dice, "channel", "channel", "plate", "ring")
	wall := d.between(0.8e-3, 2e-3, 0.2e-3)
	depth := d.between(10e-3, 60e-3, 5e-3)
	for i, id := range d.bars {
		b := d.root.get("bars", id)
		at := b.get("at").point()
		_, half := sectionOf(b)
		s := obj()
		below := math.Round((half.y+2e-3)*1e4) / 1e4
		switch form {
		case "channel":
			s.set("form", obj("channel", obj("opening", metres(2*half.x+4e-3), "leg", metres(below+half.y+10e-3),
				"wall", metres(wall))))
			s.set("at", place(at.x, at.y-below))
		case "plate":
			s.set("form", obj("plate", obj("width", metres(2*half.x+10e-3), "thickness", metres(wall))))
			s.set("at", place(at.x, at.y-below-wall))
		case "ring":
			inner := 2*math.Hypot(half.x, half.y+14e-3) + 4e-3
			s.set("form", obj("ring", obj("inner", metres(digits(inner, 3)), "wall", metres(wall), "slit",
				metres(2e-3))))
			s.set("at", place(at.x, at.y))
		}
		s.set("material", ref("steel"))
		switch {
		case d.space:
			s.set("depth", metres(depth))
		case d.chance(0.7):
			s.set("depth", say("long"))
		}
		shields.set(fmt.Sprintf("K%d", i+1), s)
	}
}

func drawSurroundings(d *draft) {
	around := d.root.under("surroundings")
	if d.chance(0.25) {
		t := d.between(20e-6, 200e-6, 10e-6)
		if d.chance(0.5) {
			around.set("uniform", q(t, fluxDensity))
		} else {
			around.set("uniform", obj("flux-density", q(t, fluxDensity), "direction",
				q(d.between(-90, 180, 15)*math.Pi/180, angle)))
		}
	}
	if d.chance(0.1) && (d.slow || d.hz > 0 || d.chance(0.2)) {
		around.set("immunity", obj("rms", q(pick(d.dice, 3., 10, 30), fieldStrength), "frequency",
			q(d.foreignHz(), frequency)))
	}
	for i := range pick(d.dice, 0, 0, 0, 1, 2) {
		hz := d.foreignHz()
		if d.hz == 0 && d.chance(0.9) {
			hz = 0
		}
		addWire(d.dice, d.root, fmt.Sprintf("W%d", i+1), d.ratedA[d.bars[0]], hz)
	}
	if d.chance(0.1) {
		m := obj("form", obj("disc", obj("diameter", metres(d.between(5e-3, 20e-3, 1e-3)), "thickness",
			metres(d.between(2e-3, 6e-3, 1e-3)))),
			"at", place(-d.between(0.05, 0.2, 0.01), d.between(-0.1, 0.1, 0.01)), "magnetised",
			q(d.between(-90, 180, 15)*math.Pi/180, angle), "remanence", q(1.2, fluxDensity))
		around.under("magnets").set("M1", m)
	}
	if len(around.members) == 0 {
		d.root.drop("surroundings")
	}
}

// foreignHz is mains, or slow where the layout is, so that its fields keep their closed forms.
func (d *draft) foreignHz() float64 {
	if d.slow && d.chance(0.95) {
		return digits(d.hz*1.7, 2)
	}
	return 50
}

// addWire puts a foreign wire beside the bars, at a place of their height or far above; direct where hz is 0.
func addWire(d dice, root *node, id string, ratedA, hz float64) {
	w := obj("at", place(d.between(-0.3, 0.5, 0.01), pick(d, -1., 1)*d.between(0.06, 0.4, 0.01)))
	a := digits(ratedA*d.times(0.02, 1), 2)
	if hz == 0 || d.chance(0.5) {
		w.set("dc", q(a*pick(d, -1., 1), current))
	} else {
		w.set("rms", q(a, current))
		w.set("frequency", q(hz, frequency))
	}
	root.under("surroundings").under("wires").set(id, w)
}

func drawInsulation(d *draft) {
	out := seq()
	add := func(a, b string) {
		in := obj("between", names(a, b), "kind",
			say(pick(d.dice, "functional", "basic", "supplementary", "reinforced")),
			"working", obj(pick(d.dice, "rms", "dc"),
				q(pick(d.dice, 50., 100, 200, 250, 400, 500, 800, 1000, 330, 690), voltage)), "pollution-degree",
			num(pick(d.dice, 1., 2, 2, 3)),
			"material-group", say(pick(d.dice, "I", "II", "IIIa")), "altitude",
			q(pick(d.dice, 0., 500, 1000, 2000, 2000, 3000, 4000, 3500), altitude))
		if d.chance(0.4) {
			in.set("impulse", q(pick(d.dice, 0.8e3, 1.5e3, 2.5e3, 4e3, 6e3, 8e3), voltage))
		} else {
			in.set("supply", obj("rms", q(pick(d.dice, 100., 230, 300, 400, 600, 1000), voltage)))
			in.set("category", num(pick(d.dice, 1., 2, 3, 4)))
		}
		if d.chance(0.3) {
			in.set("creepage", metres(d.between(2e-3, 20e-3, 0.5e-3)))
		}
		out.items = append(out.items, in)
	}
	if len(d.bars) > 1 && d.chance(0.5) {
		add(d.bars[0], d.bars[1])
	}
	if d.chance(0.4) {
		id := pick(d.dice, d.sensors...)
		add(id, "B"+id[1:2]) // S3 and S3b stand over B3
	}
	if len(out.items) > 0 {
		d.root.set("insulation", out)
	}
}
