package layout

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/span"
)

// Piece is a bar, a shield or the body of a sensor in space: straight parts along
// the current, each a section from plane to plane.
type Piece struct {
	Word, ID string
	Span     span.Span
	Bar      *Bar // nil for anything else

	// Section of the part that passes the place of the piece, in the plane.
	Section geom.Region
	// Ends of that part, and whether the piece bends there.
	LowM, HighM       float64
	BentLow, BentHigh bool

	looseM  float64    // how far its surface may stand from where it is drawn
	shift   *Placement // of which x and y are in looseM; nil: none
	slackM  float64    // how far corners that stand for a circle may lie off it
	parts   []part
	trouble error // why the piece is not followed in space
}

func (p *Piece) String() string { return fmt.Sprintf("%s %q", p.Word, p.ID) }

// part is a straight part of a piece.
type part struct {
	span span.Span
	name string // of one of several, such as " (points 1 to 2)"
	// upright: region from lowM to highM, square ends, nothing cut out.
	upright     bool
	region      geom.Region
	slackM      float64 // that of its piece
	radiusM     float64 // of a part that is upright and round: region is then only near
	centre      geom.Point
	lowM, highM float64
	bar         *Bar    // of a part that is not upright, and
	leg         *Leg    // its leg
	cut         bool    // the cuts of the bar are in this part
	reachM      float64 // no part that ends reaches further along z than this
	made        []solid
	box         geom.Box3
}

// offCircleM returns how far inside a circle of radius rM the middle of a side of
// its inscribed polygon of 128 corners lies: r·(1 - cos(π/128)), 3.0e-4 of r.
func offCircleM(rM float64) float64 { return rM * (1 - portable.Cos(math.Pi/128)) }

// Pieces returns all bars and then all shields of l, in file order. Where no length,
// run or depth is declared they go on along z for ever.
func (l *Layout) Pieces() []Piece {
	reach := l.reachM()
	var out []Piece
	for i := range l.Bars {
		b := &l.Bars[i]
		p := barPiece(b, reach)
		p.looseM, p.shift = p.loose(b.Placement, b.At.Point()), b.Placement
		out = append(out, p)
	}
	for i := range l.Shields {
		out = append(out, shieldPiece(&l.Shields[i], reach))
	}
	return out
}

func shieldPiece(s *Shield, reach float64) Piece {
	p := Piece{Word: "shield", ID: s.ID, Span: s.At.Span, Section: s.Region(), LowM: math.Inf(-1), HighM: math.Inf(1)}
	if s.Form.Kind == Ring {
		p.slackM = offCircleM(s.Form.InnerM.V/2 + s.Form.WallM.V)
	}
	if s.DepthM.Set {
		z := s.At.Point3().Z
		p.LowM, p.HighM = z-s.DepthM.V/2, z+s.DepthM.V/2
	}
	p.parts = []part{uprightPart(&p, reach)}
	p.shift = s.Placement
	p.looseM = p.loose(s.Placement, s.At.Point()) + s.WallTolM.V + s.OpeningTolM.V/2
	return p
}

// sweep puts in the place of a convex section along z all that it covers within its tolerances of x and y, so that looseM
// holds the rest alone: a gap across a shift is as wide as drawn. Any other piece stays as it is.
func (p *Piece) sweep() {
	if p.shift == nil || len(p.parts) != 1 || !p.parts[0].upright || p.parts[0].radiusM > 0 ||
		len(p.Section.Holes) > 0 || len(p.Section.Outer.ConvexParts()) != 1 {
		return
	}
	x, y := given0(p.shift.XM), given0(p.shift.YM)
	var corners []geom.Point
	for _, c := range p.Section.Outer {
		for _, d := range []geom.Point{{X: x, Y: y}, {X: -x, Y: y}, {X: x, Y: -y}, {X: -x, Y: -y}} {
			corners = append(corners, c.Add(d))
		}
	}
	p.looseM -= portable.Hypot(x, y)
	t := &p.parts[0]
	t.region = geom.Solid(geom.Hull(corners))
	b := t.region.Box()
	t.box.Min.X, t.box.Min.Y, t.box.Max.X, t.box.Max.Y = b.Min.X, b.Min.Y, b.Max.X, b.Max.Y
}

// loose returns how far a surface of p moves at most with tolerances of place and of turn
// about its place: √(x² + y²) and the turn at the farthest corner.
func (p *Piece) loose(t *Placement, at geom.Point) float64 {
	if t == nil {
		return 0
	}
	far := 0.0
	for i := range p.parts {
		b := p.parts[i].box
		for _, c := range []geom.Point3{b.Min, b.Max, {X: b.Min.X, Y: b.Max.Y}, {X: b.Max.X, Y: b.Min.Y}} {
			far = math.Max(far, c.XY().Sub(at).Norm())
		}
	}
	return portable.Hypot(given0(t.XM), given0(t.YM)) + float64(far*math.Abs(given0(t.TiltRad)))
}

func uprightPart(p *Piece, reach float64) part {
	b := p.Section.Box()
	out := part{span: p.Span, upright: true, region: p.Section, lowM: p.LowM, highM: p.HighM, reachM: reach,
		slackM: p.slackM}
	if p.Bar != nil && p.Bar.Section.Kind == Round {
		out.radiusM, out.centre = p.Bar.Section.DiameterM.V/2, p.Bar.At.Point()
		b = geom.Box{Min: out.centre, Max: out.centre}.Grow(out.radiusM)
	}
	out.box = geom.Box3{Min: b.Min.Space(p.LowM), Max: b.Max.Space(p.HighM)}
	return out
}

// reachM is how far along z whatever ends reaches, to either side, and a metre more.
func (l *Layout) reachM() float64 {
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
	for i := range l.Sensors {
		see(l.Sensors[i].At.Point3().Z)
	}
	return reach + 1
}

func barPiece(b *Bar, reach float64) Piece {
	p := Piece{Word: "bar", ID: b.ID, Span: b.At.Span, Bar: b, Section: geom.Region{Outer: b.Polygon()},
		slackM: offCircleM(b.Section.DiameterM.V / 2), // 0 for any other section
		LowM:   math.Inf(-1), HighM: math.Inf(1)}
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
		p.LowM, p.HighM = legs[home].From.Z, legs[home].To.Z
		p.BentLow, p.BentHigh = home > 0, home+1 < len(legs)
	}
	if len(legs) <= 1 && len(b.Cuts) == 0 {
		p.parts = []part{uprightPart(&p, reach)}
		return p
	}
	if len(legs) == 0 { // long, with cuts
		s, c := portable.Sincos(b.TurnRad.V)
		z, at := geom.Point3{Z: 1}, geom.Point3{X: b.At.X.V, Y: b.At.Y.V}
		legs = []Leg{{From: at.Sub(z.Scale(reach)), To: at.Add(z.Scale(reach)), Along: z,
			U: geom.Point3{X: c, Y: s}, V: geom.Point3{X: -s, Y: c}, FromNormal: z, ToNormal: z}}
	}
	against := false // the run is listed against the current, which the legs follow
	if k := b.SectionLeg(); k > 0 {
		against = b.Run[k].Z.V < b.Run[k-1].Z.V
	}
	for i := range legs {
		t := part{span: p.Span, bar: b, leg: &legs[i], cut: i == home && len(b.Cuts) > 0, reachM: reach,
			slackM: p.slackM}
		if len(legs) > 1 {
			k := i
			if against {
				k = len(legs) - 1 - i
			}
			t.name, t.span = fmt.Sprintf(" (points %d to %d)", k+1, k+2), b.Run[k+1].Span
		}
		t.box = geom.EmptyBox3()
		for _, c := range b.SectionCorners() {
			from, to := legs[i].Edge(c)
			t.box = t.box.Extend(from).Extend(to)
		}
		p.parts = append(p.parts, t)
	}
	return p
}
