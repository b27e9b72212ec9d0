package audit

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/report"
)

// Input is what a page is made from.
type Input struct {
	// Model is the one that the check used, with what it computed.
	Model *probe.Model
	// Findings holds every verdict on the layout but those of Permitted.
	Findings  []finding.Finding
	Permitted []report.Permission
	Assumed   []finding.Assumption
	Rules     []finding.Description // every rule that may have spoken
	Cover     Cover
	// Progress is told what is being done; nil: nobody.
	Progress func(what string)
}

// Build returns the page. Where something cannot be computed it says so in its place;
// it never fails as a whole. The same input gives the same page on any number of
// processors.
func Build(in Input) *Page {
	b := &builder{Input: in, l: in.Model.Layout}
	p := &Page{Cover: in.Cover}
	if p.Cover.Title == "" {
		p.Cover.Title = b.l.Title
	}
	b.say("verdicts")
	p.Verdicts = b.verdicts()
	p.Glance = b.glance(p)
	p.Assumed = b.assumed()
	p.NotSeen = b.notSeen()
	b.say("section")
	p.Section = b.section()
	p.Views = b.views()
	b.say("channels")
	for i := range b.l.Sensors {
		c := b.channel(layout.SensorIndex(i))
		b.closeUp(&c, layout.SensorIndex(i), p)
		c.Lead = leadCurve(&c, p.Verdicts)
		p.Channels = append(p.Channels, c)
	}
	b.say("shields")
	p.Shields = b.shields()
	p.Sources = b.sources(p)
	return p
}

// builder is one build at work.
type builder struct {
	Input
	l     *layout.Layout
	parts []part // of the frames of the section
}

func (b *builder) say(what string) {
	if b.Progress != nil {
		b.Progress(what)
	}
}
