package fem

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/si"
)

const mu0 = si.Mu0HPerM

// source is a field in empty space that drives a reaction.
type source interface {
	potential(p geom.Point) float64
	// flux returns the curl of the potential, (∂/∂y, −∂/∂x).
	flux(p geom.Point) geom.Point
}

// uniform is one tesla along +x (dir 0) or +y (dir 1).
type uniform struct{ dir int }

func (u uniform) potential(p geom.Point) float64 {
	if u.dir == 0 {
		return p.Y
	}
	return -p.X
}

func (u uniform) flux(geom.Point) geom.Point {
	if u.dir == 0 {
		return geom.Point{X: 1}
	}
	return geom.Point{Y: 1}
}

// dipole is the source whose reaction is the response of Bx (dir 0) or By
// (dir 1) of the reaction field at q: the derivative of −ln r/2π with respect
// to q, 1/m.
type dipole struct {
	q   geom.Point
	dir int
}

func (d dipole) potential(p geom.Point) float64 {
	r := p.Sub(d.q)
	f := 1 / (2 * math.Pi * r.Dot(r))
	if d.dir == 0 {
		return f * r.Y
	}
	return -f * r.X
}

func (d dipole) flux(p geom.Point) geom.Point {
	r := p.Sub(d.q)
	r2 := r.Dot(r)
	f := 1 / (2 * math.Pi * r2 * r2)
	a, b := f*(float64(r.X*r.X)-float64(r.Y*r.Y)), f*2*r.X*r.Y
	if d.dir == 0 {
		return geom.Point{X: a, Y: b}
	}
	return geom.Point{X: b, Y: -a}
}

// current is one ampere spread over one or more pieces, evenly over each.
type current struct {
	pieces []*Piece
	index  []int
	shares []float64 // sum 1
}

func (c *current) potential(p geom.Point) float64 {
	sum := 0.0
	for i, piece := range c.pieces {
		sum += float64(c.shares[i] * piece.potential(p))
	}
	return sum
}

func (c *current) flux(p geom.Point) geom.Point {
	var sum geom.Point
	for i, piece := range c.pieces {
		sum = sum.Add(piece.flux(p).Scale(c.shares[i]))
	}
	return sum
}

// potential is A_z of one ampere in the section.
func (c *Piece) potential(p geom.Point) float64 {
	if r := c.Round; r != nil {
		q := p.Sub(r.Centre)
		if r.InnerM == 0 {
			return closedform.CircleAWbPerM(q, r.OuterM, 1)
		}
		o, i, s := c.ringShares()
		sum := closedform.CircleAWbPerM(q, r.OuterM, o) - closedform.CircleAWbPerM(q, r.InnerM, i)
		if s > 0 {
			sum -= closedform.PolygonAWbPerM(p, r.slit(), s)
		}
		return sum
	}
	area := c.Region.AreaM2()
	sum := closedform.PolygonAWbPerM(p, c.Region.Outer, c.Region.Outer.AreaM2()/area)
	for _, h := range c.Region.Holes {
		sum -= closedform.PolygonAWbPerM(p, h, h.AreaM2()/area)
	}
	return sum
}

// flux is B of one ampere in the section.
func (c *Piece) flux(p geom.Point) geom.Point {
	if r := c.Round; r != nil {
		q := p.Sub(r.Centre)
		if r.InnerM == 0 {
			return closedform.CircleB(q, r.OuterM, 1)
		}
		o, i, s := c.ringShares()
		sum := closedform.CircleB(q, r.OuterM, o).Sub(closedform.CircleB(q, r.InnerM, i))
		if s > 0 {
			sum = sum.Sub(closedform.PolygonB(p, r.slit(), s))
		}
		return sum
	}
	area := c.Region.AreaM2()
	sum := closedform.PolygonB(p, c.Region.Outer, c.Region.Outer.AreaM2()/area)
	for _, h := range c.Region.Holes {
		sum = sum.Sub(closedform.PolygonB(p, h, h.AreaM2()/area))
	}
	return sum
}

// ringShares returns the currents of the outer circle, the hole and the slit that leave one ampere in the ring.
func (c *Piece) ringShares() (outer, inner, slit float64) {
	r, area := c.Round, c.areaM2()
	return math.Pi * r.OuterM * r.OuterM / area, math.Pi * r.InnerM * r.InnerM / area, r.slitM2() / area
}

// currentOf returns the source of one ampere into bar piece k: the piece alone,
// or its bonded group, divided as direct current divides.
func (p *Problem) currentOf(k int) *current {
	members := []int{k}
	for _, g := range p.Bonded {
		for _, i := range g {
			if i == k {
				members = g
			}
		}
	}
	c := &current{}
	total := 0.0
	for _, i := range members {
		w := 1.0
		if len(members) > 1 {
			w = float64(p.Pieces[i].SigmaSPerM * p.Pieces[i].areaM2())
		}
		c.pieces, c.index, c.shares = append(c.pieces, &p.Pieces[i]), append(c.index, i), append(c.shares, w)
		total += w
	}
	for i := range c.shares {
		c.shares[i] /= total
	}
	return c
}
