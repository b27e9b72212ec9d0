package load

import (
	"fmt"

	"busgauss/model/finding"
	"busgauss/model/geom"
)

// mostCorners keeps the search for crossings, which looks at every two edges,
// within a tenth of a second.
const mostCorners = 2000

// outline reads the corners of a simple polygon and returns them
// counter-clockwise; nil when there is a problem.
func (s *spot) outline() geom.Polygon {
	corners, ok := s.items()
	if !ok {
		return nil
	}
	if len(corners) > mostCorners {
		s.problem(ruleOutline, "%s has %d corners: %d at most", s.label(), len(corners), mostCorners)
		return nil
	}
	p := make(geom.Polygon, len(corners))
	whole := true
	for i, c := range corners {
		c.called("corner %d of %s", i+1, s.label())
		at := c.place(2, 2)
		p[i] = at.Point()
		whole = whole && at.X.Set && at.Y.Set
	}
	if len(corners) < 3 {
		s.problem(ruleOutline, "%s has %s: it needs three or more", s.label(), count(len(corners), "corner"))
		return nil
	}
	if !whole || !s.simple(p, corners) {
		return nil
	}
	return p.Normal()
}

func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// simple reports what keeps p from being a simple polygon.
func (s *spot) simple(p geom.Polygon, corners []*spot) bool {
	n := len(p)
	for i := range p {
		j := (i + 1) % n
		if p[i] != p[j] {
			continue
		}
		if j == 0 {
			corners[i].problem(ruleOutline, "the last corner of %s repeats the first. Leave it out", s.label())
		} else {
			corners[j].problem(ruleOutline, "corner %d of %s repeats corner %d", j+1, s.label(), i+1)
		}
		return false
	}
	if flat(p) {
		s.problem(ruleOutline, "%s has no area. Its corners lie on one line", s.label())
		return false
	}
	if i, j, crosses := p.SelfCrossing(); crosses {
		f := corners[j].problem(ruleOutline, "edge %s of %s meets edge %s. An outline must not cross or touch itself",
			edgeWords(j, n), s.label(), edgeWords(i, n))
		f.Related = []finding.Related{{Span: corners[i].n.Span, Message: "start of edge " + edgeWords(i, n)}}
		return false
	}
	return true
}

// flat reports whether all corners of p lie on the line from its first corner
// to the one farthest from it, to within 1e-9 of the length of that line.
func flat(p geom.Polygon) bool {
	var far geom.Point
	for _, c := range p {
		if d := c.Sub(p[0]); d.Norm() > far.Norm() {
			far = d
		}
	}
	length := far.Norm()
	for _, c := range p {
		if d := far.Cross(c.Sub(p[0])); !(d <= 1e-9*length*length && d >= -1e-9*length*length) {
			return false
		}
	}
	return true
}

func edgeWords(i, n int) string {
	return fmt.Sprintf("%d (corner %d to %d)", i+1, i+1, (i+1)%n+1)
}
