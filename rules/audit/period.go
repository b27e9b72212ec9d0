package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/report/figure"
)

const (
	perOrder     = 16   // places of a period of the highest order that are drawn
	fewestPlaces = 96   // of one period of the whole
	mostPlaces   = 600  // a line of more is no finer on a page
	mostElements = 8    // elements of one sensor in a panel
	leastOfRange = 0.02 // share of the linear range below which a line would lie flat in it
)

// periods returns, for each duty that is not direct current alone, the current that a
// channel reads and its reading over one period of the main group of the duty.
func (b *builder) periods(x *seen) []Curve {
	var out []Curve
	for i := range b.l.Duties {
		d := &b.l.Duties[i]
		cur := waveform.Of(b.l, d)
		if cur.Main() == waveform.NoGroup {
			continue
		}
		c := Curve{Name: periodCurveName + d.ID}
		t, err := b.inTime(x.s, d, cur)
		if err != nil {
			c.Text = "Not known: " + err.Error() + "."
			out = append(out, c)
			continue
		}
		b.drawPeriod(&c, x, cur, t)
		out = append(out, c)
	}
	return out
}

// inTime is what a sensor gets in a duty, in time.
type inTime struct {
	current, reading *waveform.Signal   // A; T on the axis, all circuits
	elements         []*waveform.Signal // T on the axis of each, without weight; nil: one
}

func (b *builder) inTime(s *layout.Sensor, d *layout.Duty, cur *waveform.Currents) (*inTime, error) {
	m := b.Model.For(d)
	own, err := m.OwnCurrent(s, d)
	if err != nil {
		return nil, err
	}
	out := &inTime{current: own, reading: &waveform.Signal{}}
	if n := len(s.Elements()); n > 1 {
		for range n {
			out.elements = append(out.elements, &waveform.Signal{})
		}
	}
	for i := range cur.Components {
		c := &cur.Components[i]
		r, err := m.Read(s, c)
		if err != nil {
			return nil, err
		}
		line := waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: r.Own.V + r.Stray.V}
		out.reading.Lines = append(out.reading.Lines, line)
		f, err := m.FieldOf(c)
		if err != nil {
			return nil, err
		}
		sums := make([]complex128, len(out.elements))
		for k, a := range c.PeakA {
			if a == 0 || out.elements == nil {
				continue
			}
			for e, p := range f.ElementPerAmpere(s, layout.CircuitIndex(k)) {
				sums[e] += portable.Times(p.V, a)
			}
		}
		for e, v := range sums {
			line.V = v
			out.elements[e].Lines = append(out.elements[e].Lines, line)
		}
	}
	return out, nil
}

// mainOf returns the part of a signal that is direct current or of the main group, as a signal
// of one group.
func mainOf(s *waveform.Signal, main int) *waveform.Signal {
	out := &waveform.Signal{}
	for _, a := range s.Lines {
		switch a.Group {
		case main:
			a.Group = 0
		case waveform.NoGroup:
		default:
			continue
		}
		out.Lines = append(out.Lines, a)
	}
	return out
}

// traced returns the values of a signal over one period.
func traced(name string, s *waveform.Signal, timesS []float64) figure.Series {
	line := figure.Series{Name: name, X: timesS}
	for _, t := range timesS {
		line.Y = append(line.Y, s.At(t))
	}
	return line
}

func (b *builder) drawPeriod(c *Curve, x *seen, cur *waveform.Currents, t *inTime) {
	main := cur.Main()
	period := 1 / cur.BaseHz(main)
	count := min(max(fewestPlaces, perOrder*cur.HighestOrder(main)), mostPlaces)
	timesS := make([]float64, count+1)
	for k := range timesS {
		timesS[k] = period * float64(k) / float64(count)
	}
	current := figure.Panel{Y: figure.Axis{Title: "current in " + readWords(b.l, x.s), Unit: "A"},
		Series: []figure.Series{traced("current", mainOf(t.current, main), timesS)}}
	reading := figure.Panel{Y: figure.Axis{Title: "flux density on the axis", Unit: "T"},
		Series: []figure.Series{traced("reading", mainOf(t.reading, main), timesS)}}
	panels := []figure.Panel{current, reading}
	ranged := &panels[1]
	if t.elements != nil {
		panels = append(panels, figure.Panel{Y: figure.Axis{Title: "flux density on each element", Unit: "T"},
			Series: fullest(x.s, t.elements, main, timesS)})
		ranged = &panels[2]
	}
	c.Text = b.periodWords(x, cur, t) + b.rangeBand(x, ranged)
	if len(t.elements) > mostElements {
		c.Text += fmt.Sprintf(" Of %d elements the %d with the largest field are drawn.", len(t.elements), mostElements)
	}
	c.Chart = figure.Chart{X: figure.Axis{Title: "time", Unit: "s", Min: 0, Max: period}, Panels: panels}
	c.Chart.Title = "Current and reading of " + x.s.ID + " over a period, duty " + cur.Duty.ID
	c.Chart.Desc = c.Text
}

// fullest returns the lines of the elements with the largest field, in the order of the file.
func fullest(s *layout.Sensor, elements []*waveform.Signal, main int, timesS []float64) []figure.Series {
	all := make([]figure.Series, len(elements))
	order := make([]int, len(elements))
	for e := range elements {
		all[e], order[e] = traced(elementName(s, e), mainOf(elements[e], main), timesS), e
	}
	slices.SortStableFunc(order, func(i, j int) int { return -cmp.Compare(size(all[i].Y), size(all[j].Y)) })
	order = order[:min(len(order), mostElements)]
	slices.Sort(order)
	var out []figure.Series
	for _, e := range order {
		out = append(out, all[e])
	}
	return out
}

// size is the largest magnitude of a list.
func size(list []float64) float64 {
	top := 0.0
	for _, v := range list {
		top = math.Max(top, math.Abs(v))
	}
	return top
}

// periodWords says what is drawn, and what else flows that is not.
func (b *builder) periodWords(x *seen, cur *waveform.Currents, t *inTime) string {
	main := cur.Main()
	text := fmt.Sprintf("One period of %s. The reading is that of all %ss together.",
		si.Format(1/cur.BaseHz(main), "s"), b.noun())
	drawn, whole := mainOf(t.current, main).PeakAbs(), t.current.PeakAbs()
	if drawn.High > 0 {
		text += fmt.Sprintf(" The current peaks at %s as drawn", si.Format(drawn.Value, "A"))
		if whole.High > drawn.High*(1+1e-6) {
			text += fmt.Sprintf(", and at up to %s with what is not drawn", si.Format(whole.High, "A"))
		}
		text += "."
	}
	if rest := undrawn(cur); len(rest) > 0 {
		text += " Not drawn, since it stands at any phase to it: " + strings.Join(rest, "; ") + "."
	}
	if len(cur.Offsets) > 0 {
		text += fmt.Sprintf(" Nor is the decaying direct component of the fault, which makes the first peak %s times as large.", figures(cur.PeakFactor))
	}
	if left := t.current.LeftOver; left > 0 {
		text += fmt.Sprintf(" What the components leave out of the waveform is %s at most.", si.Format(left, "A"))
	}
	if field.Saturable(b.l) {
		text += " Iron counts as linear here; the verdicts take its true state where it saturates."
	}
	return text
}

// undrawn names the groups beside the main one, each by its first component.
func undrawn(cur *waveform.Currents) []string {
	var out []string
	for g := range cur.Groups {
		name, more := "", 0
		for i := range cur.Components {
			c := &cur.Components[i]
			switch {
			case c.Group != g || cur.InMain(c):
			case name == "":
				name = c.Role + ", " + hertz(c.FreqHz)
			default:
				more++
			}
		}
		switch {
		case more > 0:
			out = append(out, fmt.Sprintf("%s, and %d of its harmonics", name, more))
		case name != "":
			out = append(out, name)
		}
	}
	return out
}

// rangeBand adds the linear range to the panel and says how much of it the lines take.
func (b *builder) rangeBand(x *seen, p *figure.Panel) string {
	part := b.l.PartOf(x.s)
	if part == nil || !(part.LinearLowT.V < 0 && part.LinearHighT.V > 0) {
		return ""
	}
	share := 0.0
	for _, line := range p.Series {
		for _, v := range line.Y {
			end := part.LinearHighT.V
			if v < 0 {
				end = part.LinearLowT.V
			}
			share = math.Max(share, v/end)
		}
	}
	text := fmt.Sprintf(" Drawn, it takes %s of the linear range of part %s", si.Percent(share), part.ID)
	if share < leastOfRange {
		return text + ", which is too wide to be shown."
	}
	p.Bands = append(p.Bands, figure.Band{From: part.LinearLowT.V, To: part.LinearHighT.V, Label: "linear range"})
	return text + "."
}
