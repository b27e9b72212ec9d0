package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Geometry reports metal that overlaps or touches without being bonded, a run that
// meets itself, a wire or a magnet whose middle lies inside metal, a sensor or its body inside metal or in the body of
// another, an element in a magnet or on a wire, a sensor beyond the end of its bar, and metal between a sensor and its bar.
//
//	Quantity  overlap of bars, shields and bodies of sensors in space, place of each element, the straight line from it to
//	          the nearest point of its bar's section, at the sensor's z
//	Formula   plane polygons from z to z; bends, mitres and cuts as convex pieces; a body as a box round each element, its
//	          height away from the bar, its width across and along z; a straight round bar is a circle, one that bends and
//	          a ring stand as 128 corners, a round cut as 64
//	Valid     all z where no length, run or depth is declared; undecided where a ring, or a round piece or cut that is not
//	          straight, comes nearer to another piece than its corners lie off the circle, 3e-4 and 1.2e-3 of the radius,
//	          and where an outline of more than 400 corners bends
//	Source    common practice: two solid pieces cannot share a place
//	Not seen  wires and magnets in bars that bend, parts of the drawing that the file does not name, the body of a part that does not declare all of width,
//	          height and element-height, tolerances of places (rule clearance takes them)
var Geometry = engine.Rule{
	ID:         "geometry",
	FaultsOnly: true,
	Title:      "pieces overlap or touch, or a sensor does not see its bar",
	Level:      finding.Error,
	Check:      checkGeometry,
}

func checkGeometry(run *engine.Run) {
	list := run.Layout.Pieces()
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
			run.Pass(list[i].ID, list[i].Span, "this %s overlaps nothing", list[i].Word)
		}
	}
	checkSources(run)
	var bodies []layout.Piece // of the sensors before
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		own := run.Layout.Bodies(s, false)
		if checkBodies(run, own, list, bodies) && checkFeet(run, s, list) {
			checkSight(run, s, list)
		}
		bodies = append(bodies, own...)
	})
}

// checkTwo reports two pieces that share a place, and two that touch without
// being bonded: they are then one conductor, or their insulation is not drawn.
func checkTwo(run *engine.Run, p, q *layout.Piece) bool {
	c, err := p.Meet(q, 0)
	if err != nil {
		run.Undecided(p.ID, p.Span, q.ID, "whether this %s meets %v is not known. %s", p.Word, q, reason(err))
		return false
	}
	a, b := "this "+p.Word+c.PartP, q.String()+c.PartQ
	if c.Overlap {
		way := "move one of the two, or make it smaller"
		if c.PartP != "" || c.PartQ != "" {
			way = "lead the run clear of it, or move one of the two"
		}
		run.Fail(p.ID, c.Span, []string{q.ID}, way, "%s overlaps %s", a, b)
		return false
	}
	if c.SlackM > 0 && c.GapM < c.SlackM {
		run.Undecided(p.ID, c.Span, q.ID, "%s touches %s or nearly. Circles are only followed to %s here", a, b,
			si.Format(c.SlackM, "m"))
		return false
	}
	if c.GapM == 0 && !run.Layout.AreBonded(p.ID, q.ID) {
		run.Fail(p.ID, c.Span, []string{q.ID},
			fmt.Sprintf("draw the insulation as a gap, or say bonded: [%s, %s] where the two are joined", p.ID, q.ID),
			"%s touches %s", a, b)
		return false
	}
	return true
}

// checkSelf reports a run that comes back to where the bar already is.
func checkSelf(run *engine.Run, p *layout.Piece) bool {
	c, err := p.MeetSelf()
	word := "touches"
	switch {
	case err != nil:
		run.Undecided(p.ID, p.Span, "itself", "whether this %s meets itself is not known. %s", p.Word, reason(err))
		return false
	case c.Overlap:
		word = "runs into"
	case c.SlackM > 0 && c.GapM < c.SlackM:
		run.Undecided(p.ID, c.Span, "itself", "this %s%s touches itself%s or nearly. Circles are only followed to %s here",
			p.Word, c.PartP, c.PartQ, si.Format(c.SlackM, "m"))
		return false
	case c.GapM > 0:
		return true
	}
	run.Fail(p.ID, c.Span, nil, "bend the run clear of itself", "this %s%s %s itself%s", p.Word, c.PartP, word, c.PartQ)
	return false
}

// checkBodies reports a body that shares a place with metal or with the body of
// another sensor. Bodies may touch what they are mounted on.
func checkBodies(run *engine.Run, own, metal, others []layout.Piece) bool {
	for i := range own {
		body := &own[i]
		for _, list := range [][]layout.Piece{metal, others} {
			for k := range list {
				q := &list[k]
				c, err := body.Meet(q, 0)
				if err != nil {
					run.Undecided(body.ID, body.Span, q.ID, "whether its body meets %v is not known. %s", q, reason(err))
					return false
				}
				if c.Overlap {
					run.Fail(body.ID, body.Span, []string{q.ID},
						fmt.Sprintf("move %s out of it, or take a part with a smaller body", body.ID),
						"its body overlaps %v%s", q, c.PartQ)
					return false
				}
				if c.SlackM > 0 && c.GapM < c.SlackM && c.GapM > 0 {
					run.Undecided(body.ID, body.Span, q.ID,
						"its body touches %v%s or nearly. Circles are only followed to %s here",
						q, c.PartQ, si.Format(c.SlackM, "m"))
					return false
				}
			}
		}
	}
	return true
}

// checkFeet reports a body of which only a part is known: in metal, or how much of it may
// be.
func checkFeet(run *engine.Run, s *layout.Sensor, metal []layout.Piece) bool {
	lacks := run.Layout.BodyLacks(s)
	if len(lacks) == 0 {
		return true
	}
	for _, foot := range run.Layout.Feet(s) {
		for i := range metal {
			if d, err := metal[i].DistanceM(foot); err == nil && d == 0 && metal[i].Deep(foot) {
				run.Fail(s.ID, s.At.Span, []string{metal[i].ID}, fmt.Sprintf("move %s away from it", s.ID),
					"its body reaches into %v", &metal[i])
				return false
			}
		}
	}
	run.Undecided(s.ID, s.At.Span, "body",
		"whether its body stands free is not known. The body of part %q lacks %s",
		run.Layout.PartOf(s).ID, strings.Join(lacks, " and "))
	return false
}

func checkSight(run *engine.Run, s *layout.Sensor, list []layout.Piece) {
	own := &list[int(s.Reads)]
	for _, e := range s.Elements() {
		for i := range list {
			p := &list[i]
			if p.Holds(e.At) {
				run.Fail(s.ID, s.At.Span, []string{p.ID}, fmt.Sprintf("move %s out of %v", s.ID, p),
					"stands inside %v", p)
				return
			}
		}
		if !checkForeign(run, s, e.At) || !checkEnds(run, s, own, e.At.Z) {
			return
		}
		near := nearest(own.Section.Outer, e.At.XY())
		for i := range list {
			p := &list[i]
			if p != own && p.Between(e.At, near) {
				run.Fail(s.ID, s.At.Span, []string{p.ID}, "put the sensor on the side of its bar",
					"%v stands between it and its %v", p, own)
				return
			}
		}
	}
	run.Pass(s.ID, s.At.Span, "stands free, %s from its %v", si.Format(distanceM(own, s), "m"), own)
}

// onWireM is how near an element cannot stand to the middle of a wire: common practice, half the diameter of a thin
// insulated one.
const onWireM = 0.2e-3

// checkForeign reports an element in a magnet or on a wire.
func checkForeign(run *engine.Run, s *layout.Sensor, at geom.Point3) bool {
	around := &run.Layout.Surroundings
	for i := range around.Magnets {
		if g := &around.Magnets[i]; g.Holds(at) {
			run.Fail(s.ID, s.At.Span, nil, fmt.Sprintf("move %s out of magnet %q", s.ID, g.ID),
				"stands inside magnet %q", g.ID)
			return false
		}
	}
	for i := range around.Wires {
		w := &around.Wires[i]
		if w.At.Point().Sub(at.XY()).Norm() < onWireM {
			run.Fail(s.ID, s.At.Span, nil, fmt.Sprintf("move %s away from wire %q", s.ID, w.ID),
				"stands on wire %q", w.ID)
			return false
		}
	}
	return true
}

// distanceM returns the distance from the nearest element of s to the metal of its bar; to the
// section where the bar is not followed in space.
func distanceM(own *layout.Piece, s *layout.Sensor) float64 {
	least := math.Inf(1)
	for _, e := range s.Elements() {
		d, err := own.DistanceM(e.At)
		if err != nil {
			d = own.Bar.DistanceM(e.At.XY())
		}
		least = math.Min(least, d)
	}
	return least
}

// checkEnds reports a sensor beyond the straight piece of its bar that passes the
// section.
func checkEnds(run *engine.Run, s *layout.Sensor, own *layout.Piece, zM float64) bool {
	over, end, side := own.LowM-zM, own.LowM, "more"
	bend := own.BentLow
	if zM-own.HighM > over {
		over, end, side, bend = zM-own.HighM, own.HighM, "less", own.BentHigh
	}
	if !(over > layout.OffPlaceM) {
		return true
	}
	what, way := "end", fmt.Sprintf("move %s to z = %.6g mm or %s", s.ID, 1e3*end, side)
	if bend {
		what = "bend"
	}
	if b := own.Bar; b.LengthM.Set {
		way += fmt.Sprintf(", or make %s %.6g mm long", own.ID, 2e3*math.Abs(zM))
	}
	run.Fail(s.ID, s.At.Span, []string{own.ID}, way, "stands %s beyond the %s of its %v at z = %s",
		si.Format(over, "m"), what, own, si.Format(end, "m"))
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
