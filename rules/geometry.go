package rules

import (
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
	"busgauss/rules/engine"
)

// Geometry reports metal that overlaps or touches without being bonded, a sensor
// inside metal, and metal between a sensor and its bar.
//
//	Quantity  overlap of sections, place of each element, the straight line from it to the nearest point of its bar
//	Formula   plane polygons; a round bar and a ring stand as 128 corners
//	Valid     the plane section of the layout; undecided where a round piece comes nearer to another than its corners lie
//	          off the circle, 3e-4 of the radius
//	Source    common practice: two solid pieces cannot share a place
//	Not seen  parts of the drawing that the file does not name
var Geometry = engine.Rule{
	ID:    "geometry",
	Title: "pieces overlap or touch, or a sensor does not see its bar",
	Level: finding.Error,
	Check: checkGeometry,
}

// piece is a bar or a shield as a region of the plane.
type piece struct {
	word, id string
	span     span.Span
	region   geom.Region
	bar      layout.BarIndex
	slackM   float64 // how far corners that stand for a circle may lie off it
}

func (p *piece) String() string { return fmt.Sprintf("%s %q", p.word, p.id) }

func pieces(l *layout.Layout) []piece {
	var out []piece
	for i := range l.Bars {
		b := &l.Bars[i] // the diameter is 0 for any other section
		out = append(out, piece{"bar", b.ID, b.At.Span, geom.Region{Outer: b.Polygon()}, layout.BarIndex(i), offCircleM(b.Section.DiameterM.V / 2)})
	}
	for i := range l.Shields {
		s := &l.Shields[i]
		slack := 0.0
		if s.Form.Kind == layout.Ring {
			slack = offCircleM(s.Form.InnerM.V/2 + s.Form.WallM.V)
		}
		out = append(out, piece{"shield", s.ID, s.At.Span, s.Region(), layout.None, slack})
	}
	return out
}

// offCircleM returns how far inside a circle of radius rM the middle of a side of
// its inscribed polygon of 128 corners lies: r·(1 - cos(π/128)), 3.0e-4 of r.
func offCircleM(rM float64) float64 { return rM * (1 - math.Cos(math.Pi/128)) }

func checkGeometry(run *engine.Run) {
	list := pieces(run.Layout)
	bad := make([]bool, len(list))
	for i := range list {
		for j := range i {
			if !checkTwo(run, &list[i], &list[j]) {
				bad[i], bad[j] = true, true
			}
		}
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
	if geom.OverlapRegions(p.region, q.region) {
		run.Fail(p.id, p.span, []string{q.id}, "move one of the two, or make it smaller", "%v overlaps %v", p, q)
		return false
	}
	gap, _, _ := geom.GapRegionsM(p.region, q.region)
	if slack := p.slackM + q.slackM; slack > 0 && gap < slack {
		run.Undecided(p.id, p.span, q.id, "%v touches %v or nearly: circles are only followed to %s here", p, q, si.Format(slack, "m"))
		return false
	}
	if gap == 0 && !run.Layout.AreBonded(p.id, q.id) {
		run.Fail(p.id, p.span, []string{q.id}, fmt.Sprintf("draw the insulation as a gap, or say bonded: [%s, %s] where the two are joined", p.id, q.id),
			"%v touches %v", p, q)
		return false
	}
	return true
}

func checkSight(run *engine.Run, s *layout.Sensor, list []piece) {
	own := &list[int(s.Reads)]
	for _, e := range s.Elements() {
		for i := range list {
			p := &list[i]
			if p.region.Contains(e.At.XY()) {
				run.Fail(s.ID, s.At.Span, []string{p.id}, fmt.Sprintf("move %s out of %v", s.ID, p),
					"sensor %q stands inside %v", s.ID, p)
				return
			}
		}
		near := nearest(own.region.Outer, e.At.XY())
		for i := range list {
			p := &list[i]
			if p != own && between(p.region, e.At.XY(), near) {
				run.Fail(s.ID, s.At.Span, []string{p.id}, "put the sensor on the side of its bar",
					"%v stands between sensor %q and its %v", p, s.ID, own)
				return
			}
		}
	}
	run.Pass(s.ID, s.At.Span, "sensor %q stands free, %s from its %v", s.ID,
		si.Format(run.Layout.Bars[s.Reads].DistanceM(s.At.Point()), "m"), own)
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
