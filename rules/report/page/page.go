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

	"busgauss/rules/audit"
	"busgauss/rules/report/figure"
)

//go:embed page.tmpl
var pageTemplate string

//go:embed table.tmpl
var tableTemplate string

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
	Block    []fact // of the cover
	Document []fact
	History  *table
	Glance   glanceView
	Contents []content

	Channels []channelView
	Rest     []verdictView // what fails or is open and is about no channel
	Views    []figureView
	Assumed  *table

	Frames     []frameView
	First      int // the frame on the first screen
	FirstFrame *frameView
	Slides     []slideView

	Holding          []verdictView // passed, with a number
	Plain, NotAsked  *table        // passed without a number; not applicable
	Shields          []shieldView
	NotSeen, Sources *table
}

type content struct{ ID, Name string }

// fact is a name and a value; code is set without breaking it into quantities.
type fact struct {
	Name, Value string
	Code        bool
}

// functions are what templates may call.
var functions = template.FuncMap{"q": quantities, "dash": orDash, "clears": clears}

// Write writes p as HTML and returns the first error.
func Write(w io.Writer, p *audit.Page) error {
	t, err := template.New("page").Funcs(functions).Parse(tableTemplate + pageTemplate)
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
	_, err = io.WriteString(w, strings.TrimLeft(out.String(), "\n"))
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
	css := styleSheet + figure.Style() + runningHead(&p.Cover)
	v := &view{Policy: policy(css, script), CSS: template.CSS(css), Script: template.JS(script), Page: p, Caution: audit.Caution,
		Summary: summary(p), Block: block(&p.Cover), Document: document(&p.Cover), History: history(&p.Cover), Glance: glanceOf(p)}
	v.verdicts()
	v.section()
	for i := range p.Views {
		d := p.Views[i].Drawing
		d.ID, d.MaxHeight = fmt.Sprintf("view-%d", i), viewHeight
		v.Views = append(v.Views, figureView{Name: p.Views[i].Name, Text: p.Views[i].Text, SVG: template.HTML(figure.Draw(d))})
	}
	for i := range p.Channels {
		v.Channels = append(v.Channels, channelOf(p, i))
	}
	for i := range p.Shields {
		s := shieldView{Shield: p.Shields[i]}
		if c := p.Shields[i].Curve; c != nil {
			f := curveOf(c, fmt.Sprintf("shield-%d-curve", i))
			s.Figure = &f
		}
		v.Shields = append(v.Shields, s)
	}
	v.tables()
	v.Contents = contents(v)
	data, err := scriptData(p)
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	v.Data = template.JS(data)
	return v, nil
}

// contents lists the parts of the page below the first screen.
func contents(v *view) []content {
	var out []content
	for i := range v.Channels {
		out = append(out, content{fmt.Sprintf("channel-%d", i), "Channel " + v.Channels[i].Sensor})
	}
	if len(v.Rest) > 0 {
		out = append(out, content{"rest", "Other parts"})
	}
	if len(v.Views) > 0 {
		out = append(out, content{"views", "Plan and side view"})
	}
	return append(out, content{"assumed", "Assumed values"}, content{"document", "This document"}, content{"annex", "Annex"})
}

// The heights of drawings, in their units, that let a first screen and a printed page hold them.
const (
	frameHeight = 330
	viewHeight  = 300
)

// section takes the frames and the slides of the section.
func (v *view) section() {
	p := v.Page
	for i := range p.Section.Frames {
		v.Frames = append(v.Frames, frameOf(&p.Section.Frames[i], i))
	}
	for i := range v.Frames {
		if v.Frames[i].Undecided == "" {
			v.First = i
			break
		}
	}
	if len(v.Frames) > 0 {
		v.FirstFrame = &v.Frames[v.First]
	}
	for i := range p.Section.Slides {
		s := &p.Section.Slides[i]
		v.Slides = append(v.Slides, slideView{i, s.Sensor, len(s.DX) - 1, len(s.DY) - 1, zeroOf(s.DX), zeroOf(s.DY)})
	}
}

// tables makes the lists of the page that are tables of texts.
func (v *view) tables() {
	p := v.Page
	assumed := tableOf("What the layout leaves open, and what was taken for it", []int{20, 70, 10}, "Object", "Assumed", "Line")
	for _, a := range p.Assumed {
		assumed.add(orLayout(a.Object), a.Text, fmt.Sprint(a.Line))
	}
	seen := tableOf("By rule; only rules that ran", []int{20, 80}, "Rule", "Not seen")
	for _, n := range p.NotSeen {
		seen.add(n.Rule, n.Text)
	}
	v.Sources = tableOf("What each result rests on", []int{24, 76}, "For", "Source")
	for _, s := range p.Sources {
		v.Sources.add(s.For, s.Text)
	}
	v.Assumed, v.NotSeen = assumed.orNil(), seen.orNil()
}

func orLayout(object string) string {
	if object == "" {
		return "layout"
	}
	return object
}
