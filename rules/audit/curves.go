package audit

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/channel"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/rules/report/figure"
)

// curves returns the charts of a channel.
func (b *builder) curves(x *seen, index int) []Curve {
	if x.err != nil {
		return nil
	}
	var out []Curve
	add := func(c *Curve) {
		if c != nil {
			out = append(out, *c)
		}
	}
	add(b.readingsCurve(x))
	add(b.outputCurve(x))
	out = append(out, b.periods(x)...)
	add(b.frequencyCurve(x))
	add(b.responseCurve(x))
	add(b.placeCurve(x))
	return out
}

// spanA is the current up to which the output is drawn, to each side.
func (b *builder) spanA(x *seen) float64 {
	top := x.fullA
	for i := range b.l.Duties {
		top = math.Max(top, b.Model.OwnPeakA(x.s, &b.l.Duties[i]))
	}
	if n, ok := b.l.NeedFor(x.s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		top = math.Max(top, n.V)
	}
	if n, ok := b.l.NeedFor(x.s.ID, func(n *layout.Need) layout.Num { return n.TripA }); ok {
		top = math.Max(top, n.V)
	}
	if end := b.rangeA(x.s); end > 0 && end < 3*top {
		top = math.Max(top, end)
	}
	return 1.15 * top
}

// outputCurve is field at the element and output against current, with the ends of
// every stage, what the channel is asked to carry, and the trip.
func (b *builder) outputCurve(x *seen) *Curve {
	span := b.spanA(x)
	if x.chain == nil || !(span > 0) {
		return nil
	}
	stages := x.chain.Chain.Stages()
	out := &Curve{Name: outputCurveName, Head: []string{"stage", "at no current", "per ampere", "low end", "high end", "clips at", "and at"}}
	chart := figure.Chart{X: figure.Axis{Title: "current in " + readWords(b.l, x.s), Unit: "A", Min: -span, Max: span}}
	chart.Title = "Output of " + x.s.ID + " against current"
	for i := range stages {
		g := &stages[i]
		out.Rows = append(out.Rows, []string{g.Name, show(g.Zero, g.Unit), show(g.PerA, g.Unit) + "/A", end(g.Low, g.Unit), end(g.High, g.Unit), end(g.PositiveA, "A"), end(g.NegativeA, "A")})
		if g.Name != channel.ElementStage && g.Unit != "V" || !figurable(g) {
			continue
		}
		panel := figure.Panel{Y: figure.Axis{Title: g.Name, Unit: g.Unit}, Series: []figure.Series{stageLine(g, span)}}
		mark := func(v float64, label string) {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				panel.Marks = append(panel.Marks, figure.Mark{At: v, Label: label})
			}
		}
		word := "clips"
		if g.Name == channel.ElementStage {
			word = "linear range"
		}
		mark(g.High, word)
		mark(g.Low, word)
		b.currentMarks(x, &panel)
		chart.Panels = append(chart.Panels, panel)
	}
	if len(chart.Panels) == 0 {
		return nil
	}
	out.Text = "Straight lines up to the ends of each stage, nominal data. " + b.clipWords(stages) +
		" Stages in counts are in the table."
	chart.Desc = out.Text
	out.Chart = chart
	return out
}

func figurable(g *channel.Stage) bool { return !math.IsNaN(g.Zero) && !math.IsNaN(g.PerA) }

// end prints an end of a range that may be open or not known.
func end(v float64, unit string) string {
	if math.IsInf(v, 0) {
		return "no end"
	}
	return show(v, unit)
}

// stageLine is the line of a stage, held at its ends. A stage before it may clip
// first; each panel shows its own stage.
func stageLine(g *channel.Stage, span float64) figure.Series {
	line := figure.Series{Name: g.Name}
	at := []float64{-span, span}
	for _, a := range []float64{g.NegativeA, g.PositiveA} {
		if !math.IsNaN(a) && math.Abs(a) < span {
			at = append(at, a)
		}
	}
	slices.Sort(at)
	for _, a := range at {
		v := g.At(a)
		if !math.IsNaN(g.Low) {
			v = math.Max(v, g.Low)
		}
		if !math.IsNaN(g.High) {
			v = math.Min(v, g.High)
		}
		line.X, line.Y = append(line.X, a), append(line.Y, v)
	}
	return line
}

func (b *builder) currentMarks(x *seen, p *figure.Panel) {
	if x.fullA > 0 {
		p.Bands = append(p.Bands, figure.Band{Upright: true, From: -x.fullA, To: x.fullA, Label: "full scale"})
	}
	if t, _ := channel.TripFromLayout(b.l, x.s); t != nil && !math.IsNaN(t.CurrentA) {
		p.Marks = append(p.Marks, figure.Mark{Upright: true, At: t.CurrentA, Label: "trip"}, figure.Mark{Upright: true, At: -t.CurrentA, Label: "trip"})
	}
	for _, positive := range []bool{true, false} {
		if c := channel.FirstClip(x.chain.Chain.Stages(), positive); !math.IsNaN(c.CurrentA) {
			p.Marks = append(p.Marks, figure.Mark{Upright: true, At: c.CurrentA, Label: c.Stage + " ends"})
		}
	}
}

func (b *builder) clipWords(stages []channel.Stage) string {
	words := func(positive bool) string {
		c := channel.FirstClip(stages, positive)
		if math.IsNaN(c.CurrentA) {
			return "none that is known"
		}
		return fmt.Sprintf("%s at %s (%s with tolerances at their worst)", c.Stage, si.Format(c.CurrentA, "A"), show(c.LeastA, "A"))
	}
	return fmt.Sprintf("First to end for positive current: %s; for negative: %s.", words(true), words(false))
}

// responseCurve is amplitude and lag of the channel behind the element.
func (b *builder) responseCurve(x *seen) *Curve {
	if x.chain == nil {
		return nil
	}
	t := x.chain.Chain.Timing
	const perDecade = 8
	line, lag := figure.Series{Name: "part to number"}, figure.Series{Name: "part to number"}
	top := t.BandwidthHz()
	if math.IsNaN(top) || math.IsInf(top, 0) || !(top > 0) {
		return nil
	}
	decade := math.Floor(portable.Log10(top))
	for k := 0; k <= 4*perDecade; k++ {
		hz := portable.Pow(10, decade-3+float64(k)/perDecade)
		r := t.At(hz, 1)
		if t.RateHz > 0 && hz > t.RateHz/2 {
			break
		}
		line.X, line.Y = append(line.X, hz), append(line.Y, r.Amplitude)
		lag.X, lag.Y = append(lag.X, hz), append(lag.Y, -r.LagRad)
	}
	c := &Curve{Name: responseCurveName,
		Text: fmt.Sprintf("Part, filter, sampling and delay, without bar and shield; down by 3 dB, or at half the sampling rate, at %s.", si.Format(top, "Hz"))}
	amplitude := figure.Panel{Y: figure.Axis{Title: "amplitude", Unit: "1", Min: 0, Max: 1.1}, Series: []figure.Series{line}, Marks: []figure.Mark{{Upright: true, At: top, Label: "bandwidth"}}}
	angle := figure.Panel{Y: figure.Axis{Title: "phase", Unit: "rad"}, Series: []figure.Series{lag}}
	if n, ok := b.l.NeedFor(x.s.ID, func(n *layout.Need) layout.Num { return n.BandwidthHz }); ok {
		amplitude.Marks = append(amplitude.Marks, figure.Mark{Upright: true, At: n.V, Label: "needed"})
	}
	c.Chart = figure.Chart{X: figure.Axis{Title: "frequency", Unit: "Hz", Log: true}, Panels: []figure.Panel{amplitude, angle}}
	c.Chart.Title, c.Chart.Desc = "Response of channel "+x.s.ID, c.Text
	return c
}

// placeCurve is the change of the own reading with height over the bar and with a
// shift sideways, at direct current.
func (b *builder) placeCurve(x *seen) *Curve {
	field, err := b.Model.Rough().Field(0)
	bar := &b.l.Bars[x.s.Reads]
	gap := bar.DistanceM(x.s.At.Point())
	if err != nil || !(gap > 0) || !(x.perA.Value > 0) {
		return nil
	}
	out := b.l.Outward(x.s)
	side := geom.Point{X: -out.Y, Y: out.X}
	reach := 0.6 * gap
	if p := x.s.Placement; p != nil {
		reach = math.Max(reach, 1.6*math.Max(p.XM.V, p.YM.V))
	}
	const half = 12
	along := func(u geom.Point, name string) figure.Series {
		line := figure.Series{Name: name}
		for k := -half; k <= half; k++ {
			d := reach * float64(k) / half
			moved := x.s.Moved(u.Scale(d), 0)
			y := math.NaN()
			if !b.inMetal(&moved) {
				y = portable.Abs(field.Own(&moved).Axis.V)/x.perA.Value - 1
			}
			line.X, line.Y = append(line.X, d), append(line.Y, y)
		}
		return line
	}
	panel := func(u geom.Point, name string) figure.Panel {
		p := figure.Panel{Y: figure.Axis{Title: "change of reading", Unit: "%"}, Series: []figure.Series{along(u, name)}}
		if t := x.s.Placement; t != nil {
			tol := float64(math.Abs(u.X)*t.XM.V) + float64(math.Abs(u.Y)*t.YM.V)
			if tol > 0 {
				p.Bands = append(p.Bands, figure.Band{Upright: true, From: -tol, To: tol, Label: "tolerance"})
			}
		}
		return p
	}
	c := &Curve{Name: placeCurveName,
		Text: fmt.Sprintf("Change of the own reading at direct current against that at the place drawn, %s from the bar. Height: away from the bar counts positive; lateral: across that, counter-clockwise positive.", si.Format(gap, "m"))}
	c.Chart = figure.Chart{X: figure.Axis{Title: "shift", Unit: "m"}, Panels: []figure.Panel{panel(out, "height"), panel(side, "lateral")}}
	c.Chart.Title, c.Chart.Desc = "Gain of "+x.s.ID+" against its place", c.Text
	return c
}
