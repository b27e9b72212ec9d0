package layout

import (
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// Shift is how far something stands from where it is drawn: moved in metres, turned by
// TiltRad about z, and a sensor by YawRad out of the plane. Yaw turns the axis of a sensor
// towards +z in the plane of the axis and z; TowardsRad is the direction in the section
// that goes into +z with it, for an axis that has none in the section.
type Shift struct {
	DX, DY, DZ      float64 // m
	TiltRad, YawRad float64
	TowardsRad      float64
}

// Displaced returns s moved and turned, a pair and an array as one body about the place of s:
// first out of the plane, then about z.
func (s Sensor) Displaced(k Shift) Sensor {
	s.At.X.V += k.DX
	s.At.Y.V += k.DY
	if k.DZ != 0 {
		if !s.At.Z.Set {
			s.At.Z.V = 0
		}
		s.At.Z.V += k.DZ
		s.At.Z.Set = true
	}
	turn := s.turn(k)
	s.Axis.turned(k, turn)
	if len(s.Array) > 0 && (k.TiltRad != 0 || k.YawRad != 0) {
		s.Array = append([]ArrayElement(nil), s.Array...)
		for i := range s.Array {
			e := &s.Array[i]
			at := turn(e.At.Point3())
			e.At.X.V, e.At.Y.V = at.X, at.Y
			if k.YawRad != 0 {
				e.At.Z.V, e.At.Z.Set = at.Z, true
			}
			e.Axis.turned(k, turn)
		}
	}
	if s.Pair != nil {
		p := *s.Pair
		p.AlongRad.V += k.TiltRad
		if k.YawRad != 0 {
			u := turn(s.Pair.along())
			p.AlongRad.V, p.OutRad = portable.Atan2(u.Y, u.X), portable.Atan2(u.Z, portable.Hypot(u.X, u.Y))
		}
		s.Pair = &p
	}
	return s
}

// across is the size of the part of an axis in the section below which it has none.
const across = 1e-9

// LeansNowhere reports whether the axis of s stands along z, so that yaw may turn it any way.
func (s *Sensor) LeansNowhere() bool { return portable.Hypot(s.Axis.U.X, s.Axis.U.Y) < across }

// turn returns the rotation of the body of s by k.
func (s *Sensor) turn(k Shift) func(geom.Point3) geom.Point3 {
	if k.YawRad == 0 {
		sin, cos := portable.Sincos(k.TiltRad)
		return func(v geom.Point3) geom.Point3 {
			return geom.Point3{X: float64(cos*v.X) - float64(sin*v.Y), Y: float64(sin*v.X) + float64(cos*v.Y), Z: v.Z}
		}
	}
	towards := geom.Point{X: 1}.Rotate(k.TowardsRad)
	if !s.LeansNowhere() {
		p := geom.Point{X: s.Axis.U.X, Y: s.Axis.U.Y}
		towards = p.Scale(1 / p.Norm())
	}
	sin, cos := portable.Sincos(k.YawRad)
	return func(v geom.Point3) geom.Point3 {
		h := float64(v.X*towards.X) + float64(v.Y*towards.Y)
		grown := float64((cos-1)*h) - float64(sin*v.Z)
		p := geom.Point{X: v.X + float64(grown*towards.X), Y: v.Y + float64(grown*towards.Y)}.Rotate(k.TiltRad)
		return geom.Point3{X: p.X, Y: p.Y, Z: float64(cos*v.Z) + float64(sin*h)}
	}
}

// turned turns an axis by k; its angle keeps what the file gave but for the tilt.
func (a *Axis) turned(k Shift, turn func(geom.Point3) geom.Point3) {
	a.U = turn(a.U)
	a.AngleRad.V += k.TiltRad
}

// along is the unit vector from the negative to the positive element of a pair.
func (p *Pair) along() geom.Point3 {
	sin, cos := portable.Sincos(p.AlongRad.V)
	up, flat := portable.Sincos(p.OutRad)
	return geom.Point3{X: cos * flat, Y: sin * flat, Z: up}
}

// DisplacedBar returns a copy of l in which bar b stands elsewhere: its section moved in the
// plane and turned about its place, its run moved along. Everything else is shared.
func (l *Layout) DisplacedBar(b BarIndex, k Shift) *Layout {
	bars := append([]Bar(nil), l.Bars...)
	at := &bars[b]
	at.At.X.V += k.DX
	at.At.Y.V += k.DY
	at.TurnRad.V += k.TiltRad
	if len(at.Run) > 0 {
		at.Run = append([]Place(nil), at.Run...)
		for i := range at.Run {
			at.Run[i].X.V += k.DX
			at.Run[i].Y.V += k.DY
		}
	}
	return l.WithBars(bars)
}

// DisplacedShield is DisplacedBar for a shield.
func (l *Layout) DisplacedShield(i ShieldIndex, k Shift) *Layout {
	c := *l
	c.Shields = append([]Shield(nil), l.Shields...)
	s := &c.Shields[i]
	s.At.X.V += k.DX
	s.At.Y.V += k.DY
	s.TurnRad.V += k.TiltRad
	return &c
}
