package rules

import (
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Geometry reports metal that overlaps or touches without being bonded, a run that
// meets itself, a sensor inside metal or beyond the end of its bar, and metal between
// a sensor and its bar.
//
//	Quantity  overlap of bars and shields in space, place of each element, the straight line from it to the nearest point
//	          of its bar's section, at the sensor's z
//	Formula   plane polygons from z to z; bends, mitres and cuts as convex pieces; a round bar and a ring stand as 128
//	          corners, a round cut as 64
//	Valid     all z where no length, run or depth is declared; undecided where a round piece or cut comes nearer to another
//	          piece than its corners lie off the circle, 3e-4 and 1.2e-3 of the radius, and where an outline of more than
//	          400 corners bends
//	Source    common practice: two solid pieces cannot share a place
//	Not seen  parts of the drawing that the file does not name
var Geometry = engine.Rule{
	ID:    "geometry",
	Title: "pieces overlap or touch, or a sensor does not see its bar",
	Level: finding.Error,
	Check: checkGeometry,
}

func checkGeometry(run *engine.Run) {
	list := pieces(run.Layout)
	bad := make([]bool, len(list))
	for i := range list {
		for j := range i {
			if !checkTwo(run, &list[i], &list[j]) {
				bad[i], bad[j] = true, true
			}
		}
		bad[i] = !checkSelf(run, &list[i]) || bad[i]
	}
	for i := range list {
		if !bad[i] {
			run.Pass(list[i].id, list[i].span, "%v overlaps nothing", &list[i])
		}
	}
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) { checkSight(run, s, list) })
}

// checkTwo reports two pieces that share a place, and two that touch without
// being bonded: they are then one conductor, or their insulation is not drawn.
func checkTwo(run *engine.Run, p, q *piece) bool {
	c, err := meet(p, q)
	if err != nil {
		run.Undecided(p.id, p.span, q.id, "whether %v meets %v is not known: %v", p, q, err)
		return false
	}
	a, b := p.String(), q.String()
	at := p.span
	if c.p != nil {
		a, b, at = a+c.p.name, b+c.q.name, c.p.span
	}
	if c.overlap {
		way := "move one of the two, or make it smaller"
		if c.p.name != "" || c.q.name != "" {
			way = "lead the run clear of it, or move one of the two"
		}
		run.Fail(p.id, at, []string{q.id}, way, "%s overlaps %s", a, b)
		return false
	}
	if slack := p.slackM + q.slackM; slack > 0 && c.gapM < slack {
		run.Undecided(p.id, at, q.id, "%s touches %s or nearly: circles are only followed to %s here", a, b, si.Format(slack, "m"))
		return false
	}
	if c.gapM == 0 && !run.Layout.AreBonded(p.id, q.id) {
		run.Fail(p.id, at, []string{q.id}, fmt.Sprintf("draw the insulation as a gap, or say bonded: [%s, %s] where the two are joined", p.id, q.id),
			"%s touches %s", a, b)
		return false
	}
	return true
}

// checkSelf reports a run that comes back to where the bar already is. Pieces that
// follow each other meet in their mitre and nowhere else.
func checkSelf(run *engine.Run, p *piece) bool {
	for j := range p.parts {
		for i := 0; i+1 < j; i++ {
			overlap, gap, err := p.parts[i].meet(&p.parts[j], p.slackM)
			word := "touches"
			switch {
			case err != nil: // said where it meets another piece, or nothing is known of it
				run.Undecided(p.id, p.span, "itself", "whether %v meets itself is not known: %v", p, err)
				return false
			case overlap:
				word = "runs into"
			case p.slackM > 0 && gap < p.slackM:
				run.Undecided(p.id, p.parts[j].span, "itself", "%v%s touches itself%s or nearly: circles are only followed to %s here",
					p, p.parts[j].name, p.parts[i].name, si.Format(p.slackM, "m"))
				return false
			case gap > 0:
				continue
			}
			run.Fail(p.id, p.parts[j].span, nil, "bend the run clear of itself", "%v%s %s itself%s", p, p.parts[j].name, word, p.parts[i].name)
			return false
		}
	}
	return true
}

func checkSight(run *engine.Run, s *layout.Sensor, list []piece) {
	own := &list[int(s.Reads)]
	for _, e := range s.Elements() {
		for i := range list {
			p := &list[i]
			if p.holds(e.At) {
				run.Fail(s.ID, s.At.Span, []string{p.id}, fmt.Sprintf("move %s out of %v", s.ID, p),
					"sensor %q stands inside %v", s.ID, p)
				return
			}
		}
		if !checkEnds(run, s, own, e.At.Z) {
			return
		}
		near := nearest(own.region.Outer, e.At.XY())
		for i := range list {
			p := &list[i]
			if p != own && p.between(e.At, near) {
				run.Fail(s.ID, s.At.Span, []string{p.id}, "put the sensor on the side of its bar",
					"%v stands between sensor %q and its %v", p, s.ID, own)
				return
			}
		}
	}
	run.Pass(s.ID, s.At.Span, "sensor %q stands free, %s from its %v", s.ID, si.Format(own.distanceM(s.At.Point3()), "m"), own)
}

// checkEnds reports a sensor beyond the straight piece of its bar that passes the
// section.
func checkEnds(run *engine.Run, s *layout.Sensor, own *piece, zM float64) bool {
	over, end, side := own.lowM-zM, own.lowM, "more"
	bend := own.bentLow
	if zM-own.highM > over {
		over, end, side, bend = zM-own.highM, own.highM, "less", own.bentHigh
	}
	if !(over > layout.OffPlaceM) {
		return true
	}
	what, way := "end", fmt.Sprintf("move %s to z = %.6g mm or %s", s.ID, 1e3*end, side)
	if bend {
		what = "bend"
	}
	if b := own.bar; b.LengthM.Set {
		way += fmt.Sprintf(", or make %s %.6g mm long", own.id, 2e3*math.Abs(zM))
	}
	run.Fail(s.ID, s.At.Span, []string{own.id}, way, "sensor %q stands %s beyond the %s of its %v at z = %s",
		s.ID, si.Format(over, "m"), what, own, si.Format(end, "m"))
	return false
}

// between reports whether the straight line from a to b runs through region r;
// both ends are left out, so that a piece which touches the bar does not count.
func between(r geom.Region, a, b geom.Point) bool {
	const short = 1e-6
	d := b.Sub(a)
	a, b = a.Add(d.Scale(short)), b.Sub(d.Scale(short))
	for _, edges := range append([]geom.Polygon{r.Outer}, r.Holes...) {
		for i := range edges {
			c, e := edges.Edge(i)
			if gap, _, _ := geom.SegmentGapM(a, b, c, e); gap == 0 {
				return true
			}
		}
	}
	return false
}

// nearest returns the point of the outline of p that is nearest to q.
func nearest(p geom.Polygon, q geom.Point) geom.Point {
	best, at := math.Inf(1), q
	for i := range p {
		a, b := p.Edge(i)
		c := geom.NearestOnSegment(q, a, b)
		if r := c.Sub(q).Norm(); r < best {
			best, at = r, c
		}
	}
	return at
}
