package space

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// Strand is a filament of a bar at one place of its section, laid along its run: cut at the
// bends by the planes that cut the legs, open at the ends of the bar.
type Strand struct {
	out, back geom.Point // of a long bar, in the plane section
	legs      []ribbon
	closed    bool // by the sides of the strips
}

// ribbon is a straight piece of a strand, and the plane strip between it and where its
// current returns.
type ribbon struct {
	from, to, backTo, backFrom geom.Point3
	along                      geom.Point3
	lengthM                    float64
}

// Strand returns the filament at a place of the section, in its local frame. back is the
// place through which PotentialA returns the current.
func (c *Conductor) Strand(at, back geom.Point) Strand {
	if len(c.legs) == 0 {
		turned := func(p geom.Point) geom.Point { return c.bar.At.Point().Add(p.Rotate(c.bar.TurnRad.V)) }
		return Strand{out: turned(at), back: turned(back)}
	}
	var s Strand
	for i := range c.legs {
		from, to := c.legs[i].Edge(at)
		backFrom, backTo := c.legs[i].Edge(back)
		s.legs = append(s.legs, ribbon{from, to, backTo, backFrom, c.legs[i].Along, to.Sub(from).Dot(c.legs[i].Along)})
	}
	return s
}

// B returns the flux density at p in tesla per ampere along positive current, without what
// returns unless it is a Stretch; not a number on the strand.
//
// Formula: closedform.SegmentB, closedform.FilamentB (sources there), in the shape of line.
func (s Strand) B(p geom.Point3) geom.Point3 {
	if len(s.legs) == 0 {
		d := p.XY().Sub(s.out)
		f := 2 * mu0Over4Pi / (float64(d.X*d.X) + float64(d.Y*d.Y))
		return geom.Point3{X: -f * d.Y, Y: f * d.X}
	}
	var sum geom.Point3
	for i := range s.legs {
		g := &s.legs[i]
		a := p.Sub(g.from)
		z := a.Dot(g.along)
		c := g.along.Cross(a)
		sum = sum.Add(c.Scale(mu0Over4Pi * line(c.Dot(c), -z, g.lengthM-z)))
		if s.closed && g.from != g.backFrom {
			sum = sum.Add(closedform.SegmentB(p, g.backFrom, g.from, 1)).Add(closedform.SegmentB(p, g.to, g.backTo, 1)).
				Add(closedform.SegmentB(p, g.backTo, g.backFrom, 1))
		}
	}
	return sum
}

// Stretch returns the strand at a place of the section between two heights where the bar
// passes the section, no further than the straight piece goes, as a loop: its current crosses the section to back
// at both heights and returns there. to must lie above from.
func (c *Conductor) Stretch(at, back geom.Point, fromZM, toZM float64) Strand {
	home := c.home()
	if len(c.legs) > 0 {
		fromZM, toZM = math.Max(fromZM, home.From.Z), math.Min(toZM, home.To.Z)
	}
	place := func(p geom.Point, z float64) geom.Point3 {
		q := home.From.Add(home.U.Scale(p.X)).Add(home.V.Scale(p.Y))
		return geom.Point3{X: q.X, Y: q.Y, Z: z}
	}
	g := ribbon{from: place(at, fromZM), to: place(at, toZM), backTo: place(back, toZM), backFrom: place(back, fromZM),
		along: geom.Point3{Z: 1}, lengthM: math.Max(0, toZM-fromZM)}
	return Strand{legs: []ribbon{g}, closed: true}
}

// PotentialA returns the scalar potential φ at p, H = −∇φ, of one ampere along the strand and
// back, closed at the ends of the bar: minus the solid angle of the strip between, over 4π; of a long bar the angle
// over 2π. It jumps where p crosses the strip.
//
// Source: J. D. Jackson, Classical Electrodynamics, 3rd ed., problem 5.1 (potential of a
// current loop); the solid angle of a triangle: A. Van Oosterom, J. Strackee, IEEE Trans.
// Biomed. Eng. 30 (1983) 125.
func (s Strand) PotentialA(p geom.Point3) float64 {
	if len(s.legs) == 0 {
		a, b := s.out.Sub(p.XY()), s.back.Sub(p.XY())
		return portable.Atan2(a.Cross(b), a.Dot(b)) / (2 * math.Pi)
	}
	sum := 0.0
	for i := range s.legs {
		g := &s.legs[i]
		a, b, c, d := g.from.Sub(p), g.to.Sub(p), g.backTo.Sub(p), g.backFrom.Sub(p)
		la, lb, lc, ld := length(a), length(b), length(c), length(d)
		ac := a.Dot(c)
		sum += halfAngle(a, b, c, float64(la*lb*lc)+float64(a.Dot(b)*lc)+float64(b.Dot(c)*la)+float64(ac*lb)) + halfAngle(a, c, d, float64(la*lc*ld)+float64(ac*ld)+float64(c.Dot(d)*la)+float64(d.Dot(a)*lc))
	}
	return -sum / (2 * math.Pi)
}

// halfAngle returns half the signed solid angle of a triangle seen from the origin, with the denominator given.
func halfAngle(a, b, c geom.Point3, den float64) float64 {
	return portable.Atan2(a.Dot(b.Cross(c)), den)
}

func length(v geom.Point3) float64 { return math.Sqrt(v.Dot(v)) }
