package layout

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/span"
)

// Contact is how two pieces meet, or a piece and itself.
type Contact struct {
	Overlap bool
	// GapM is the distance between the two in metres, 0 where they touch or overlap;
	// +Inf where it is more than was asked for.
	GapM float64
	// SlackM is how much less the true distance may be, in metres: corners stand for
	// circles. 0 where the two are followed exactly.
	SlackM float64
	// The parts that overlap or are nearest to each other, in words such as
	// " (points 1 to 2)", empty for a piece of one part, and where the first one stands
	// in the file. Not set for an infinite gap.
	PartP, PartQ string
	Span         span.Span
}

// Meet returns how p and q meet, as far as they are not more than withinM metres from each
// other. The error says in words why one of the two is not followed in space.
func (p *Piece) Meet(q *Piece, withinM float64) (Contact, error) {
	c := Contact{GapM: math.Inf(1), Span: p.Span}
	if err := errors.Join(p.trouble, q.trouble); err != nil {
		return c, err
	}
	for i := range p.parts {
		for j := range q.parts {
			a, b := &p.parts[i], &q.parts[j]
			d, err := a.meet(b, withinM)
			if err != nil {
				return c, err
			}
			if d.Overlap || d.GapM < c.GapM {
				d.PartP, d.PartQ, d.Span = a.name, b.name, a.span
				c, withinM = d, math.Min(withinM, d.GapM)
			}
			if d.Overlap {
				return c, nil
			}
		}
	}
	return c, nil
}

// MeetSelf returns how the first part of p that comes back to another one meets it,
// within the slack of p: parts that follow each other meet in their mitre and do not count.
// PartP is the later of the two.
func (p *Piece) MeetSelf() (Contact, error) {
	for j := range p.parts {
		for i := 0; i+1 < j; i++ {
			c, err := p.parts[i].meet(&p.parts[j], p.slackM)
			if err != nil {
				return c, err
			}
			if c.Overlap || c.GapM <= c.SlackM {
				c.PartP, c.PartQ, c.Span = p.parts[j].name, p.parts[i].name, p.parts[j].span
				return c, nil
			}
		}
	}
	return Contact{GapM: math.Inf(1), Span: p.Span}, nil
}

// flush is the length along z below which two ends are the same, in metres: far
// above the rounding of a sum of lengths.
const flush = 1e-12

// margin is added to a distance that is looked for, in metres, so that rounding
// loses none that is just as long.
const margin = 1e-9

// meet returns how two parts meet, without their names.
func (t *part) meet(u *part, withinM float64) (Contact, error) {
	slackM := t.slackM
	if u.bar == nil || u.bar != t.bar {
		slackM += u.slackM
	}
	if t.box.Apart(u.box, math.Max(withinM, slackM)+margin) {
		return Contact{GapM: math.Inf(1)}, nil
	}
	if t.upright && u.upright {
		return t.meetUpright(u), nil
	}
	out := Contact{GapM: math.Inf(1), SlackM: slackM}
	a, err := t.solids()
	if err != nil {
		return out, err
	}
	b, err := u.solids()
	if err != nil {
		return out, err
	}
	withinM = math.Max(withinM, slackM)
	for i := range a {
		for j := range b {
			if a[i].box.Apart(b[j].box, withinM+margin) {
				continue
			}
			if geom.OverlapConvex(a[i].Convex, b[j].Convex) {
				return Contact{Overlap: true}, nil
			}
			out.GapM = math.Min(out.GapM, geom.GapConvexM(a[i].Convex, b[j].Convex))
			withinM = math.Min(withinM, out.GapM)
		}
	}
	return out, nil
}

// meetUpright is meet for two parts along z with square ends.
func (t *part) meetUpright(u *part) Contact {
	along := math.Max(t.lowM-u.highM, u.lowM-t.highM)
	across := t.planeGap(u)
	overlap := across < 0
	var out Contact
	for _, p := range [2]*part{t, u} {
		if p.radiusM == 0 { // else the circle itself counts
			out.SlackM += p.slackM
		}
	}
	if overlap && -across < out.SlackM { // no deeper than corners lie off a circle
		overlap = false
	}
	across = math.Max(0, across)
	switch {
	case overlap && along < -flush:
		return Contact{Overlap: true}
	case along <= flush:
		out.GapM = across
	case across == 0:
		out.GapM = along
		out.SlackM = 0
	default:
		out.GapM = portable.Hypot(across, along)
	}
	return out
}

// planeGap returns the distance between the sections of two upright parts, below 0
// where they share area: round bars as circles and then by how much, else -Inf.
func (t *part) planeGap(u *part) float64 {
	if t.radiusM == 0 && u.radiusM > 0 {
		t, u = u, t
	}
	if t.radiusM == 0 {
		if geom.OverlapRegions(t.region, u.region) {
			return math.Inf(-1)
		}
		gap, _, _ := geom.GapRegionsM(t.region, u.region)
		return gap
	}
	gap := 0.0
	if u.radiusM > 0 {
		gap = t.centre.Sub(u.centre).Norm()
	} else {
		gap = u.region.DistanceM(t.centre)
	}
	gap -= t.radiusM + u.radiusM
	// As for polygons: what is nearer than the rounding of coordinates touches.
	if tol := 1e-12 * (t.centre.Norm() + u.box.Max.XY().Norm() + u.box.Min.XY().Norm() +
		t.radiusM); math.Abs(gap) <= tol {
		return 0
	}
	return gap
}

// DistanceM returns the distance from q to the metal of p in metres, 0 inside. Too
// long by as much as the slack of p where circles bend or are cut out. The error says
// why p is not followed in space.
func (p *Piece) DistanceM(q geom.Point3) (float64, error) {
	least := math.Inf(1)
	for i := range p.parts {
		t := &p.parts[i]
		if t.upright {
			across := t.region.DistanceM(q.XY())
			if t.radiusM > 0 {
				across = math.Max(0, q.XY().Sub(t.centre).Norm()-t.radiusM)
			}
			along := math.Max(0, math.Max(t.lowM-q.Z, q.Z-t.highM))
			least = math.Min(least, portable.Hypot(across, along))
			continue
		}
		made, err := t.solids()
		if err != nil {
			return 0, err
		}
		for k := range made {
			least = math.Min(least, made[k].DistanceM(q))
		}
	}
	return least, p.trouble
}

// Deep reports whether q and all places within a nanometre of it lie in p.
func (p *Piece) Deep(q geom.Point3) bool {
	for _, d := range []geom.Point3{{X: margin}, {X: -margin}, {Y: margin}, {Y: -margin}, {Z: margin}, {Z: -margin}} {
		if !p.Holds(q.Add(d)) {
			return false
		}
	}
	return true
}

// solids returns the convex solids of t. A part without an end goes on a metre
// beyond whatever has one.
func (t *part) solids() ([]solid, error) {
	if t.made != nil {
		return t.made, nil
	}
	if !t.upright {
		var err error
		t.made, err = legSolids(t.bar, t.leg, t.cut)
		return t.made, err
	}
	if len(t.region.Outer) > mostCorners {
		return nil, tooManyCorners(len(t.region.Outer))
	}
	low, high := math.Max(t.lowM, -t.reachM-1), math.Min(t.highM, t.reachM+1)
	for _, p := range t.region.ConvexParts() {
		from, to := make([]geom.Point3, len(p)), make([]geom.Point3, len(p))
		for i, c := range p {
			from[i], to[i] = geom.Point3{X: c.X, Y: c.Y, Z: low}, geom.Point3{X: c.X, Y: c.Y, Z: high}
		}
		t.made = append(t.made, newSolid(from, to))
	}
	return t.made, nil
}

// mostCorners keeps the split of an outline into convex parts within some
// hundredths of a second.
const mostCorners = 400

func tooManyCorners(n int) error {
	return fmt.Errorf("an outline of %d corners is not followed round bends, %d at most", n, mostCorners)
}
