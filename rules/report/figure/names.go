package figure

import (
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// nameUnits is the widest a name in a drawing may be.
const nameUnits = 190.0

// namer writes the names of one drawing.
type namer struct {
	c *canvas
	d Drawing
	s sheet
	p placer

	noRoom, noPlace, notHere []string
}

// labels draws dimensions between points and the names of sensors, bars,
// shields and cuts where they have room. What found none, or has no place that is
// a number, is listed below the view. It returns where that ends.
func (c *canvas) labels(d Drawing, s sheet) float64 {
	n := namer{c: c, d: d, s: s,
		p: placer{room: box{4, s.view.v0 + 2, WidthUnits - 4, s.view.v1 - 2}, frame: s.view}}
	n.keepClear()
	between := n.dimensions()
	n.sensors()
	for _, l := range between {
		l.whole = l.lines[0]
		n.put(l, "fg-value")
	}
	n.parts(d.Bars)
	n.parts(d.Shields)
	n.cuts()
	foot := s.foot + 4
	foot = c.list("No room for the names of:", n.noRoom, foot)
	foot = c.list("Place not known:", n.noPlace, foot)
	return c.list("Not in this view:", n.notHere, foot)
}

// keepClear tells the placer what stands in the drawing already.
func (n *namer) keepClear() {
	p, s := &n.p, n.s
	for _, side := range [2]struct {
		list []gauge
		b    box
	}{{s.left, box{0, 0, s.view.u0, s.foot}}, {s.right, box{s.view.u1, 0, WidthUnits, s.foot}}} {
		if len(side.list) > 0 {
			p.taken = append(p.taken, side.b)
		}
	}
	for _, e := range n.d.Sensors {
		if e.inside(s) {
			p.taken = append(p.taken, e.reachOf(s.m))
		}
	}
	for _, list := range [2][]Part{n.d.Bars, n.d.Shields} {
		for _, q := range list {
			for _, r := range q.Regions {
				if b := (Part{Regions: []geom.Region{r}}).box(); !b.Empty() {
					p.shy = append(p.shy, body{s.m.units(b), r, s.m})
				}
			}
			if b := (Part{CentreM: q.CentreM, RadiusM: q.RadiusM}).box(); !b.Empty() {
				p.shy = append(p.shy, body{box: s.m.units(b)})
			}
		}
	}
	for _, k := range n.d.Cuts {
		u0, v0 := s.m.Unit(k.FromM)
		u1, v1 := s.m.Unit(k.ToM)
		p.leaders = append(p.leaders, [2]inkPoint{{u0, v0}, {u1, v1}})
	}
	for _, side := range [4][]gauge{s.above, s.below, s.left, s.right} {
		for _, g := range side {
			for _, q := range [2]geom.Point{g.FromM, g.ToM} {
				p.thin = append(p.thin, g.extension(q, s))
			}
		}
	}
}

// put writes a label where it has room.
func (n *namer) put(l label, class string) {
	if len(l.lines) == 0 {
		return
	}
	for k, t := range l.lines {
		l.lines[k] = shorten(t, nameUnits)
	}
	b, leader, led, ok := n.p.place(l)
	if !ok {
		n.noRoom = append(n.noRoom, l.whole)
		return
	}
	if led {
		n.c.line("fg-leader", leader[0].u, leader[0].v, leader[1].u, leader[1].v)
	}
	for k, t := range l.lines {
		if k > 0 {
			class = "fg-note"
		}
		n.c.text(class, "middle", b.centre().u, b.v0+13+float64(lineHeight*float64(k)), t, l.whole)
	}
}

// dimensions draws the arrows of dimensions between points and returns their numbers.
func (n *namer) dimensions() []label {
	var out []label
	for _, g := range n.d.Dimensions {
		if g.sideOf() != Between || !g.inside(n.s.m, n.s.view) {
			continue
		}
		u0, v0 := n.s.m.Unit(g.FromM)
		u1, v1 := n.s.m.Unit(g.ToM)
		if long := portable.Hypot(u1-u0, v1-v0); long < arrowUnits && long > 0 {
			a, b := (u1-u0)/long*16, (v1-v0)/long*16
			n.c.arrow(u0-a, v0-b, u0, v0, "end")
			n.c.arrow(u0, v0, u1, v1, "")
			n.c.arrow(u1+a, v1+b, u1, v1, "end")
		} else {
			n.c.arrow(u0, v0, u1, v1, "both")
		}
		n.p.leaders = append(n.p.leaders, [2]inkPoint{{u0, v0}, {u1, v1}})
		mid := inkPoint{(u0 + u1) / 2, (v0 + v1) / 2}
		out = append(out, label{lines: []string{g.textOf()}, at: mid, body: box{mid.u, mid.v, mid.u, mid.v}})
	}
	return out
}

func (n *namer) sensors() {
	var list []label
	for _, e := range n.d.Sensors {
		whole := e.Name
		if e.Note != "" {
			whole += ": " + e.Note
		}
		switch {
		case !placed(e.AtM):
			n.noPlace = append(n.noPlace, whole)
			continue
		case !e.inside(n.s):
			n.notHere = append(n.notHere, whole)
			continue
		}
		u, v := n.s.m.Unit(e.AtM)
		l := label{whole: whole, at: inkPoint{u, v}, body: e.reachOf(n.s.m), bold: true}
		if e.Name != "" {
			l.lines = append(l.lines, e.Name)
		}
		if e.Note != "" {
			l.lines = append(l.lines, e.Note)
		}
		list = join(list, l)
	}
	for _, l := range list {
		n.put(l, "fg-bold")
	}
}

func (n *namer) parts(of []Part) {
	var list []label
	for _, q := range of {
		if q.NoLabel || q.Name == "" {
			continue
		}
		b, ok := q.shown(n.s)
		if !ok {
			n.notHere = append(n.notHere, q.Name)
			continue
		}
		list = join(list, label{lines: []string{q.Name}, whole: q.Name, at: b.centre(), body: b, inside: true})
	}
	for _, l := range list {
		n.put(l, "fg-part")
	}
}

func (n *namer) cuts() {
	for _, k := range n.d.Cuts {
		if k.Label == "" || !placed(k.FromM, k.ToM) {
			continue
		}
		u, v := n.s.m.Unit(k.ToM)
		at := n.p.room.nearest(inkPoint{u, v})
		n.put(label{lines: []string{k.Label}, whole: k.Label, at: at, body: box{at.u, at.v, at.u, at.v}}, "fg-note")
	}
}

// join adds l to the labels, to one of a thing that looks the same from here if there is
// one: of things behind each other, one label names all.
func join(list []label, l label) []label {
	for k := range list {
		o := &list[k]
		if len(l.lines) == 1 && len(o.lines) == 1 && o.at == l.at && o.body == l.body {
			o.lines[0] += ", " + l.lines[0]
			o.whole += ", " + l.whole
			return list
		}
	}
	return append(list, l)
}

// list writes names below the view, as many a line as fit.
func (c *canvas) list(head string, names []string, foot float64) float64 {
	line := head
	for k, name := range names {
		item := " " + shorten(name, 300)
		if k < len(names)-1 {
			item += ","
		}
		if textWidth(line+item) > WidthUnits-16 {
			foot += lineHeight
			c.text("fg-note", "start", 8, foot, line, "")
			line = ""
		}
		line += item
	}
	if len(names) > 0 {
		foot += lineHeight
		c.text("fg-note", "start", 8, foot, line, "")
	}
	return foot
}

// boxes are what the pieces of p cover.
func (p Part) boxes() []geom.Box {
	var out []geom.Box
	for _, r := range p.Regions {
		if b := (Part{Regions: []geom.Region{r}}).box(); !b.Empty() {
			out = append(out, b)
		}
	}
	if b := (Part{CentreM: p.CentreM, RadiusM: p.RadiusM}).box(); !b.Empty() {
		out = append(out, b)
	}
	return out
}

// shown returns the largest piece of p in the view, cut at its edges; of one that
// stands around its middle, as a channel does, the largest wall.
func (p Part) shown(s sheet) (box, bool) {
	for _, r := range p.Regions {
		b := (Part{Regions: []geom.Region{r}}).box()
		if b.Empty() || len(r.Outer) < 4 || len(r.Holes) > 0 || !placed(r.Outer...) || r.Contains(b.Centre()) {
			continue
		}
		var walls Part
		for _, w := range r.ConvexParts() {
			walls.Regions = append(walls.Regions, geom.Solid(w))
		}
		if len(walls.Regions) > 1 {
			p.Regions = walls.Regions
			break
		}
	}
	var best box
	area := -1.0
	for _, g := range p.boxes() {
		b := s.m.units(g)
		b = box{max(b.u0, s.view.u0), max(b.v0, s.view.v0), min(b.u1, s.view.u1), min(b.v1, s.view.v1)}
		if a := (b.u1 - b.u0) * (b.v1 - b.v0); b.u1 >= b.u0 && b.v1 >= b.v0 && a > area {
			best, area = b, a
		}
	}
	return best, area >= 0
}
