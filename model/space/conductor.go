package space

import (
	"errors"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space/plan"
)

// Conductor is a bar in space, per ampere of positive current.
type Conductor struct {
	bar    *layout.Bar
	legs   []layout.Leg // none for a long bar
	pieces []piece      // what adds up to the field
	bends  []bend
	solids []geom.Convex
	plate  *plate     // with cuts only
	flow   *plan.Flow // with cuts only
}

// piece is a part of the field of a bar with its bound.
type piece func(p geom.Point3) (bT geom.Point3, boundT float64)

// NewConductor returns bar b, which must not change afterwards. The error says in
// words of the layout why the bar cannot be computed: its run is no bar
// (layout.Bar.Legs) or its cuts are none (plan.Solve).
func NewConductor(b *layout.Bar) (*Conductor, error) {
	legs, err := b.Legs()
	if err != nil {
		return nil, err
	}
	c := &Conductor{bar: b, legs: legs}
	if len(legs) == 0 {
		c.pieces = append(c.pieces, c.endless)
	}
	for i := range legs {
		c.pieces = append(c.pieces, prismOf(b, &legs[i]))
		c.solids = append(c.solids, solidsOf(b, &legs[i])...)
	}
	for i := 1; i < len(legs); i++ {
		if d, ok := newBend(b, &legs[i-1], &legs[i]); ok {
			c.bends = append(c.bends, d)
		}
	}
	if len(b.Cuts) > 0 {
		if err := c.cut(); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// B returns the flux density at p in tesla per ampere of positive current, and the
// half width of its error in the same unit: rounding, the rule of filaments, the error of the
// flow round cuts, and what the model of a bend leaves out (bend.errorT).
// Valid everywhere, in the metal too.
//
// Formula: polyhedron and block for rectangles and outlines, rod for round bars,
// closedform.RectangleB, CircleB, PolygonB for long ones, plan.Flow.Change for cuts,
// bend for the crowding at bends.
func (c *Conductor) B(p geom.Point3) (bT geom.Point3, boundT float64) {
	for i := range c.pieces {
		v, e := c.pieces[i](p)
		bT = bT.Add(v)
		boundT += e
	}
	for i := range c.bends {
		v, e := c.bends[i].b(p)
		bT = bT.Add(v)
		boundT += e
	}
	return bT, boundT
}

// prismOf returns the field of leg l as a prism with an even current density.
func prismOf(b *layout.Bar, l *layout.Leg) piece {
	switch b.Section.Kind {
	case layout.Rectangle:
		return newBlock(l, b.Section.WidthM.V, b.Section.ThicknessM.V).b
	case layout.Round:
		return newRod(l, b.Section.DiameterM.V/2).b
	}
	return newPolyhedron(l, b.Section.Corners.Normal(), b.AreaM2()).b
}

// endless returns the field of a long bar, the same at every z.
func (c *Conductor) endless(p geom.Point3) (geom.Point3, float64) {
	v := closedform.Turned(p.XY(), c.bar.At.Point(), c.bar.TurnRad.V, func(q geom.Point) geom.Point {
		switch s := &c.bar.Section; s.Kind {
		case layout.Rectangle:
			return closedform.RectangleB(q, s.WidthM.V, s.ThicknessM.V, 1)
		case layout.Round:
			return closedform.CircleB(q, s.DiameterM.V/2, 1)
		}
		return closedform.PolygonB(q, c.bar.Section.Corners, 1)
	})
	return geom.Point3{X: v.X, Y: v.Y}, 1e-12 * v.Norm()
}

// cut adds what the cuts do where the bar passes the section: between the ends of its
// straight piece, or as far as the section is full where that ends in a bend.
func (c *Conductor) cut() error {
	b := c.bar
	if b.Section.Kind != layout.Rectangle {
		return errors.New("cuts need a section of width and thickness")
	}
	low, high, err := b.FullZ()
	if err != nil {
		return err
	}
	d := plan.Drawing{
		WidthM: b.Section.WidthM.V, ThicknessM: b.Section.ThicknessM.V,
		FromM: low, ToM: high, Cuts: b.Cuts,
	}
	flow, err := plan.Solve(d, plan.Options{})
	if err != nil {
		return err
	}
	home := c.home()
	c.plate, err = newPlate(&home, d)
	if err != nil {
		return err
	}
	c.flow = flow
	c.pieces = append(c.pieces, func(p geom.Point3) (geom.Point3, float64) {
		v, e := flow.Change(c.plate.local(p))
		return home.U.Scale(v.X).Add(home.V.Scale(v.Y)).Add(home.Along.Scale(v.Z)), e
	})
	return nil
}

// home returns the leg that passes the section; of a long bar one of no length there.
func (c *Conductor) home() layout.Leg {
	if len(c.legs) > 0 {
		return c.legs[c.bar.HomeLeg(c.legs)]
	}
	s, cos := portable.Sincos(c.bar.TurnRad.V)
	at, z := c.bar.At.Point().Space(0), geom.Point3{Z: 1}
	return layout.Leg{
		From: at, To: at, Along: z, U: geom.Point3{X: cos, Y: s}, V: geom.Point3{X: -s, Y: cos},
		FromNormal: z, ToNormal: z,
	}
}

// Flow returns the flow round the cuts of the bar; nil without cuts.
func (c *Conductor) Flow() *plan.Flow { return c.flow }
