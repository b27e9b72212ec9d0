package audit

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/rules/report/figure"
)

// views returns plan and side view where a bar declares length, run or cuts, or a
// shield its depth.
func (b *builder) views() []View {
	lowM, highM := math.Inf(1), math.Inf(-1)
	reach := func(z float64) { lowM, highM = math.Min(lowM, z), math.Max(highM, z) }
	space := false
	for i := range b.l.Bars {
		legs, err := b.l.Bars[i].Legs()
		if err != nil {
			continue
		}
		for k := range legs {
			space = true
			reach(legs[k].From.Z)
			reach(legs[k].To.Z)
		}
	}
	for i := range b.l.Shields {
		if s := &b.l.Shields[i]; s.DepthM.Set {
			space = true
			z := s.At.Point3().Z
			reach(z - s.DepthM.V/2)
			reach(z + s.DepthM.V/2)
		}
	}
	if !space {
		return nil
	}
	for i := range b.l.Sensors {
		reach(b.l.Sensors[i].At.Point3().Z)
	}
	margin := float64(0.08 * math.Max(highM-lowM, 1e-3))
	lowM, highM = lowM-margin, highM+margin
	plan := b.view("Plan", "x", "z", lowM, highM, func(p geom.Point3) geom.Point { return geom.Point{X: p.X, Y: p.Z} })
	side := b.view("Side", "z", "y", lowM, highM, func(p geom.Point3) geom.Point { return geom.Point{X: p.Z, Y: p.Y} })
	if field, ok := b.planField(plan); ok {
		return []View{plan, side, field}
	}
	return []View{plan, side}
}

// view projects the arrangement. Bars and shields without an end run from lowM to
// highM.
func (b *builder) view(name, across, up string, lowM, highM float64, flat func(geom.Point3) geom.Point) View {
	v := View{Name: name}
	d := figure.Drawing{Across: across, Up: up}
	d.Title = name + " view"
	long := false
	box := geom.EmptyBox()
	for i := range b.l.Bars {
		bar := &b.l.Bars[i]
		part := figure.Part{Name: bar.ID}
		legs, err := bar.Legs()
		if err != nil || len(legs) == 0 {
			long = true
			part.Regions = append(part.Regions, hull(prismPoints(bar.Polygon(), lowM, highM), flat))
		}
		home := -1
		if len(legs) > 0 {
			home = bar.HomeLeg(legs)
		}
		for k := range legs {
			var all []geom.Point3
			for _, c := range bar.SectionCorners() {
				from, to := legs[k].Edge(c)
				all = append(all, from, to)
			}
			r := hull(all, flat)
			if k == home && up == "z" && len(bar.Cuts) > 0 {
				r = cutPlan(bar, &legs[k], r)
			}
			part.Regions = append(part.Regions, r)
		}
		d.Bars = append(d.Bars, part)
		for _, r := range part.Regions {
			box = box.Join(r.Box())
		}
	}
	for i := range b.l.Shields {
		s := &b.l.Shields[i]
		from, to := lowM, highM
		if s.DepthM.Set {
			z := s.At.Point3().Z
			from, to = z-s.DepthM.V/2, z+s.DepthM.V/2
		} else {
			long = true
		}
		r := hull(prismPoints(s.Region().Outer, from, to), flat)
		d.Shields = append(d.Shields, figure.Part{Name: s.ID, Regions: []geom.Region{r}})
		box = box.Join(r.Box())
	}
	for i := range b.l.Sensors {
		s := &b.l.Sensors[i]
		marks := []figure.Sensor{{Name: s.ID, AtM: flat(s.At.Point3()), Axis: flat(s.Axis.U)}}
		if len(s.Array) > 0 {
			marks = nil
			for k, e := range s.Elements() {
				marks = append(marks, figure.Sensor{Name: elementName(s, k), AtM: flat(e.At), Axis: flat(e.U)})
			}
		}
		for _, mark := range marks {
			if portable.Hypot(mark.Axis.X, mark.Axis.Y) < 1e-9 {
				mark.Axis = geom.Point{}
			}
			d.Sensors = append(d.Sensors, mark)
			box = box.Extend(mark.AtM)
		}
	}
	v.Text = "To scale. Flux lines are drawn in the section at z = 0."
	if long {
		v.Text += " Pieces without a declared end run to the edges of the view."
	}
	size := box.Size()
	d.ViewM = box.Grow(0.04 * math.Max(size.X, size.Y))
	if up == "z" && d.ViewM.Min.Y < 0 && d.ViewM.Max.Y > 0 {
		d.Cuts = append(d.Cuts, figure.Cut{FromM: geom.Point{X: d.ViewM.Min.X}, ToM: geom.Point{X: d.ViewM.Max.X}, Label: "section"})
	}
	d.Desc = name + " view to scale: " + count(len(d.Bars), "bar") + ", " + count(len(d.Shields), "shield") + ", " + count(len(d.Sensors), "sensor") + "."
	v.Drawing = d
	return v
}

func prismPoints(p geom.Polygon, lowM, highM float64) []geom.Point3 {
	var out []geom.Point3
	for _, c := range p {
		out = append(out, c.Space(lowM), c.Space(highM))
	}
	return out
}

// hull returns the convex outline of projected points, which is the outline of a
// prism seen from anywhere where its section is convex; a section that is not loses
// its hollows, as in a view of a solid from outside.
//
// Source: A. M. Andrew, Inform. Process. Lett. 9 (1979) 216 (monotone chain).
func hull(all []geom.Point3, flat func(geom.Point3) geom.Point) geom.Region {
	points := make([]geom.Point, len(all))
	for i, p := range all {
		points[i] = flat(p)
	}
	slices.SortFunc(points, func(a, b geom.Point) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	var out geom.Polygon
	half := func(next func(i int) geom.Point) {
		start := len(out)
		for i := range points {
			p := next(i)
			for len(out) >= start+2 && out[len(out)-1].Sub(out[len(out)-2]).Cross(p.Sub(out[len(out)-1])) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		out = out[:len(out)-1]
	}
	half(func(i int) geom.Point { return points[i] })
	half(func(i int) geom.Point { return points[len(points)-1-i] })
	return geom.Solid(out)
}

// cutPlan takes the cuts of a flat bar out of its plan, for a bar whose width lies
// along x; a bar that is turned keeps its full outline.
func cutPlan(b *layout.Bar, leg *layout.Leg, full geom.Region) geom.Region {
	if math.Abs(math.Abs(leg.U.X)-1) > 1e-9 {
		return full
	}
	sign, centre := math.Copysign(1, leg.U.X), b.Centre().X
	half := b.Section.WidthM.V / 2
	box := full.Box()
	place := func(x, z float64) geom.Point { return geom.Point{X: centre + float64(sign*x), Y: z} }
	type edge struct{ z, left, right float64 } // from z upward
	breaks := []float64{box.Min.Y, box.Max.Y}
	var holes []geom.Polygon
	for i := range b.Cuts {
		c := &b.Cuts[i]
		from, to := c.Reach()
		switch c.Kind {
		case layout.Neck, layout.Notch:
			breaks = append(breaks, from, to)
		case layout.Hole:
			at := place(c.AcrossM.V, c.AlongM.V)
			holes = append(holes, geom.Solid(geom.Circle(c.DiameterM.V/2, 48)).Place(at, 0).Outer)
		case layout.Slot:
			holes = append(holes, stadium(place(c.AcrossM.V, c.AlongM.V), c.WidthM.V, c.LengthM.V))
		}
	}
	slices.Sort(breaks)
	var edges []edge
	for i := 0; i+1 < len(breaks); i++ {
		if !(breaks[i+1] > breaks[i]) {
			continue
		}
		mid := (breaks[i] + breaks[i+1]) / 2
		left, right := -half, half
		for k := range b.Cuts {
			c := &b.Cuts[k]
			from, to := c.Reach()
			if mid < from || mid > to {
				continue
			}
			switch {
			case c.Kind == layout.Neck:
				left, right = math.Max(left, -c.WidthM.V/2), math.Min(right, c.WidthM.V/2)
			case c.Kind == layout.Notch && c.Side > 0:
				right = math.Min(right, half-c.DepthM.V)
			case c.Kind == layout.Notch:
				left = math.Max(left, -half+c.DepthM.V)
			}
		}
		edges = append(edges, edge{breaks[i], left, right})
	}
	var outer geom.Polygon
	top := box.Max.Y
	for i, e := range edges { // up the right edge
		end := top
		if i+1 < len(edges) {
			end = edges[i+1].z
		}
		outer = append(outer, place(e.right, e.z), place(e.right, end))
	}
	for i := len(edges) - 1; i >= 0; i-- { // down the left edge
		end := top
		if i+1 < len(edges) {
			end = edges[i+1].z
		}
		outer = append(outer, place(edges[i].left, end), place(edges[i].left, edges[i].z))
	}
	return geom.Region{Outer: outer, Holes: holes}
}

// stadium is a slot with round ends: width across, length along up.
func stadium(at geom.Point, widthM, lengthM float64) geom.Polygon {
	const n = 12
	r := widthM / 2
	straight := math.Max(0, lengthM/2-r)
	var out geom.Polygon
	for end := range 2 {
		for i := 0; i <= n; i++ {
			sin, cos := portable.Sincos(math.Pi * (float64(end) + float64(i)/n))
			y := straight
			if end == 1 {
				y = -straight
			}
			out = append(out, at.Add(geom.Point{X: r * cos, Y: y + float64(r*sin)}))
		}
	}
	return out
}
