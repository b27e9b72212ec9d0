package page

import (
	"fmt"
	"html/template"

	"busgauss/model/si"
	"busgauss/rules/audit"
	"busgauss/rules/report"
	"busgauss/rules/report/figure"
)

type frameView struct {
	Index                   int
	Name, Undecided, Method string
	Certainty, Currents     string
	SVG                     template.HTML
	Rows                    *table
}

type slideView struct {
	Index                    int
	Sensor                   string
	MaxX, MaxY, ZeroX, ZeroY int
}

type figureView struct {
	Name, Text string
	SVG        template.HTML
	Table      *table
}

// Unnamed is f without its name, which stands above it.
func (f figureView) Unnamed() figureView {
	f.Name = ""
	return f
}

type channelView struct {
	audit.Channel
	Index        int
	Open         []verdictView
	Holds        string       // how much holds; empty where nothing does
	Main         []figureView // the drawing and the curve that matters most
	Figures      []figureView // the other curves
	HandTable    *table
	WorkedTable  *table
	RankedFigure *figureView
}

type shieldView struct {
	audit.Shield
	Figure *figureView
}

// frameName names a frame for people.
func frameName(f *audit.Frame) string {
	name := fmt.Sprintf("%s duty %s", f.Kind, f.Duty)
	if f.FreqHz == 0 {
		return name + ", direct current"
	}
	return fmt.Sprintf("%s, %s, %s", name, f.Role, si.Format(f.FreqHz, "Hz"))
}

func frameOf(f *audit.Frame, i int) frameView {
	v := frameView{Index: i, Name: frameName(f), Undecided: f.Undecided, Method: f.Method}
	if f.Undecided != "" {
		return v
	}
	v.Certainty, v.Currents = "an unknown share", f.Currents
	if n := report.Number(f.Certainty); n != nil {
		v.Certainty = si.Percent(*n)
	}
	d := f.Drawing
	d.ID, d.MaxHeight = fmt.Sprintf("section-%d", i), frameHeight
	v.SVG = template.HTML(figure.Draw(d))
	rows := tableOf("Sensors in "+v.Name, []int{10, 8, 12, 10, 14, 12, 12, 12, 10}, sensorHead...)
	for k := range f.Rows {
		rows.add(rowOf(&f.Rows[k])...)
	}
	v.Rows = rows.orNil()
	return v
}

// sensorHead heads the columns of rowOf.
var sensorHead = []string{"Sensor", "Reads", "On its axis, peak", "Phase", "Own field per ampere", "Own current, peak", "Stray",
	"Largest of the others", "Certainty of its field"}

// rowOf is what a sensor reads in a frame.
func rowOf(r *audit.SensorRow) []string {
	if r.PerAmpereUnsaid != "" {
		return []string{r.Sensor, r.Reads, "not known: " + r.PerAmpereUnsaid, "–", "–", "–", "–", "–", "–"}
	}
	largest, certainty := "none", "not known"
	if n := report.Number(r.Certainty); n != nil {
		certainty = "±" + si.Percent(*n)
	}
	if r.Largest != "" {
		largest = r.Largest + ", " + si.Format(r.LargestT, "T")
	}
	return []string{r.Sensor, r.Reads, si.Format(r.AxisT, "T"), degrees(r.PhaseRad), si.Format(r.PerAmpereT, "T") + "/A",
		si.Format(r.OwnA, "A"), strayText(r.StrayA, r.StrayShare), largest, certainty}
}

// strayText prints a stray in amperes and, where the own bar carries a current, in
// per cent of it.
func strayText(strayA, share float64) string {
	text := si.Format(strayA, "A")
	if n := report.Number(share); n != nil {
		text += " (" + si.Percent(*n) + ")"
	}
	return text
}

func degrees(rad float64) string { return fmt.Sprintf("%.2f°", rad*degPerRad) }

const degPerRad = 57.29577951308232

func zeroOf(list []float64) int {
	for i, v := range list {
		if v == 0 {
			return i
		}
	}
	return 0
}

func curveOf(c *audit.Curve, id string) figureView {
	v := figureView{Name: c.Name, Text: c.Text}
	if len(c.Rows) > 0 {
		v.Table = tableOf(c.Name, nil, c.Head...)
		for _, r := range c.Rows {
			v.Table.add(r...)
		}
	}
	if len(c.Chart.Panels) > 0 {
		ch := c.Chart
		ch.ID = id
		v.SVG = template.HTML(figure.DrawChart(ch))
	}
	return v
}

// leadHeight is the height of a panel of the curve that stands with its channel, in units of drawings.
const leadHeight = 110

func channelOf(p *audit.Page, i int) channelView {
	c := &p.Channels[i]
	v := channelView{Channel: *c, Index: i}
	var holds int
	v.Open, holds = openOn(p, c.Sensor)
	if holds > 0 {
		v.Holds = fmt.Sprintf("%d more verdicts hold", holds)
		if holds == 1 {
			v.Holds = "1 more verdict holds"
		}
	}
	if c.Frame >= 0 {
		d := c.Drawing
		d.ID = fmt.Sprintf("channel-%d-drawing", i)
		v.Main = append(v.Main, figureView{Name: "At its bar", SVG: template.HTML(figure.Draw(d)),
			Text: frameName(&p.Section.Frames[c.Frame]) + ". The box of dashes is where the element may sit, the arrow the direction it reads."})
	}
	for k := range c.Curves {
		lead := c.Curves[k]
		if k == c.Lead && len(lead.Chart.Panels) > 1 {
			lead.Chart.Height = leadHeight
		}
		f := curveOf(&lead, fmt.Sprintf("channel-%d-curve-%d", i, k))
		if k == c.Lead {
			v.Main = append(v.Main, f)
			if f.Table == nil {
				continue
			}
			f.SVG, f.Text = "", "The curve stands with the channel."
		}
		v.Figures = append(v.Figures, f)
	}
	hand := tableOf("Own field per ampere at direct current, estimated and computed", []int{14, 30, 14, 10, 32},
		"Way", "Formula and numbers", "Result", "Against computed", "Why they differ")
	for _, h := range c.Hand {
		hand.add(h.Name, h.Formula+"; "+h.Numbers, h.Result, h.Against, h.Reason)
	}
	worked := tableOf("Each step with its numbers", []int{14, 22, 30, 12, 22}, "Step", "Formula", "Numbers", "Result", "Source")
	for _, s := range c.Worked {
		worked.add(s.What, s.Formula, s.Numbers, s.Result, s.Source)
	}
	v.HandTable, v.WorkedTable = hand.orNil(), worked.orNil()
	if c.Ranked != nil {
		r := c.Ranked.Ranking
		r.ID = fmt.Sprintf("channel-%d-ranked", i)
		v.RankedFigure = &figureView{Name: "Contributors", Text: c.Ranked.Text, SVG: template.HTML(figure.DrawRanking(r))}
	}
	return v
}
