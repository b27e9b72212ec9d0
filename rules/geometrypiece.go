package rules

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/span"
)

// piece is a bar or a shield in space.
type piece struct {
	word, id string
	span     span.Span
	bar      *layout.Bar // nil for a shield
	region   geom.Region // its section, in the plane
	slackM   float64     // how far corners that stand for a circle may lie off it
	parts    []part      // along the current
	// Ends of the straight part that passes the section, and whether it bends there.
	lowM, highM       float64
	bentLow, bentHigh bool
	trouble           error // why the piece is not followed in space
}

func (p *piece) String() string { return fmt.Sprintf("%s %q", p.word, p.id) }

// part is a straight part of a piece.
type part struct {
	span span.Span
	name string // of one of several, such as " (points 1 to 2)"
	// upright: region from lowM to highM, square ends, nothing cut out.
	upright     bool
	region      geom.Region
	lowM, highM float64
	bar         *layout.Bar // of a part that is not upright, and
	leg         *layout.Leg // its leg
	cut         bool        // the cuts of the bar are in this part
	reachM      float64     // no part that ends reaches further along z than this
	made        []solid
	box         box3
}

// offCircleM returns how far inside a circle of radius rM the middle of a side of
// its inscribed polygon of 128 corners lies: r·(1 - cos(π/128)), 3.0e-4 of r.
func offCircleM(rM float64) float64 { return rM * (1 - math.Cos(math.Pi/128)) }

func pieces(l *layout.Layout) []piece {
	reach := reachM(l)
	var out []piece
	for i := range l.Bars {
		out = append(out, barPiece(&l.Bars[i], reach))
	}
	for i := range l.Shields {
		s := &l.Shields[i]
		p := piece{word: "shield", id: s.ID, span: s.At.Span, region: s.Region(), lowM: math.Inf(-1), highM: math.Inf(1)}
		if s.Form.Kind == layout.Ring {
			p.slackM = offCircleM(s.Form.InnerM.V/2 + s.Form.WallM.V)
		}
		if s.DepthM.Set {
			z := s.At.Point3().Z
			p.lowM, p.highM = z-s.DepthM.V/2, z+s.DepthM.V/2
		}
		p.parts = []part{uprightPart(&p, reach)}
		out = append(out, p)
	}
	return out
}

func uprightPart(p *piece, reach float64) part {
	b := p.region.Box()
	return part{span: p.span, upright: true, region: p.region, lowM: p.lowM, highM: p.highM, reachM: reach,
		box: box3{geom.Point3{X: b.Min.X, Y: b.Min.Y, Z: p.lowM}, geom.Point3{X: b.Max.X, Y: b.Max.Y, Z: p.highM}}}
}

// reachM is how far along z whatever ends reaches, to either side, and a metre more.
func reachM(l *layout.Layout) float64 {
	reach := 0.0
	see := func(z float64) { reach = math.Max(reach, math.Abs(z)) }
	for i := range l.Bars {
		b := &l.Bars[i]
		size := 0.0
		for _, c := range b.SectionCorners() {
			size = math.Max(size, c.Norm())
		}
		if b.LengthM.Set {
			see(b.LengthM.V / 2)
		}
		for _, p := range b.Run {
			see(math.Abs(p.Z.V) + size)
		}
		for k := range b.Cuts {
			from, to := b.Cuts[k].Reach()
			see(from)
			see(to)
		}
	}
	for i := range l.Shields {
		if s := &l.Shields[i]; s.DepthM.Set {
			see(math.Abs(s.At.Point3().Z) + s.DepthM.V/2)
		}
	}
	return reach + 1
}

func barPiece(b *layout.Bar, reach float64) piece {
	p := piece{word: "bar", id: b.ID, span: b.At.Span, bar: b, region: geom.Region{Outer: b.Polygon()},
		slackM: offCircleM(b.Section.DiameterM.V / 2), // 0 for any other section
		lowM:   math.Inf(-1), highM: math.Inf(1)}
	for i := range b.Cuts {
		p.slackM = math.Max(p.slackM, offRimM(&b.Cuts[i]))
	}
	legs, err := b.Legs()
	if err != nil {
		p.trouble = err
		p.parts = []part{uprightPart(&p, reach)}
		return p
	}
	home := 0
	if len(legs) > 0 {
		home = b.HomeLeg(legs)
		p.lowM, p.highM = legs[home].From.Z, legs[home].To.Z
		p.bentLow, p.bentHigh = home > 0, home+1 < len(legs)
	}
	if len(legs) <= 1 && len(b.Cuts) == 0 {
		p.parts = []part{uprightPart(&p, reach)}
		return p
	}
	if len(legs) == 0 { // long, with cuts
		s, c := math.Sincos(b.TurnRad.V)
		z, at := geom.Point3{Z: 1}, geom.Point3{X: b.At.X.V, Y: b.At.Y.V}
		legs = []layout.Leg{{From: at.Sub(z.Scale(reach)), To: at.Add(z.Scale(reach)), Along: z,
			U: geom.Point3{X: c, Y: s}, V: geom.Point3{X: -s, Y: c}, FromNormal: z, ToNormal: z}}
	}
	against := false // the run is listed against the current, which the legs follow
	if k := b.SectionLeg(); k > 0 {
		against = b.Run[k].Z.V < b.Run[k-1].Z.V
	}
	for i := range legs {
		t := part{span: p.span, bar: b, leg: &legs[i], cut: i == home && len(b.Cuts) > 0, reachM: reach}
		if len(legs) > 1 {
			k := i
			if against {
				k = len(legs) - 1 - i
			}
			t.name, t.span = fmt.Sprintf(" (points %d to %d)", k+1, k+2), b.Run[k+1].Span
		}
		t.box = emptyBox3()
		for _, c := range b.SectionCorners() {
			from, to := legs[i].Edge(c)
			t.box = t.box.join(box3{from, from}).join(box3{to, to})
		}
		p.parts = append(p.parts, t)
	}
	return p
}

// contact is how two pieces meet: the parts that overlap, or else those nearest
// to each other; none when they are clear of each other.
type contact struct {
	p, q    *part
	overlap bool
	gapM    float64
}

func meet(p, q *piece) (contact, error) {
	c := contact{gapM: math.Inf(1)}
	if err := errors.Join(p.trouble, q.trouble); err != nil {
		return c, err
	}
	for i := range p.parts {
		for j := range q.parts {
			overlap, gap, err := p.parts[i].meet(&q.parts[j], p.slackM+q.slackM)
			switch {
			case err != nil:
				return c, err
			case overlap:
				return contact{p: &p.parts[i], q: &q.parts[j], overlap: true}, nil
			case gap < c.gapM:
				c = contact{p: &p.parts[i], q: &q.parts[j], gapM: gap}
			}
		}
	}
	return c, nil
}

// flush is the length along z below which two ends are the same, in metres: far
// above the rounding of a sum of lengths.
const flush = 1e-12

// meet reports whether two parts overlap, and else the gap between them, as far as
// it is not more than slackM; +Inf for a wider one.
func (t *part) meet(u *part, slackM float64) (overlap bool, gapM float64, err error) {
	if t.box.apart(u.box, slackM+1e-9) {
		return false, math.Inf(1), nil
	}
	if t.upright && u.upright {
		along := math.Max(t.lowM-u.highM, u.lowM-t.highM)
		across := geom.OverlapRegions(t.region, u.region)
		if across && along < -flush {
			return true, 0, nil
		}
		if along <= flush {
			along = 0
		}
		if across {
			return false, along, nil
		}
		gap, _, _ := geom.GapRegionsM(t.region, u.region)
		return false, math.Hypot(gap, along), nil
	}
	a, err := t.solids()
	if err != nil {
		return false, 0, err
	}
	b, err := u.solids()
	if err != nil {
		return false, 0, err
	}
	gapM = math.Inf(1)
	for i := range a {
		for j := range b {
			if a[i].box.apart(b[j].box, slackM+1e-9) {
				continue
			}
			if geom.OverlapConvex(a[i].Convex, b[j].Convex) {
				return true, 0, nil
			}
			gapM = math.Min(gapM, geom.GapConvexM(a[i].Convex, b[j].Convex))
		}
	}
	return false, gapM, nil
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
