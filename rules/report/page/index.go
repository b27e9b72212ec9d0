package page

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/si"
	"busgauss/rules/audit"
	"busgauss/rules/report/figure"
)

//go:embed index.tmpl
var indexTemplate string

// Index is the list of several pages.
type Index struct {
	Cover   audit.Cover // of all of them
	Entries []Entry
}

// Entry is one layout of an index.
type Entry struct {
	Path, Title, Href                string
	Broken                           string // why there is no page
	Fail, Undecided, Permitted, Pass int
	Smallest                         string // margin, with its rule and object
	Rules                            []RuleMargin
}

// RuleMargin is the worst verdict of one rule in a layout, and the smallest margin
// among those that are as bad.
type RuleMargin struct {
	Rule    string
	Verdict finding.Verdict
	Margin  float64 // share of the limit; NaN: none
}

// EntryOf returns the entry of a page that stands in the file named.
func EntryOf(p *audit.Page, href string) Entry {
	n := tally(p)
	e := Entry{
		Path: p.Cover.Path, Title: p.Cover.Title, Href: href,
		Fail: n[finding.Fail], Undecided: n[finding.Undecided], Permitted: n[finding.Permitted], Pass: n[finding.Pass],
	}
	place := map[string]int{}
	least := math.Inf(1)
	for i := range p.Verdicts { // the worst verdicts come first
		v := &p.Verdicts[i]
		if v.Verdict == finding.NotApplicable {
			continue
		}
		k, seen := place[v.Rule]
		if !seen {
			k = len(e.Rules)
			place[v.Rule] = k
			e.Rules = append(e.Rules, RuleMargin{v.Rule, v.Verdict, math.NaN()})
		}
		r := &e.Rules[k]
		if r.Verdict == v.Verdict && !(r.Margin <= v.MarginShare) {
			r.Margin = v.MarginShare
		}
		if v.MarginShare < least {
			least = v.MarginShare
			e.Smallest = fmt.Sprintf("%s, %s, %s", v.Margin, v.Rule, v.About)
		}
	}
	slices.SortStableFunc(e.Rules, func(a, b RuleMargin) int { return strings.Compare(a.Rule, b.Rule) })
	return e
}

// cleaned returns a copy of x that is safe to show.
func (x *Index) cleaned() *Index {
	out := &Index{Cover: x.Cover}
	out.Cover.Title, out.Cover.Revision, out.Cover.Standard = finding.Clean(x.Cover.Title), finding.Clean(x.Cover.Revision), finding.Clean(x.Cover.Standard)
	out.Cover.Tool, out.Cover.Date = finding.Clean(x.Cover.Tool), finding.Clean(x.Cover.Date)
	for _, e := range x.Entries {
		e.Path, e.Title, e.Broken, e.Smallest = finding.Clean(e.Path), finding.Clean(e.Title), finding.Clean(e.Broken), finding.Clean(e.Smallest)
		out.Entries = append(out.Entries, e)
	}
	return out
}

// rules returns every rule of the entries, sorted.
func (x *Index) rules() []string {
	var out []string
	for i := range x.Entries {
		for _, r := range x.Entries[i].Rules {
			out = append(out, r.Rule)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// of returns what an entry says of a rule; the zero verdict where it says nothing.
func (e *Entry) of(rule string) RuleMargin {
	for _, r := range e.Rules {
		if r.Rule == rule {
			return r
		}
	}
	return RuleMargin{Rule: rule, Margin: math.NaN()}
}

// text is the word of a cell.
func (r *RuleMargin) text() string {
	switch {
	case r.Verdict == 0:
		return ""
	case math.IsNaN(r.Margin):
		return r.Verdict.String()
	}
	return si.Percent(r.Margin)
}

func stateOf(v finding.Verdict) figure.State {
	switch v {
	case finding.Pass:
		return figure.Pass
	case finding.Fail:
		return figure.Fail
	case finding.Permitted:
		return figure.Permitted
	case 0:
		return figure.Absent
	}
	return figure.Undecided
}

type indexView struct {
	Policy  string
	CSS     template.CSS
	Cover   audit.Cover
	Caution string
	Rows    []Entry
	Heat    template.HTML
	Rules   []ruleRow
}

type ruleRow struct {
	Rule  string
	Cells []ruleCell
}

type ruleCell struct{ Class, Text string }

// WriteIndex writes an index as HTML and returns the first error.
func WriteIndex(w io.Writer, x *Index) error {
	t, err := template.New("index").Parse(indexTemplate)
	if err != nil {
		return fmt.Errorf("index: %w", err)
	}
	x = x.cleaned()
	css := styleSheet + figure.Style()
	v := indexView{Policy: policy(css, ""), CSS: template.CSS(css), Cover: x.Cover, Caution: audit.Caution, Rows: x.Entries}
	heat := figure.Heat{Frame: figure.Frame{ID: "margins-heat", Title: "Margins of each rule in each layout", Desc: "The table below says the same."}}
	for i := range x.Entries {
		heat.Columns = append(heat.Columns, x.Entries[i].Path)
	}
	for _, rule := range x.rules() {
		row, cells := ruleRow{Rule: rule}, figure.HeatRow{Name: rule}
		for i := range x.Entries {
			r := x.Entries[i].of(rule)
			cell := ruleCell{Text: r.text(), Class: "none"}
			if r.Verdict != 0 {
				cell.Class = classOf(r.Verdict)
				if !math.IsNaN(r.Margin) {
					cell.Text = signOf(r.Verdict) + " " + cell.Text
				}
			}
			row.Cells = append(row.Cells, cell)
			cells.Cells = append(cells.Cells, figure.Cell{State: stateOf(r.Verdict), Text: heatText(r), Margin: r.Margin})
		}
		v.Rules = append(v.Rules, row)
		heat.Rows = append(heat.Rows, cells)
	}
	v.Heat = template.HTML(figure.DrawHeat(heat))
	var out strings.Builder
	if err := t.Execute(&out, v); err != nil {
		return fmt.Errorf("index: %w", err)
	}
	_, err = io.WriteString(w, out.String())
	return err
}

// heatText is the margin of a cell; its sign says the verdict.
func heatText(r RuleMargin) string {
	if math.IsNaN(r.Margin) {
		return ""
	}
	return si.Percent(r.Margin)
}
