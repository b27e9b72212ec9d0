package layout

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// Leg is one straight piece of a bar in space, listed in the direction in which a
// positive current flows. The section is carried along the run without turning
// about it: at each bend its frame turns by the angle of the bend, about the
// normal of the bend's plane.
type Leg struct {
	From, To geom.Point3 // ends of the centre line
	Along    geom.Point3 // unit vector From → To
	U, V     geom.Point3 // unit vectors of the section's local x and y; U × V = Along
	// FromNormal and ToNormal are the unit normals of the planes that cut the ends,
	// both with a positive part along Along: Along itself at a free end, the bisector at a bend.
	FromNormal, ToNormal geom.Point3
}

// straight is the sine of the angle below which a bend counts as none and a
// direction as that of z.
const straight = 1e-9

// Legs returns the pieces of b: one for a straight bar with a length, one for each
// piece of a run, none for a long bar. At the plane section a positive current
// flows towards +z, whichever way the run is listed. The error says in words of
// the layout why a run is no bar: it turns straight back, it is bent tighter
// than its section allows, or it is not along z at the section.
func (b *Bar) Legs() ([]Leg, error) {
	s, c := portable.Sincos(b.TurnRad.V)
	u, v := geom.Point3{X: c, Y: s}, geom.Point3{X: -s, Y: c}
	z := geom.Point3{Z: 1}
	if len(b.Run) == 0 {
		if !b.LengthM.Set {
			return nil, nil
		}
		at := geom.Point3{X: b.At.X.V, Y: b.At.Y.V}
		half := z.Scale(b.LengthM.V / 2)
		return []Leg{{at.Sub(half), at.Add(half), z, u, v, z, z}}, nil
	}
	home := b.SectionLeg() - 1
	if home < 0 {
		return nil, &RunError{Text: "has no piece with a length"}
	}
	legs := make([]Leg, len(b.Run)-1)
	for i := range legs {
		from, to := b.Run[i].Point3(), b.Run[i+1].Point3()
		d := to.Sub(from)
		legs[i] = Leg{From: from, To: to, Along: d.Scale(1 / d.Norm())}
	}
	against := legs[home].Along.Z < 0 // listed against the current
	if against {
		n := len(legs)
		for i := range n / 2 {
			legs[i], legs[n-1-i] = legs[n-1-i], legs[i]
		}
		for i := range legs {
			legs[i].From, legs[i].To, legs[i].Along = legs[i].To, legs[i].From, legs[i].Along.Scale(-1)
		}
		home = n - 1 - home
	}
	if !alongZ(legs[home].Along) {
		return nil, &RunError{Point: b.SectionLeg() - 1, Text: "is not along z where it passes the section"}
	}
	legs[home].Along = z
	legs[home].U, legs[home].V = u, v
	for i := home + 1; i < len(legs); i++ {
		legs[i].U, legs[i].V = carried(&legs[i-1], legs[i].Along), carriedV(&legs[i-1], legs[i].Along)
	}
	for i := home - 1; i >= 0; i-- {
		legs[i].U, legs[i].V = carried(&legs[i+1], legs[i].Along), carriedV(&legs[i+1], legs[i].Along)
	}
	return legs, b.mitre(legs, against)
}

// mitre sets the planes that cut the ends of the legs; against says that the legs
// stand in the other order than the points of the run.
func (b *Bar) mitre(legs []Leg, against bool) error {
	setback := make([]float64, len(legs)) // how far the planes of a leg reach into it, both ends
	n := len(legs)
	legs[0].FromNormal, legs[n-1].ToNormal = legs[0].Along, legs[n-1].Along
	for i := 1; i < n; i++ {
		p, q := &legs[i-1], &legs[i]
		sum := p.Along.Add(q.Along)
		size := sum.Norm()
		if !(size > straight) {
			point := i
			if against {
				point = n - i
			}
			return &RunError{Point: point, Text: "turns straight back"}
		}
		m := sum.Scale(1 / size)
		p.ToNormal, q.FromNormal = m, m
		// The plane leaves the square end by (e·m)/(along·m) per length along e.
		reach := 0.0
		for _, c := range b.SectionCorners() {
			for _, l := range []*Leg{p, q} {
				e := l.U.Scale(c.X).Add(l.V.Scale(c.Y))
				reach = math.Max(reach, math.Abs(e.Dot(m)/l.Along.Dot(m)))
			}
		}
		setback[i-1] += reach
		setback[i] += reach
	}
	for i := range legs {
		if length := legs[i].To.Sub(legs[i].From).Norm(); !(setback[i] <= length*(1+straight)) {
			point := i + 1
			if against {
				point = n - i
			}
			return &RunError{Point: point, Text: fmt.Sprintf(
				"is bent tighter than its section allows. A piece is of %.4g mm, of which its bends take %.4g mm", 1e3*length, 1e3*setback[i])}
		}
	}
	return nil
}

// carried returns local x of leg l after the bend to direction d.
func carried(l *Leg, d geom.Point3) geom.Point3 { return bend(l.Along, d, l.U) }

func carriedV(l *Leg, d geom.Point3) geom.Point3 { return bend(l.Along, d, l.V) }

// bend turns vector v by the rotation that takes the unit vector a to the unit
// vector b about a × b (O. Rodrigues' formula): v itself when a and b are equal.
func bend(a, b, v geom.Point3) geom.Point3 {
	k := a.Cross(b)
	c := a.Dot(b)
	if 1+c <= straight { // straight back: refused by mitre
		return v
	}
	return v.Scale(c).Add(k.Cross(v)).Add(k.Scale(k.Dot(v) / (1 + c)))
}

// SectionCorners returns the corners of the section of b in its own frame,
// counter-clockwise; a round bar as an inscribed polygon of 128 corners.
func (b *Bar) SectionCorners() geom.Polygon {
	switch b.Section.Kind {
	case Rectangle:
		return geom.Rectangle(b.Section.WidthM.V, b.Section.ThicknessM.V)
	case Round:
		return geom.Circle(b.Section.DiameterM.V/2, roundCorners)
	}
	return b.Section.Corners
}

// Edge returns the ends of the edge of the leg that runs through the section's
// local point c, on the planes that cut the leg.
func (l *Leg) Edge(c geom.Point) (from, to geom.Point3) {
	e := l.U.Scale(c.X).Add(l.V.Scale(c.Y))
	from = l.From.Add(e).Sub(l.Along.Scale(e.Dot(l.FromNormal) / l.Along.Dot(l.FromNormal)))
	to = l.To.Add(e).Sub(l.Along.Scale(e.Dot(l.ToNormal) / l.Along.Dot(l.ToNormal)))
	return from, to
}
