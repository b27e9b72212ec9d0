package audit

import (
	"math"
	"slices"
	"strings"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/rules/report/figure"
)

// closeUpHeight is how high the drawing of a channel may be, in units of the drawing.
const closeUpHeight = 200

// The fewest and the most places at which the drawing of a channel takes the field.
const fewestSamples, mostSamples = 1000, 4000

// closeUp draws a sensor with its bar and the nearest of what stands around them, in the frame in
// which the channel is worst.
func (b *builder) closeUp(c *Channel, i layout.SensorIndex, p *Page) {
	c.Frame = b.worstFrame(c.Sensor, p)
	if c.Frame < 0 {
		return
	}
	s := &b.l.Sensors[i]
	box := b.l.Bars[s.Reads].Polygon().Box()
	for _, e := range s.Elements() {
		box = box.Extend(e.At.XY())
	}
	for k := range b.l.Shields { // the one that stands around it
		if r := b.l.Shields[k].Region().Outer.Box(); overlap(r, box) {
			box = box.Join(r)
		}
	}
	size := box.Size()
	scene := b.scene(box.Grow(0.22 * math.Max(size.X, size.Y)))
	scene.MaxHeight = closeUpHeight
	bar := b.l.Bars[s.Reads].Polygon().Box()
	scene.Dimensions = []figure.Dimension{
		{FromM: bar.Min, ToM: geom.Point{X: bar.Max.X, Y: bar.Min.Y}, Side: figure.Below},
		{FromM: bar.Min, ToM: geom.Point{X: bar.Min.X, Y: bar.Max.Y}, Side: figure.Left},
	}
	if at, near := s.At.Point(), b.nearest(s); near.Sub(at).Norm() > 0 {
		scene.Dimensions = append(scene.Dimensions, figure.Dimension{FromM: near, ToM: at, Side: figure.Between})
	}
	in := scene.ViewM
	scene.Bars = slices.DeleteFunc(scene.Bars, func(q figure.Part) bool { return !seenIn(q, in) })
	scene.Shields = slices.DeleteFunc(scene.Shields, func(q figure.Part) bool { return !seenIn(q, in) })
	part := &b.parts[c.Frame]
	f := &p.Section.Frames[c.Frame]
	m, _ := b.modelOf(part.duty)
	d := b.draw(m, part, f, scene, b.closeUpSamples())
	d.Sensors = slices.DeleteFunc(d.Sensors, func(e figure.Sensor) bool { return !inside(in, e.AtM) })
	d.Title = "Sensor " + c.Sensor + " at its bar, duty " + f.Duty + ", " + hertz(f.FreqHz)
	c.Drawing = d
}

// closeUpSamples is at how many places the drawing of a channel takes the field: all of them together cost about
// as much as one drawing of the section.
func (b *builder) closeUpSamples() float64 {
	return min(max(shadeSamples/float64(len(b.l.Sensors)), fewestSamples), mostSamples)
}

// overlap reports whether two boxes have a point in common.
func overlap(a, b geom.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y
}

func inside(b geom.Box, p geom.Point) bool { return overlap(b, geom.Box{Min: p, Max: p}) }

func seenIn(q figure.Part, view geom.Box) bool {
	box := geom.EmptyBox()
	for _, r := range q.Regions {
		box = box.Join(r.Box())
	}
	if q.RadiusM > 0 {
		box = box.Join(geom.Box{Min: q.CentreM, Max: q.CentreM}.Grow(q.RadiusM))
	}
	return overlap(box, view)
}

// worstFrame returns the frame of the duty that the worst verdict on a channel names, else the first
// with a field; -1 where no field is drawn.
func (b *builder) worstFrame(sensor string, p *Page) int {
	first := -1
	for i := range p.Section.Frames {
		if p.Section.Frames[i].Undecided == "" && !p.Section.Frames[i].Drawing.ViewM.Empty() {
			first = i
			break
		}
	}
	for i := range p.Verdicts { // the worst come first
		v := &p.Verdicts[i]
		if v.Channel != sensor || v.rank() > 1 {
			continue
		}
		for k := range p.Section.Frames {
			f := &p.Section.Frames[k]
			if f.Undecided == "" && inDuty(v.Cause, f.Duty) {
				return k
			}
		}
	}
	return first
}

// inDuty reports whether a cause names a duty: by itself, as the first of several, or in quotes.
func inDuty(cause, duty string) bool {
	return cause == duty || strings.HasPrefix(cause, duty+",") || strings.Contains(cause, `"`+duty+`"`)
}

// leadCurve returns the curve that shows most of what is worst on a channel, else the first; -1 where
// there is none.
func leadCurve(c *Channel, verdicts []Verdict) int {
	find := func(start string) int {
		return slices.IndexFunc(c.Curves, func(v Curve) bool {
			return strings.HasPrefix(v.Name, start) && len(v.Chart.Panels) > 0
		})
	}
	for i := range verdicts {
		v := &verdicts[i]
		if v.Channel != c.Sensor || v.rank() > 2 {
			continue
		}
		if k := find(curveOf[v.Rule]); curveOf[v.Rule] != "" && k >= 0 {
			return k
		}
	}
	return find("")
}

// curveOf names the curve that a rule is about by the start of its name.
var curveOf = map[string]string{
	"linear-range": outputCurveName, "output-chain": outputCurveName, "polarity": outputCurveName, "range-use": outputCurveName,
	"resolution": outputCurveName, "trip": outputCurveName, "placement": placeCurveName, "sensor-axis": placeCurveName,
	"stray-with-frequency": frequencyCurveName, "gain-with-frequency": frequencyCurveName, "stray-ratio": periodCurveName,
	"response": responseCurveName,
}

// The names of curves, or how they start.
const (
	outputCurveName    = "Output against current"
	periodCurveName    = "Current and reading over a period, duty "
	frequencyCurveName = "Field per ampere and stray against frequency"
	responseCurveName  = "Response of the channel behind the element"
	placeCurveName     = "Gain against height and lateral shift"
)
