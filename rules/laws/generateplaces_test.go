package laws

import "math"

// drawElements makes an array of two or three elements out of a sensor.
func drawElements(d *draft) {
	for _, id := range d.sensors {
		s := d.root.get("sensors", id)
		if d.shielded || s.get("pair") != nil || !d.chance(0.06) {
			continue
		}
		axis, step := s.num(0, "axis"), d.between(1e-3, 4e-3, 0.5e-3)
		along := direction(axis)
		elements := seq(
			obj("at", place(0, 0), "axis", q(axis, angle)),
			obj("at", place(tidy(along.x*step), tidy(along.y*step)), "axis", q(axis, angle), "weight",
				num(pick(d.dice, 1., 0.5, -0.2))))
		if d.chance(0.3) {
			elements.items = append(elements.items,
				obj("at", place(tidy(-along.x*step), tidy(-along.y*step)), "axis", q(axis, angle), "weight", num(0.5)))
		}
		s.set("elements", elements)
	}
}

// drawSpacePlaces gives sensors tolerances out of the plane.
func drawSpacePlaces(d *draft) {
	for _, id := range d.sensors {
		p := d.root.get("sensors", id, "placement")
		if p == nil || !d.chance(0.4) {
			continue
		}
		p.set("z", metres(d.between(0, 1e-3, 0.25e-3)))
		p.set("yaw", q(d.between(0, 2, 0.5)*math.Pi/180, angle))
	}
}

// drawPiecePlaces gives bars and shields tolerances of their own.
func drawPiecePlaces(d *draft) {
	for _, section := range []string{"bars", "shields"} {
		for _, m := range d.root.section(section) {
			if d.chance(0.04) {
				m.value.set("placement", obj("x", metres(d.between(0, 0.3e-3, 0.1e-3)), "y",
					metres(d.between(0.1e-3, 0.3e-3, 0.1e-3)), "turn", q(d.between(0, 1, 0.5)*math.Pi/180, angle)))
			}
		}
	}
}

// drawClear says how near iron and walls may be.
func drawClear(d *draft) {
	if d.chance(0.3) {
		d.root.under("surroundings").set("clear", metres(pick(d.dice, 0.5, 1, 2, 3)))
	}
}

// drawLastingVoltages adds temporary and recurring voltages to what must insulate.
func drawLastingVoltages(d *draft) {
	in := d.root.get("insulation")
	if in == nil {
		return
	}
	for _, item := range in.items {
		if d.chance(0.2) {
			item.set("temporary", obj(pick(d.dice, "rms", "peak"), q(pick(d.dice, 500., 1000, 1450, 2000), voltage)))
		}
		if d.chance(0.2) {
			item.set("recurring", obj("peak", q(pick(d.dice, 300., 600, 900, 1200), voltage)))
		}
	}
}
