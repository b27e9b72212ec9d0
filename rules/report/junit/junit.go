// Package junit writes the outcome of a run as a JUnit XML report, which every
// build host reads. The format has no official specification; the parts used here
// are those that readers agree on (github.com/testmoapp/junitxml).
//
// One suite is one file and one case is one verdict. Everything a case has to say
// stands in the text of its element, for readers differ in which attributes they
// look at. There is no system-out: some readers take names of files in brackets
// there for attachments and would fetch them. There is no time: the same input
// gives the same bytes.
package junit

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// Options says what only the caller knows. The zero value is usable.
type Options struct {
	// FailLevel is the lowest level that is written as a failure. What lies below
	// it is written as skipped, with its text, so that it is seen and fails
	// nothing. Default: none, every failure is one.
	FailLevel finding.Level
}

// Write writes r to w and returns the first error. All of it goes out in one
// piece. A failure is a failure, an undecided verdict an error, a permitted
// finding and one that does not apply are skipped with the reason.
func Write(w io.Writer, r *report.Result, o Options) error {
	c := collector{tool: r.Tool.Name, paths: report.NewPaths(r.Files), index: map[string]int{}, seen: map[[2]string]int{}}
	for i := range r.Files {
		if !r.Files[i].Governs {
			c.suite(r.Files[i].Path)
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		element := "failure"
		switch {
		case report.ShownLevel(f) < o.FailLevel, report.ShownLevel(f) == finding.None:
			element = "skipped"
		case f.Verdict != finding.Fail:
			element = "error"
		}
		c.add(f, element, c.said(f))
	}
	for i := range r.Permitted {
		p := &r.Permitted[i]
		c.add(&p.Finding, "skipped", c.said(&p.Finding)+"\npermitted "+p.Words())
	}
	for f := range r.Each(finding.Pass) {
		c.add(f, "", "")
	}
	for f := range r.Each(finding.NotApplicable) {
		c.add(f, "skipped", c.said(f))
	}
	_, err := c.document().WriteTo(w)
	return err
}

// count is what the attributes of a suite say.
type count struct{ tests, failures, errors, skipped int }

func (c *count) add(element string) {
	c.tests++
	switch element {
	case "failure":
		c.failures++
	case "error":
		c.errors++
	case "skipped":
		c.skipped++
	}
}

func (c count) attributes() string {
	return fmt.Sprintf(`tests="%d" failures="%d" errors="%d" skipped="%d"`, c.tests, c.failures, c.errors, c.skipped)
}

type suite struct {
	path  string // relative to the root
	count count
	cases bytes.Buffer
}

type collector struct {
	tool   string
	paths  *report.Paths
	suites []*suite
	index  map[string]int // of a suite by the path relative to the root
	seen   map[[2]string]int
	total  count
}

// suite returns the suite of a file; findings without a file have the tool's.
func (c *collector) suite(file string) *suite {
	path := report.Line(c.tool)
	if file != "" {
		path = report.Line(c.paths.Root(file))
	}
	i, ok := c.index[path]
	if !ok {
		i = len(c.suites)
		c.index[path] = i
		c.suites = append(c.suites, &suite{path: path})
	}
	return c.suites[i]
}

// add writes one case. Its name is made of what the finding is about, so that
// hosts recognise it in the next run whatever its numbers; a second one of the
// same name is numbered.
func (c *collector) add(f *finding.Finding, element, text string) {
	s := c.suite(f.Span.File)
	s.count.add(element)
	c.total.add(element)
	name := report.Line(f.Rule)
	if about := report.About(f); about != "" {
		name += " " + about
	}
	key := [2]string{s.path, name}
	if c.seen[key]++; c.seen[key] > 1 {
		name += fmt.Sprintf(" (%d)", c.seen[key])
	}
	start, _ := report.Place(f.Span)
	fmt.Fprintf(&s.cases, `    <testcase classname="%s" name="%s" file="%s" line="%d"`, attribute(s.path), attribute(name), attribute(s.path), start.Line)
	if element == "" {
		s.cases.WriteString("/>\n")
		return
	}
	kind := f.Level.String()
	if f.Verdict != finding.Fail {
		kind = f.Verdict.String()
	}
	fmt.Fprintf(&s.cases, ">\n      <%s type=\"%s\" message=\"%s\">%s</%s>\n    </testcase>\n",
		element, kind, attribute(report.Message(f)), content(text), element)
}

// said is the text of a case: the line that the text form has, then all that
// helps to act on it.
func (c *collector) said(f *finding.Finding) string {
	place := f.Span
	if place.File != "" {
		place.File = c.paths.Root(place.File)
	}
	lines := []string{fmt.Sprintf("%s: %s: %s [%s]", report.PlaceText(place, c.tool), report.ShownLevel(f), report.Message(f), report.Line(f.Rule))}
	if f.Remedy != "" {
		lines = append(lines, "try: "+report.Line(f.Remedy))
	}
	if about := report.About(f); about != "" {
		lines = append(lines, "about: "+about)
	}
	if f.Measure != nil {
		lines = append(lines, "number: "+report.Numbers(*f.Measure))
	}
	for _, line := range f.Details {
		lines = append(lines, "| "+report.Line(line))
	}
	for _, related := range f.Related {
		where := related.Span
		if where.File != "" {
			where.File = c.paths.Root(where.File)
		}
		lines = append(lines, "see: "+report.PlaceText(where, c.tool)+": "+report.Line(related.Message))
	}
	return strings.Join(lines, "\n")
}

// document joins the suites that have cases.
func (c *collector) document() *bytes.Buffer {
	var out bytes.Buffer
	out.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	fmt.Fprintf(&out, "<testsuites name=\"%s\" %s>\n", attribute(report.Line(c.tool)), c.total.attributes())
	for _, s := range c.suites {
		if s.count.tests == 0 {
			continue
		}
		fmt.Fprintf(&out, "  <testsuite name=\"%s\" %s>\n%s  </testsuite>\n", attribute(s.path), s.count.attributes(), s.cases.Bytes())
	}
	out.WriteString("</testsuites>\n")
	return &out
}
