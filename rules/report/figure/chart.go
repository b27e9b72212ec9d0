package figure

import (
	"math"

	"busgauss/model/portable"
)

// A ruler is an axis with its range: it maps values to drawing units.
type ruler struct {
	scale          scale
	log            bool
	lo, hi         float64 // SI
	at0, at1       float64 // drawing units of lo and hi
	ticks          []float64
	step           float64 // SI; 0 on a logarithmic axis
	title          string
	tickTextsWidth float64
}

// unit returns the place of v in drawing units.
func (r ruler) unit(v float64) float64 {
	if r.log {
		return r.at0 + (r.at1-r.at0)*portable.Log(v/r.lo)/portable.Log(r.hi/r.lo)
	}
	return r.at0 + (r.at1-r.at0)*(v-r.lo)/(r.hi-r.lo)
}

// has reports whether v can be drawn on r; the ends belong to it.
func (r ruler) has(v float64) bool {
	d := float64(1e-9 * (r.hi - r.lo))
	return drawable(v, r.log) && v >= r.lo-d && v <= r.hi+d
}

// text returns what stands at tick v.
func (r ruler) text(v float64) string {
	if r.log {
		return significant(v*r.scale.perSI, 3)
	}
	return tickText(v*r.scale.perSI, r.step*r.scale.perSI)
}

// rulerFor fits the axis a to the values. Ticks are round in the numbers shown,
// not in SI: an angle has ticks in degrees.
func rulerFor(a Axis, values []float64, most int) ruler {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if drawable(v, a.Log) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	fixed := a.Min < a.Max && drawable(a.Min, a.Log) && drawable(a.Max, a.Log)
	if fixed {
		lo, hi = a.Min, a.Max
	}
	if lo > hi { // no data
		lo, hi = 0, 1
		if a.Log {
			lo, hi = 1, 10
		}
	}
	r := ruler{log: a.Log, scale: scaleFor(a.Unit, max(math.Abs(lo), math.Abs(hi)))}
	if a.Log {
		// The prefix of the lower end would make large numbers, that of the upper
		// end small ones: take the unit as it is where the range holds 1.
		if lo <= 1 && hi >= 1 && r.scale.perSI != 100 && a.Unit != "rad" {
			r.scale = scaleFor(a.Unit, 1)
		}
	}
	k := r.scale.perSI
	lo, hi = lo*k, hi*k
	if !fixed {
		if a.Log {
			lo, hi = widenLog(lo, hi)
		} else {
			lo, hi = widen(lo, hi, most)
		}
	}
	step := 0.0
	if a.Log {
		r.ticks = logTicks(lo, hi, most+2)
	} else {
		r.ticks, step = linearTicks(lo, hi, most+1)
	}
	for n, t := range r.ticks {
		r.ticks[n] = t / k
	}
	r.lo, r.hi, r.step = lo/k, hi/k, step/k
	r.title = r.scale.titled(a.Title)
	for _, t := range r.ticks {
		r.tickTextsWidth = max(r.tickTextsWidth, textWidth(r.text(t)))
	}
	return r
}

// chartPlan is where the panels of a chart stand.
type chartPlan struct {
	x      ruler
	y      []ruler
	panels []box
	foot   float64
}

// endNames is the room for the names of series right of the panels.
const endNames = 170.0

func (c Chart) plan() chartPlan {
	height := c.Height
	if !(height > 0) {
		height = 260
		if len(c.Panels) > 1 {
			height = 180
		}
	}
	var xs []float64
	for _, p := range c.Panels {
		xs = append(xs, p.values(true)...)
	}
	plan := chartPlan{x: rulerFor(c.X, xs, 8)}
	left, right := 0.0, 24.0
	for _, p := range c.Panels {
		y := rulerFor(p.Y, p.values(false), 6)
		plan.y = append(plan.y, y)
		left = max(left, y.tickTextsWidth+float64(lineHeight*float64(len(wrap(y.title, height, 2))-1)))
		for _, s := range p.Series {
			right = max(right, min(endNames, textWidth(s.Name)+24))
		}
	}
	left += 36
	plan.x.at0, plan.x.at1 = left, WidthUnits-right
	v := 8.0
	for k, p := range c.Panels {
		v += float64(lineHeight * float64(p.levelsOfLabels()))
		b := box{left, v, WidthUnits - right, v + height}
		plan.panels = append(plan.panels, b)
		plan.y[k].at0, plan.y[k].at1 = b.v1, b.v0
		v = b.v1 + 14
	}
	plan.foot = v + 44
	return plan
}

// values are all numbers that belong to one axis of p.
func (p Panel) values(across bool) []float64 {
	var out []float64
	for _, s := range p.Series {
		if len(s.X) != len(s.Y) {
			panic("figure: lengths of a series differ")
		}
		if across {
			out = append(out, s.X...)
		} else {
			out = append(out, s.Y...)
		}
	}
	for _, m := range p.Marks {
		if m.Upright == across {
			out = append(out, m.At)
		}
	}
	for _, b := range p.Bands {
		if b.Upright == across {
			out = append(out, b.From, b.To)
		}
	}
	return out
}

// levelsOfLabels is how many lines above the panel the labels of upright marks
// and bands may need.
func (p Panel) levelsOfLabels() int {
	n := 0
	for _, m := range p.Marks {
		if m.Upright && m.Label != "" {
			n++
		}
	}
	for _, b := range p.Bands {
		if b.Upright && b.Label != "" {
			n++
		}
	}
	return min(n, 3)
}

// DrawChart returns the chart as one svg element. Its panels are rects with the
// ids ID-panel-0, ID-panel-1, ...
func DrawChart(ch Chart) string {
	c := newCanvas(ch.Frame)
	plan := ch.plan()
	c.add("<defs>\n")
	for k, b := range plan.panels {
		c.add(`<clipPath id="`, c.id, `-clip-`, k, `"><rect x="`, b.u0, `" y="`, b.v0-2, `" width="`, b.u1-b.u0, `" height="`, b.v1-b.v0+4, `"/></clipPath>`, "\n")
	}
	c.add("</defs>\n")
	for k, p := range ch.Panels {
		c.panel(k, p, plan.x, plan.y[k], plan.panels[k], k == len(ch.Panels)-1)
	}
	if len(ch.Panels) == 0 {
		c.text("fg-note", "start", 12, 20, "no data", "")
	}
	return c.svg(ch.Frame, plan.foot, "")
}

// panel draws grid, bands, marks, series and names of one panel.
func (c *canvas) panel(k int, p Panel, x, y ruler, b box, last bool) {
	for _, t := range x.ticks {
		u := x.unit(t)
		c.line("fg-grid", u, b.v0, u, b.v1)
		if last {
			c.line("fg-frame", u, b.v1, u, b.v1+4)
			c.text("fg-value", "middle", u, b.v1+18, x.text(t), "")
		}
	}
	for _, t := range y.ticks {
		v := y.unit(t)
		c.line("fg-grid", b.u0, v, b.u1, v)
		c.text("fg-value", "end", b.u0-6, v+4.5, y.text(t), "")
	}
	labels := placer{room: box{b.u0 + 2, b.v0 + 2, b.u1 - 2, b.v1 - 2}}
	heads := placer{room: box{b.u0, b.v0 - float64(lineHeight*float64(p.levelsOfLabels())), b.u1 + 20, b.v0}}
	c.strips(p, x, y, b)
	c.add(`<rect class="fg-frame" id="`, c.id, `-panel-`, k, `" x="`, b.u0, `" y="`, b.v0, `" width="`, b.u1-b.u0, `" height="`, b.v1-b.v0, `"/>`, "\n")
	c.add(`<g clip-path="url(#`, c.id, `-clip-`, k, `)">`, "\n")
	signs := make([][]inkPoint, len(p.Series))
	for n, s := range p.Series {
		signs[n] = c.series(n, s, x, y, &labels)
	}
	c.add("</g>\n")
	for n := range signs { // not clipped: a marker on the frame is whole
		c.signs(n, signs[n], b)
	}
	c.endNamesOf(p, x, y, b)
	c.markLabels(p, x, y, b, &labels, &heads)
	if last {
		c.text("fg-title", "middle", (b.u0+b.u1)/2, b.v1+38, shorten(x.title, b.u1-b.u0), x.title)
	}
	for n, line := range wrap(y.title, b.v1-b.v0, 2) {
		c.upright("fg-title", 14+float64(lineHeight*float64(n)), (b.v0+b.v1)/2, line)
	}
}
