// Package load turns the nodes of a layout file into a checked layout in SI
// units, or says everything that is wrong with the file at once.
//
// Two checks run over one tree. The published schema finds unknown keys; the
// reader finds everything else, and names the value in the words of a person.
// Where both speak of one place, the reader's words stand.
package load

import (
	"cmp"
	"fmt"
	"slices"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// Load reads the layout file called path from data. It returns the layout, or
// nil and every problem of the file, sorted by place and without repeats. The
// layout is nil exactly when a finding of level error is among them.
func Load(path string, data []byte) (*layout.Layout, []finding.Finding) {
	root, problems := node.Parse(path, data, node.Limits{})
	if root == nil {
		return outcome(nil, problems, nil)
	}
	r := newReader(root.Span.File, problems)
	if root.Kind != node.Map {
		r.top(root).mapping()
		return outcome(nil, problems, r.findings)
	}
	if len(problems) == 0 {
		if l := readAll(root); l != nil {
			return l, nil
		}
	}
	leaves := r.keys(root)
	r.read(root)
	r.leftOver(root, leaves)
	return outcome(r.out, problems, r.findings)
}

// newReader returns a reader that does not repeat what the text is blamed for.
func newReader(path string, text []finding.Finding) *reader {
	r := &reader{
		out:    &layout.Layout{Path: path},
		places: map[string]bool{},
		judged: map[span.Pos]bool{},
	}
	for _, f := range text {
		if f.Rule == ruleForm {
			r.judged[f.Span.Start] = true
		}
	}
	return r
}

// mostListed is the number of problems of the reader that are listed; a file
// with more is not a layout, and one more finding says how many were left out.
const mostListed = 1000

// outcome joins the problems of the text and those of the reader, sorted and
// without repeats, and withholds a layout that has one.
func outcome(l *layout.Layout, text, read []finding.Finding) (*layout.Layout, []finding.Finding) {
	read = sorted(read)
	if more := len(read) - mostListed; more > 0 {
		rest := read[mostListed]
		rest.Message = fmt.Sprintf("%d further problems from here on are not listed", more)
		rest.Remedy, rest.Related = "mend the listed ones first", nil
		read = append(read[:mostListed:mostListed], rest)
	}
	problems := sorted(append(slices.Clip(text), read...))
	if slices.ContainsFunc(problems, func(f finding.Finding) bool { return f.Level == finding.Error }) {
		l = nil
	}
	if l == nil && len(problems) == 0 {
		// A file without a tree and without a problem would pass in silence.
		panic("load: no layout and no problem")
	}
	return l, problems
}

func sorted(problems []finding.Finding) []finding.Finding {
	slices.SortStableFunc(problems, compareProblems)
	return slices.CompactFunc(problems, func(a, b finding.Finding) bool { return compareProblems(a, b) == 0 })
}

func compareProblems(a, b finding.Finding) int {
	return cmp.Or(
		cmp.Compare(a.Span.Start.Line, b.Span.Start.Line),
		cmp.Compare(a.Span.Start.Column, b.Span.Start.Column),
		cmp.Compare(a.Rule, b.Rule),
		cmp.Compare(a.Message, b.Message))
}

// read fills the layout section by section. Names come first, so that a
// reference may stand before what it refers to.
func (r *reader) read(root *node.Node) {
	top := r.top(root)
	r.version(top)
	r.collectNames(top)
	r.materials(top.at("materials"))
	r.bars(top.at("bars"))
	r.circuits(top.at("circuits"))
	r.shields(top.at("shields"))
	r.full(top)
	r.parts(top.at("parts"))
	r.sensors(top.at("sensors"))
	r.readout(top.at("readout"))
	r.duties(top.at("duties"))
	r.surroundings(top.at("surroundings"))
	r.insulation(top.at("insulation"))
	r.needs(top.at("needs"))
	r.phaseSums(top.at("phase-sums"))
	r.calibration(top.at("calibration"))
	r.bonded(top.at("bonded"))
	r.measurements(top.at("measurements"))
	slices.SortStableFunc(r.out.Assumed, func(a, b finding.Assumption) int {
		return cmp.Or(
			cmp.Compare(a.Span.Start.Line, b.Span.Start.Line),
			cmp.Compare(a.Span.Start.Column, b.Span.Start.Column))
	})
}

// version reads what stands above the sections.
func (r *reader) version(top *spot) {
	v := top.at("layout").need()
	r.out.Span = top.edit
	if m, ok := top.n.Member("layout"); ok {
		r.out.Span = m.KeySpan
	}
	if v.present() && (v.n.Kind != node.Number || v.n.Text != "1") {
		v.problem(ruleForm, "layout must be 1, the version of the format that this program reads, not %s", v.kind())
	}
	title := top.at("title")
	r.out.Title, _ = title.text()
	if title.present() {
		r.out.TitleSpan = title.n.Span
	}
	top.at("$schema").text()
}
