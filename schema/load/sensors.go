package load

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/si"
)

// sensors reads the section of sensors.
func (r *reader) sensors(section *spot) {
	for _, s := range section.objects("sensor") {
		r.out.Sensors = append(r.out.Sensors, r.sensor(s))
	}
}

func (r *reader) sensor(s *spot) layout.Sensor {
	out := layout.Sensor{ID: s.key, Span: s.edit, Circuit: layout.None, Sign: 1, Leg: layout.None, Reads: layout.None, Part: layout.None}
	if !s.mapping() {
		return out
	}
	reads := s.at("reads").need()
	out.Reads, out.ReadsSpan = reads.bar(), reads.where()
	out.Circuit = layout.CircuitIndex(out.Reads)
	out.At = s.at("at").need().place(2, 3)
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
	if p := s.at("placement"); p.mapping() {
		out.Placement = &layout.Placement{
			XM:      or(p.at("x").quantity(si.Length, deviation()), 0),
			YM:      or(p.at("y").quantity(si.Length, deviation()), 0),
			TiltRad: or(p.at("tilt").quantity(si.Angle, tiltRange()), 0),
			Span:    p.n.Span,
		}
	}
	if !s.at("placement").present() {
		r.assume(s.edit, out.ID, "sensor %s stands exactly where it is drawn", quote(out.ID))
	}
	return out
}

// tiltRange takes tilts of up to a quarter turn to each side.
func tiltRange() bounds { return bounds{kind: fromLoToHi, hi: math.Pi / 2, unit: "rad"} }
