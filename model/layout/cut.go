package layout

import (
	"cmp"
	"math"
	"slices"

	"busgauss/model/portable"
	"busgauss/model/span"
)

// CutKind tells the cuts in the plan of a flat bar apart.
type CutKind uint8

// The four cuts of a plan.
const (
	Neck  CutKind = iota + 1 // material taken from both edges, WidthM is left in the middle
	Notch                    // material taken from one edge to DepthM
	Hole                     // round, through the bar
	Slot                     // with round ends, along the bar
)

// Cut is one place where the plan of a flat bar is not full. The plan is seen
// along the thickness: across is local x of the section from its centre, along
// is z of the layout on the piece that passes the section, both for the centre
// of the cut. Only the numbers of its kind are set.
type Cut struct {
	Kind      CutKind
	AlongM    Num
	AcrossM   Num     // Hole, Slot
	LengthM   Num     // Neck, Notch, Slot: along the bar
	WidthM    Num     // Neck: what is left; Slot: across, at most its length
	DepthM    Num     // Notch: from the edge
	DiameterM Num     // Hole
	Side      float64 // Notch: 1 at local +x (right), -1 at local -x (left)
	Span      span.Span
}

// Reach returns the z from which to which the cut takes material, in metres.
func (c *Cut) Reach() (fromM, toM float64) {
	half := c.LengthM.V / 2
	if c.Kind == Hole {
		half = c.DiameterM.V / 2
	}
	return c.AlongM.V - half, c.AlongM.V + half
}

// rounded is a rectangle of the plan, sides along the bar, and all that is nearer
// to it than a radius: what a cut takes is made of these.
type rounded struct{ x0, x1, z0, z1, radius float64 }

// Taken reports whether the cut takes the point of the plan of a bar of the given
// width: xM across from its centre, zM along. The rim of a cut is metal.
func (c *Cut) Taken(xM, zM, widthM float64) bool {
	for _, r := range c.rounded(widthM) {
		dx := math.Max(0, math.Max(r.x0-xM, xM-r.x1))
		dz := math.Max(0, math.Max(r.z0-zM, zM-r.z1))
		if r.radius > 0 && portable.Hypot(dx, dz) < r.radius || r.x0 < xM && xM < r.x1 && r.z0 < zM && zM < r.z1 {
			return true
		}
	}
	return false
}

// GapM returns the metal between two cuts in the plan of a bar of the given width,
// in metres: 0 and below where they touch or overlap.
func (c *Cut) GapM(d *Cut, widthM float64) float64 {
	gap := math.Inf(1)
	for _, p := range c.rounded(widthM) {
		for _, q := range d.rounded(widthM) {
			dx := math.Max(0, math.Max(p.x0-q.x1, q.x0-p.x1))
			dz := math.Max(0, math.Max(p.z0-q.z1, q.z0-p.z1))
			gap = math.Min(gap, portable.Hypot(dx, dz)-p.radius-q.radius)
		}
	}
	return gap
}

// rounded returns what the cut takes; past an edge of the bar it goes on for ever,
// so that the edge itself is taken.
func (c *Cut) rounded(widthM float64) []rounded {
	z0, z1 := c.Reach()
	w, inf := widthM/2, math.Inf(1)
	switch c.Kind {
	case Neck:
		return []rounded{{-inf, -c.WidthM.V / 2, z0, z1, 0}, {c.WidthM.V / 2, inf, z0, z1, 0}}
	case Notch:
		if c.Side < 0 {
			return []rounded{{-inf, -w + c.DepthM.V, z0, z1, 0}}
		}
		return []rounded{{w - c.DepthM.V, inf, z0, z1, 0}}
	case Hole:
		return []rounded{{c.AcrossM.V, c.AcrossM.V, c.AlongM.V, c.AlongM.V, c.DiameterM.V / 2}}
	}
	r := c.WidthM.V / 2
	return []rounded{{c.AcrossM.V, c.AcrossM.V, z0 + r, z1 - r, r}}
}

// Spread is a stretch across the plan, from low to high in metres from its centre.
type Spread struct{ LowM, HighM float64 }

// Spreads returns what the cut takes across the plan of a bar of the given width at
// zM, rims and edges of the bar included; nothing outside Reach.
func (c *Cut) Spreads(zM, widthM float64) []Spread {
	if from, to := c.Reach(); !(zM >= from && zM <= to) {
		return nil
	}
	var out []Spread
	for _, r := range c.rounded(widthM) {
		dz := math.Max(0, math.Max(r.z0-zM, zM-r.z1))
		half := math.Sqrt(math.Max(0, float64(r.radius*r.radius)-float64(dz*dz)))
		out = append(out, Spread{math.Max(r.x0-half, -widthM/2), math.Min(r.x1+half, widthM/2)})
	}
	return out
}

// Metal returns what is left of a width across the plan, from left to right, when
// what the cuts take is gone; taken is sorted in place.
func Metal(taken []Spread, widthM float64) []Spread {
	slices.SortFunc(taken, func(a, b Spread) int { return cmp.Compare(a.LowM, b.LowM) })
	var out []Spread
	from := -widthM / 2
	for _, t := range taken {
		if t.LowM > from {
			out = append(out, Spread{from, t.LowM})
		}
		from = math.Max(from, t.HighM)
	}
	if from < widthM/2 {
		out = append(out, Spread{from, widthM / 2})
	}
	return out
}
