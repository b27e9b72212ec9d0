package figure

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// box is a rectangle in drawing units, v0 above v1 on the paper.
type box struct{ u0, v0, u1, v1 float64 }

func (b box) meets(c box) bool { return b.u0 < c.u1 && c.u0 < b.u1 && b.v0 < c.v1 && c.v0 < b.v1 }

func (b box) within(c box) bool { return b.u0 >= c.u0 && b.u1 <= c.u1 && b.v0 >= c.v0 && b.v1 <= c.v1 }

func (b box) grow(d float64) box { return box{b.u0 - d, b.v0 - d, b.u1 + d, b.v1 + d} }

func (b box) centre() inkPoint { return inkPoint{(b.u0 + b.u1) / 2, (b.v0 + b.v1) / 2} }

// nearest returns the place of b nearest to s.
func (b box) nearest(s inkPoint) inkPoint {
	return inkPoint{min(max(s.u, b.u0), b.u1), min(max(s.v, b.v0), b.v1)}
}

// A body is a piece of a part on the paper.
type body struct {
	box
	shape geom.Region // in metres; without an outline the box is covered
	m     Map
}

// share returns the part of c that b covers, of 9 by 3 places.
func (b body) share(c box) float64 {
	if !b.meets(c) {
		return 0
	}
	n := 0
	for j := range 3 {
		for i := range 9 {
			s := inkPoint{c.u0 + (c.u1-c.u0)*(float64(i)+0.5)/9, c.v0 + (c.v1-c.v0)*(float64(j)+0.5)/3}
			if inBox(b.box, s) && (len(b.shape.Outer) == 0 || b.shape.Contains(b.m.metres(s))) {
				n++
			}
		}
	}
	return float64(n) / 27
}

// metres returns the place of s.
func (m Map) metres(s inkPoint) geom.Point {
	return geom.Point{X: (s.u - m.X0) / m.PerM, Y: (m.Y0 - s.v) / m.PerM}
}

// A label is text that has to find its place.
type label struct {
	lines []string
	whole string
	at    inkPoint // what it belongs to
	body  box      // what that covers; a label stands beside it, or inside where inside is set
	// inside allows the middle of the body if the text fits.
	inside bool
	bold   bool
}

func (l label) size() (w, h float64) {
	for _, s := range l.lines {
		w = max(w, textWidth(s))
	}
	if l.bold {
		w = float64(w * boldness)
	}
	return w + 4, float64(lineHeight*float64(len(l.lines))) + 2
}

// A placer puts labels one after another where they meet nothing that may not be
// covered, near what they belong to. The search is a fixed list of places of
// growing distance, so equal data give equal drawings.
type placer struct {
	room    box           // no label leaves it
	taken   []box         // never covered
	shy     []body        // covered only if there is nothing better: pieces of parts
	frame   box           // its line is crossed only if there is nothing better
	leaders [][2]inkPoint // never covered by later labels
	thin    [][2]inkPoint // extension lines: covered only if there is nothing better
}

// the sixteen ways off a body, right and left first, as unit steps.
var ways = [...]inkPoint{
	{1, -0.5}, {-1, -0.5}, {1, 0.5}, {-1, 0.5}, {0, -1}, {0, 1}, {1, 0}, {-1, 0},
	{1, -1}, {-1, -1}, {1, 1}, {-1, 1}, {0.5, -1}, {-0.5, -1}, {0.5, 1}, {-0.5, 1},
}

// reach is how far labels go from what they belong to, in drawing units.
var reach = [...]float64{5, 16, 30, 48, 70, 96, 128, 168, 220, 290, 380, 500}

// place returns where l goes and its leader, if it needs one; ok is false where
// there is no room at all.
func (p *placer) place(l label) (b box, leader [2]inkPoint, led, ok bool) {
	w, h := l.size()
	best := math.Inf(1)
	try := func(c box, distance float64) {
		if cost, ends, lead, free := p.cost(l, c, distance); free && cost < best {
			best, b, leader, led, ok = cost, c, ends, lead, true
		}
	}
	if l.inside {
		for k, f := range [...]float64{0.5, 0.3, 0.7, 0.15, 0.85} {
			u, v := l.body.u0+float64(f*(l.body.u1-l.body.u0)), l.body.centre().v
			if l.body.v1-l.body.v0 > l.body.u1-l.body.u0 {
				u, v = l.body.centre().u, l.body.v0+float64(f*(l.body.v1-l.body.v0))
			}
			if c := (box{u - w/2, v - h/2, u + w/2, v + h/2}); c.within(l.body) {
				try(c, float64(k)-200)
			}
		}
	}
	for _, r := range reach {
		if best < r {
			break // nothing further off can cost less
		}
		for _, way := range ways {
			u, v := l.at.u, l.at.v
			if l.inside { // beside the body, not beside its middle
				u, v = l.body.centre().u, l.body.centre().v
			}
			u += float64(way.u * (r + w/2 + (l.body.u1-l.body.u0)/2))
			v += float64(way.v * (r + h/2 + (l.body.v1-l.body.v0)/2))
			c := box{u - w/2, v - h/2, u + w/2, v + h/2}
			near := c.nearest(l.at)
			if l.inside {
				near = c.nearest(l.body.nearest(c.centre()))
				q := l.body.nearest(near)
				try(c, portable.Hypot(near.u-q.u, near.v-q.v))
				continue
			}
			try(c, portable.Hypot(near.u-l.at.u, near.v-l.at.v))
		}
	}
	if ok {
		p.taken = append(p.taken, b)
		if led {
			p.leaders = append(p.leaders, leader)
		}
	}
	return b, leader, led, ok
}

// cost rates l at c, at a distance from what it belongs to; free is false where it may not stand there. Its leader is ends,
// where it needs one.
func (p *placer) cost(l label, c box, distance float64) (cost float64, ends [2]inkPoint, lead, free bool) {
	if !p.free(c) {
		return 0, ends, false, false
	}
	cost = distance
	for _, s := range p.shy {
		cost += float64(60*s.share(c)) + float64(20*s.share(c.grow(6))) // nor close to what it does not name
	}
	if c.meets(p.frame) && !c.within(p.frame) {
		cost += 30
	}
	for _, s := range p.thin {
		if crosses(c, s) {
			cost += 4
		}
	}
	ends = [2]inkPoint{l.at, c.nearest(l.at)}
	if l.inside { // from within the body, not from its middle
		from := l.body.nearest(c.centre())
		if in := l.body.grow(-5); in.u0 < in.u1 && in.v0 < in.v1 {
			from = in.nearest(c.centre())
		}
		ends = [2]inkPoint{from, c.nearest(from)}
	}
	if lead = distance > 12; lead {
		cost += p.leaderCost(ends)
	}
	return cost, ends, lead, true
}

// leaderCost rates a leader by what it crosses.
func (p *placer) leaderCost(ends [2]inkPoint) (cost float64) {
	for _, t := range p.taken {
		if !inBox(t, ends[0]) && crosses(t, ends) {
			cost += 400
		}
	}
	for _, s := range p.leaders {
		if cut(ends, s) {
			cost += 200
		}
	}
	return cost
}

func inBox(b box, s inkPoint) bool { return s.u >= b.u0 && s.u <= b.u1 && s.v >= b.v0 && s.v <= b.v1 }

// crosses reports whether the line s meets b (clipping after Liang and Barsky,
// ACM Transactions on Graphics 3 (1984) 1).
func crosses(b box, s [2]inkPoint) bool {
	t0, t1 := 0.0, 1.0
	du, dv := s[1].u-s[0].u, s[1].v-s[0].v
	for _, e := range [4][2]float64{{-du, s[0].u - b.u0}, {du, b.u1 - s[0].u}, {-dv, s[0].v - b.v0}, {dv, b.v1 - s[0].v}} {
		switch {
		case e[0] == 0:
			if e[1] <= 0 {
				return false
			}
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		default:
			t1 = min(t1, e[1]/e[0])
		}
	}
	return t0 < t1
}

// cut reports whether two lines cross.
func cut(s, t [2]inkPoint) bool {
	side := func(a, b, c inkPoint) float64 { return float64((b.u-a.u)*(c.v-a.v)) - float64((b.v-a.v)*(c.u-a.u)) }
	return side(s[0], s[1], t[0])*side(s[0], s[1], t[1]) < 0 && side(t[0], t[1], s[0])*side(t[0], t[1], s[1]) < 0
}
