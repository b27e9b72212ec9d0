package load

import (
	"errors"
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// mostPoints keeps checks of runs that look at every two pieces within a tenth of a
// second.
const mostPoints = 2000

// run reads the centre line of a bar with bends.
func run(s *spot) []layout.Place {
	points, ok := s.items()
	if !ok {
		return nil
	}
	if len(points) < 2 {
		s.problem(ruleForm, "%s has %s. A centre line needs two or more", s.label(), count(len(points), "point"))
		return nil
	}
	if len(points) > mostPoints {
		s.problem(ruleForm, "%s has %d points: %d at most", s.label(), len(points), mostPoints)
		return nil
	}
	out := make([]layout.Place, len(points))
	for i, p := range points {
		p.called("point %d of %s", i+1, s.label())
		out[i] = p.place(3, 3)
		if i > 0 && samePlace(out[i-1], out[i]) {
			p.problem(ruleRange, "%s is the one before it. That piece has no length", p.label())
		}
	}
	return out
}

func samePlace(a, b layout.Place) bool {
	return a.X.V == b.X.V && a.Y.V == b.Y.V && a.Z.V == b.Z.V
}

// checkRun holds the run of b to what its place and its section ask of it. Numbers
// that are broken are reported already, and nothing is asked of them.
func checkRun(s *spot, b *layout.Bar) {
	for i, p := range b.Run {
		if !(p.X.Set && p.Y.Set && p.Z.Set) || i > 0 && samePlace(b.Run[i-1], p) {
			return
		}
	}
	if len(b.Run) == 0 || !b.At.X.Set || !b.At.Y.Set {
		return
	}
	points, _ := s.items()
	for i, p := range points {
		p.called("point %d of %s", i+1, s.label())
	}
	if turnsBack(points, b) || passesElsewhere(s, points, b) || !known(&b.Section) {
		return
	}
	var bad *layout.RunError
	if _, err := b.Legs(); errors.As(err, &bad) {
		p := points[bad.Point]
		p.problem(ruleRange, "%s: the run %s. Make the piece longer, or the bend or the section smaller", p.label(), bad.Text)
	}
}

// turnsBack reports each point at which the run of b goes back the way it came.
func turnsBack(points []*spot, b *layout.Bar) bool {
	bad := false
	for i := 1; i+1 < len(b.Run); i++ {
		in := b.Run[i].Point3().Sub(b.Run[i-1].Point3())
		out := b.Run[i+1].Point3().Sub(b.Run[i].Point3())
		// The bisector of the bend has no length where the two cancel.
		if in.Scale(1/in.Norm()).Add(out.Scale(1/out.Norm())).Norm() <= 1e-9 {
			points[i].problem(ruleRange, "%s turns the run straight back. A bar cannot run back through itself, bend it aside first", points[i].label())
			bad = true
		}
	}
	return bad
}

// passesElsewhere reports a run that does not pass the place of b along z.
func passesElsewhere(s *spot, points []*spot, b *layout.Bar) bool {
	leg, near, off := b.SectionPass()
	at := geom.Point3{X: b.At.X.V, Y: b.At.Y.V}
	from, to := b.Run[leg-1].Point3(), b.Run[leg].Point3()
	d := to.Sub(from)
	lean := portable.Atan2(portable.Hypot(d.X, d.Y), math.Abs(d.Z))
	point := points[leg-1]
	var f *finding.Finding
	switch along := lean <= 1e-9; {
	case off > layout.OffPlaceM && along:
		f = point.problem(ruleRange, "%s passes beside its place %s. Along z it comes nearest at %s, %s away. Move at or the run",
			s.label(), inPlane(at), inPlane(near), si.Format(off, "m"))
	case off > layout.OffPlaceM:
		f = point.problem(ruleRange, "%s does not pass its place %s along z. It comes nearest at %s, %s away. Move at or the run",
			s.label(), inPlane(at), inSpace(near), si.Format(off, "m"))
	case !along:
		f = point.problem(ruleRange, "%s passes its place %s at %s to z, between points %d and %d. The section is drawn across z, so let that piece run along z",
			s.label(), inPlane(at), si.Format(lean, "rad"), leg, leg+1)
	default:
		return false
	}
	f.Related = []finding.Related{{Span: b.At.Span, Message: "place of the section"}}
	return true
}

// known reports whether a section was read without a problem.
func known(c *layout.Section) bool {
	switch c.Kind {
	case layout.Rectangle:
		return c.WidthM.Set && c.ThicknessM.Set
	case layout.Round:
		return c.DiameterM.Set
	}
	return len(c.Corners) > 0
}

func inPlane(p geom.Point3) string { return fmt.Sprintf("(%s, %s)", length(p.X), length(p.Y)) }

func inSpace(p geom.Point3) string {
	return fmt.Sprintf("(%s, %s, %s)", length(p.X), length(p.Y), length(p.Z))
}

// length returns a coordinate for a message.
func length(m float64) string {
	if m == 0 {
		return "0"
	}
	return si.FormatDigits(m, "m", 4)
}
