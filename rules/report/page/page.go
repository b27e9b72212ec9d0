// Package page writes an audit page: as one HTML file that needs no network and no
// script to be read, as Markdown and as JSON; and the index of several pages.
//
// Everything from a layout goes through finding.Clean and then through contextual
// escaping; drawings clean and escape their own text.
package page

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/rules/audit"
	"busgauss/rules/report"
	"busgauss/rules/report/figure"
)

//go:embed page.tmpl
var pageTemplate string

//go:embed style.css
var styleSheet string

//go:embed script.js
var script string

// view is what the template of a page is given.
type view struct {
	Policy   string
	CSS      template.CSS
	Script   template.JS
	Data     template.JS
	Page     *audit.Page
	Caution  string
	Summary  string
	Contents []content
	Judged   []verdictView
	Plain    []audit.Verdict // passed, without a number
	NotAsked []audit.Verdict
	Frames   []frameView
	Slides   []slideView
	Views    []figureView
	Channels []channelView
	Shields  []shieldView
}

type content struct{ ID, Name string }

type verdictView struct {
	audit.Verdict
	Class, Sign, Word, LevelText string
}

type frameView struct {
	Index                   int
	Name, Undecided, Method string
	Certainty, Currents     string
	SVG                     template.HTML
	Rows                    []rowView
}

type rowView struct {
	Sensor, Bar, Unsaid                                    string
	Axis, Phase, PerAmpere, Own, Stray, Largest, Certainty string
}

type slideView struct {
	Index                    int
	Sensor                   string
	MaxX, MaxY, ZeroX, ZeroY int
}

type figureView struct {
	Name, Text string
	SVG        template.HTML
	Head       []string
	Rows       [][]string
}

type channelView struct {
	audit.Channel
	Index   int
	Figures []figureView
	Ranked  *figureView
}

type shieldView struct {
	audit.Shield
	Figure *figureView
}

// Write writes p as HTML and returns the first error.
func Write(w io.Writer, p *audit.Page) error {
	t, err := template.New("page").Parse(pageTemplate)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	v, err := newView(cleaned(p))
	if err != nil {
		return err
	}
	var out strings.Builder
	if err := t.Execute(&out, v); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	_, err = io.WriteString(w, out.String())
	return err
}

// policy forbids everything but the style and the script of the page itself.
func policy(css, js string) string {
	text := "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; style-src " + digest(css)
	if js != "" {
		text += "; script-src " + digest(js)
	}
	return text
}

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

func newView(p *audit.Page) (*view, error) {
	css := styleSheet + figure.Style()
	v := &view{Policy: policy(css, script), CSS: template.CSS(css), Script: template.JS(script), Page: p, Caution: audit.Caution, Summary: summary(p)}
	for i := range p.Verdicts {
		switch d := &p.Verdicts[i]; {
		case d.Verdict == finding.NotApplicable:
			v.NotAsked = append(v.NotAsked, *d)
		case d.Verdict == finding.Pass && !d.Number:
			v.Plain = append(v.Plain, *d)
		default:
			v.Judged = append(v.Judged, verdictOf(d))
		}
	}
	for i := range p.Section.Frames {
		v.Frames = append(v.Frames, frameOf(&p.Section.Frames[i], i))
	}
	for i := range p.Section.Slides {
		s := &p.Section.Slides[i]
		v.Slides = append(v.Slides, slideView{i, s.Sensor, len(s.DX) - 1, len(s.DY) - 1, zeroOf(s.DX), zeroOf(s.DY)})
	}
	for i := range p.Views {
		d := p.Views[i].Drawing
		d.ID = fmt.Sprintf("view-%d", i)
		v.Views = append(v.Views, figureView{Name: p.Views[i].Name, Text: p.Views[i].Text, SVG: template.HTML(figure.Draw(d))})
	}
	for i := range p.Channels {
		v.Channels = append(v.Channels, channelOf(&p.Channels[i], i))
	}
	for i := range p.Shields {
		s := shieldView{Shield: p.Shields[i]}
		if c := p.Shields[i].Curve; c != nil {
			f := curveOf(c, fmt.Sprintf("shield-%d-curve", i))
			s.Figure = &f
		}
		v.Shields = append(v.Shields, s)
	}
	v.Contents = contents(v)
	data, err := scriptData(p)
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	v.Data = template.JS(data)
	return v, nil
}

func contents(v *view) []content {
	out := []content{{"verdicts", "Verdicts"}, {"assumed", "Assumed values"}, {"not-seen", "What the model does not see"}, {"section", "Section"}}
	if len(v.Views) > 0 {
		out = append(out, content{"views", "Plan and side view"})
	}
	for i := range v.Channels {
		out = append(out, content{fmt.Sprintf("channel-%d", i), "Channel " + v.Channels[i].Sensor})
	}
	if len(v.Shields) > 0 {
		out = append(out, content{"shields", "Shields"})
	}
	return append(out, content{"sources", "Sources"})
}

// summary counts the verdicts; what fails and is a note, on which nothing rests, apart.
func summary(p *audit.Page) string {
	n := tally(p)
	notes := 0
	for i := range p.Verdicts {
		if v := &p.Verdicts[i]; v.Verdict == finding.Fail && v.Level == finding.Note {
			notes++
		}
	}
	text := fmt.Sprintf("%d failing, ", n[finding.Fail]-notes)
	if notes > 0 {
		text += fmt.Sprintf("%d noted, ", notes)
	}
	return text + fmt.Sprintf("%d undecided, %d permitted, %d passed, %d not applicable", n[finding.Undecided], n[finding.Permitted], n[finding.Pass], n[finding.NotApplicable])
}

// tally counts the verdicts of a page; one that nobody set counts as undecided.
func tally(p *audit.Page) (n [finding.Permitted + 1]int) {
	for i := range p.Verdicts {
		v := p.Verdicts[i].Verdict
		if v == 0 || v > finding.Permitted {
			v = finding.Undecided
		}
		n[v]++
	}
	return n
}

// classOf is the word of a verdict in class names and data attributes.
func classOf(v finding.Verdict) string {
	switch v {
	case finding.Pass:
		return "pass"
	case finding.Fail:
		return "fail"
	case finding.Permitted:
		return "permitted"
	case finding.NotApplicable:
		return "not-applicable"
	}
	return "undecided"
}

func signOf(v finding.Verdict) string {
	switch v {
	case finding.Pass:
		return "✓"
	case finding.Fail:
		return "✕"
	case finding.Permitted:
		return "(✓)"
	case finding.NotApplicable:
		return "–"
	}
	return "?"
}

func verdictOf(d *audit.Verdict) verdictView {
	v := verdictView{Verdict: *d, Class: classOf(d.Verdict), Sign: signOf(d.Verdict), Word: d.Verdict.String()}
	if d.Level != finding.None {
		v.LevelText = d.Level.String()
	}
	if d.Verdict == finding.Permitted {
		v.LevelText = "else " + d.Was.String() + levelAfter(d.Level)
	}
	if v.About == "" {
		v.About = "layout"
	}
	return v
}

func levelAfter(l finding.Level) string {
	if l == finding.None {
		return ""
	}
	return ", " + l.String()
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
	d.ID = fmt.Sprintf("section-%d", i)
	v.SVG = template.HTML(figure.Draw(d))
	for k := range f.Rows {
		v.Rows = append(v.Rows, rowOf(&f.Rows[k]))
	}
	return v
}

func rowOf(r *audit.SensorRow) rowView {
	v := rowView{Sensor: r.Sensor, Bar: r.Reads, Unsaid: r.PerAmpereUnsaid}
	if v.Unsaid != "" {
		return v
	}
	v.Axis, v.Phase, v.PerAmpere = si.Format(r.AxisT, "T"), degrees(r.PhaseRad), si.Format(r.PerAmpereT, "T")+"/A"
	v.Own, v.Stray, v.Largest = si.Format(r.OwnA, "A"), strayText(r.StrayA, r.StrayShare), "none"
	v.Certainty = "not known"
	if n := report.Number(r.Certainty); n != nil {
		v.Certainty = "±" + si.Percent(*n)
	}
	if r.Largest != "" {
		v.Largest = r.Largest + ", " + si.Format(r.LargestT, "T")
	}
	return v
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
	v := figureView{Name: c.Name, Text: c.Text, Head: c.Head, Rows: c.Rows}
	if len(c.Chart.Panels) > 0 {
		ch := c.Chart
		ch.ID = id
		v.SVG = template.HTML(figure.DrawChart(ch))
	}
	return v
}

func channelOf(c *audit.Channel, i int) channelView {
	v := channelView{Channel: *c, Index: i}
	for k := range c.Curves {
		v.Figures = append(v.Figures, curveOf(&c.Curves[k], fmt.Sprintf("channel-%d-curve-%d", i, k)))
	}
	if c.Ranked != nil {
		r := c.Ranked.Ranking
		r.ID = fmt.Sprintf("channel-%d-ranked", i)
		v.Ranked = &figureView{Text: c.Ranked.Text, SVG: template.HTML(figure.DrawRanking(r))}
	}
	return v
}
