package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/word"
)

// sensors reads the section of sensors.
func (r *reader) sensors(section *spot) {
	for _, s := range section.objects("sensor") {
		r.out.Sensors = append(r.out.Sensors, r.sensor(s))
	}
}

func (r *reader) sensor(s *spot) layout.Sensor {
	out := layout.Sensor{ID: s.key, Span: s.edit, Part: layout.None}
	out.Circuit, out.Sign, out.Leg, out.Reads = layout.None, 1, layout.None, layout.None
	if !s.mapping() {
		return out
	}
	reads := s.at("reads").need()
	out.ReadsSpan = reads.where()
	out.At = s.at("at").need().place(2, 3)
	r.reads(reads, &out)
	axis := s.at("axis").need()
	out.Axis.Span = axis.where()
	out.Axis.U, out.Axis.AngleRad = axis.direction()
	part := s.at("part")
	out.PartSpan = part.where()
	if _, i, ok := part.reference(aPart); ok {
		out.Part = layout.PartIndex(i)
	}
	if p := s.at("pair"); p.mapping() {
		out.Pair = &layout.Pair{
			SpacingM: p.at("spacing").need().quantity(si.Length, size()),
			AlongRad: p.at("along").need().quantity(si.Angle, turnRange()),
			Span:     p.n.Span,
		}
	}
	out.Array = elements(s, s.at("elements"))
	out.Placement = r.placement(s.at("placement"), "x", "y", "z", "tilt", "yaw")
	if !s.at("placement").present() {
		r.assume(s.edit, out.ID, "sensor %s stands exactly where it is drawn", quote(out.ID))
	}
	return out
}

// reads resolves what the sensor reads: the current of a circuit, or that of one leg of
// a parallel one. It stands at the bar that is named, else at the nearest of the circuit.
func (r *reader) reads(s *spot, out *layout.Sensor) {
	at, ok := s.carrier()
	if !ok {
		return
	}
	c := &r.out.Circuits[at.circuit]
	out.Circuit, out.Reads = at.circuit, at.Bar
	switch {
	case at.Bar == layout.None:
		least := math.Inf(1)
		for _, m := range c.Members {
			b, d := &r.out.Bars[m.Bar], math.Inf(1)
			if known(&b.Section) && b.At.X.Set && b.At.Y.Set {
				d = b.DistanceM(out.At.Point())
			}
			if out.Reads == layout.None || d < least {
				least, out.Reads = d, m.Bar
			}
		}
	case c.Kind == layout.Series:
		out.Sign = at.Factor
	case c.Kind != layout.Single:
		out.Leg = at.Bar
	}
}

// elements reads an array of elements with weights.
func elements(sensor, s *spot) []layout.ArrayElement {
	items, ok := s.items()
	if !ok {
		return nil
	}
	if sensor.at("pair").present() {
		s.problemAt(s.edit, ruleForm,
			"%s has pair and elements. Give one. A pair is two elements with the weights 1 and -1", sensor.label())
	}
	if len(items) < 2 {
		s.problem(ruleForm,
			"%s has %s. An array has two or more. A single one needs no elements", s.label(),
			count(len(items), "element"))
	}
	var out []layout.ArrayElement
	for i, e := range items {
		e.called("element %d of %s", i+1, sensor.label())
		one := layout.ArrayElement{Span: e.edit}
		if e.mapping() {
			one.At = e.at("at").need().place(2, 3)
			axis := e.at("axis").need()
			one.Axis.Span = axis.where()
			one.Axis.U, one.Axis.AngleRad = axis.direction()
			one.Weight = or(e.at("weight").pure(bounds{}), 1)
		}
		out = append(out, one)
	}
	return out
}

// placement reads tolerances of place of which keys may be given, out of x, y, z,
// tilt or turn, and yaw, and lists those that are missing.
func (r *reader) placement(s *spot, keys ...string) *layout.Placement {
	if !s.mapping() {
		return nil
	}
	none := layout.Num{Span: s.edit}
	out := &layout.Placement{XM: none, YM: none, ZM: none, TiltRad: none, YawRad: none, Span: s.n.Span}
	var missing []string
	for _, k := range keys {
		p := s.at(k)
		if !p.present() {
			missing = append(missing, k)
		}
		switch k {
		case "x":
			out.XM = or(p.quantity(si.Length, deviation()), 0)
		case "y":
			out.YM = or(p.quantity(si.Length, deviation()), 0)
		case "z":
			out.ZM = or(p.quantity(si.Length, deviation()), 0)
		case "tilt", "turn":
			out.TiltRad = or(p.quantity(si.Angle, tiltRange()), 0)
		case "yaw":
			out.YawRad = or(p.quantity(si.Angle, tiltRange()), 0)
		}
	}
	switch len(missing) {
	case 0:
	case 1:
		r.assume(s.edit, s.id, "%s leaves out %s: it is 0", s.label(), missing[0])
	default:
		r.assume(s.edit, s.id, "%s leaves out %s: they are 0", s.label(), word.And(missing))
	}
	return out
}

// tiltRange takes tilts of up to a quarter turn to each side.
func tiltRange() bounds { return bounds{kind: fromLoToHi, hi: math.Pi / 2, unit: "rad"} }
