package load

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// place reads a point of two or three lengths; least and most say how many.
func (s *spot) place(least, most int) layout.Place {
	p := layout.Place{
		X: s.unset(math.NaN()), Y: s.unset(math.NaN()), Z: s.unset(0), Span: s.where(),
	}
	if s.n == nil {
		return p
	}
	want := pointWords(least, most)
	if s.n.Kind != node.List {
		s.wrongKind(want)
		return p
	}
	if len(s.n.Items) < least || len(s.n.Items) > most {
		s.problem(ruleForm, "%s must be %s, not a list of %d", s.label(), want, len(s.n.Items))
		return p
	}
	coordinates, _ := s.items()
	for i, c := range coordinates {
		c.called("%s of %s", axisNames[i], s.label())
		num := c.quantity(si.Length, coordinate())
		switch i {
		case 0:
			p.X = num
		case 1:
			p.Y = num
		default:
			p.Z = num
		}
	}
	return p
}

var axisNames = [3]string{"x", "y", "z"}

func pointWords(least, most int) string {
	switch {
	case most == 2:
		return "a point [x, y]"
	case least == 3:
		return "a point [x, y, z]"
	}
	return "a point [x, y] or [x, y, z]"
}

// direction reads an angle in the plane or a vector of three pure numbers and
// returns its unit vector. angle is set when the file gave an angle.
func (s *spot) direction() (unit geom.Point3, angle layout.Num) {
	nan := math.NaN()
	unit, angle = geom.Point3{X: nan, Y: nan, Z: nan}, s.unset(nan)
	if s.n == nil {
		return unit, angle
	}
	if s.n.Kind == node.List {
		return s.vector(), angle
	}
	if s.n.Kind != node.Text && s.n.Kind != node.Number {
		s.wrongKind("an angle or a vector [x, y, z]")
		return unit, angle
	}
	angle = s.quantity(si.Angle, turnRange())
	if angle.Set {
		u := geom.Point{X: 1}.Rotate(angle.V)
		unit = geom.Point3{X: u.X, Y: u.Y}
	}
	return unit, angle
}

func (s *spot) vector() geom.Point3 {
	nan := math.NaN()
	bad := geom.Point3{X: nan, Y: nan, Z: nan}
	if len(s.n.Items) != 3 {
		s.problem(ruleForm, "%s must be an angle or a vector [x, y, z], not a list of %d", s.label(), len(s.n.Items))
		return bad
	}
	parts, _ := s.items()
	var v [3]float64
	whole := true
	for i, p := range parts {
		p.called("%s of %s", axisNames[i], s.label())
		num := p.pure(bounds{})
		v[i] = num.V
		whole = whole && num.Set
	}
	if !whole {
		return bad
	}
	u := geom.Point3{X: v[0], Y: v[1], Z: v[2]}
	size := u.Norm()
	if !(size >= 1e-100) {
		s.problem(ruleRange, "%s is a vector without length. It has no direction", s.label())
		return bad
	}
	return u.Scale(1 / size)
}

// turnRange takes angles of up to ten turns; more is a slip of the unit.
func turnRange() bounds {
	return bounds{kind: fromLoToHi, lo: -20 * math.Pi, hi: 20 * math.Pi, unit: "rad"}
}

// turn reads an angle with a default of 0.
func (s *spot) turn() layout.Num { return or(s.quantity(si.Angle, turnRange()), 0) }
