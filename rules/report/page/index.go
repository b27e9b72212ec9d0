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
	"busgauss/rules/report"
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
	Path, Title, Href string
	Broken            string // why there is no page
	Outcome           string // as on the page
	Tally             audit.Tally
	Smallest          string // margin, with its rule and object
	Rules             []RuleMargin
}

// RuleMargin is the worst verdict of one rule in a layout, and the smallest margin
// among those that are as bad.
type RuleMargin struct {
	Rule    string
	Verdict finding.Verdict
	Noted   bool    // it fails as a note only
	Margin  float64 // share of the limit; NaN: none
}

// EntryOf returns the entry of a page that stands in the file named.
func EntryOf(p *audit.Page, href string) Entry {
	e := Entry{Path: p.Cover.Path, Title: p.Cover.Title, Href: href, Outcome: p.Glance.Verdict, Tally: audit.Count(p.Verdicts)}
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
			e.Rules = append(e.Rules, RuleMargin{v.Rule, v.Verdict, v.Noted(), math.NaN()})
		}
		r := &e.Rules[k]
		if r.Verdict == v.Verdict && r.Noted == v.Noted() && !(r.Margin <= v.MarginShare) {
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
	out := &Index{Cover: clean(x.Cover)}
	for _, e := range x.Entries {
		e.Path, e.Title, e.Broken, e.Smallest = finding.Clean(e.Path), finding.Clean(e.Title), finding.Clean(e.Broken), finding.Clean(e.Smallest)
		out.Entries = append(out.Entries, e)
	}
	return out
}

// total counts the verdicts of all pages, and the pages.
func (x *Index) total() (t audit.Tally, pages int) {
	for i := range x.Entries {
		if x.Entries[i].Broken == "" {
			t, pages = t.Plus(x.Entries[i].Tally), pages+1
		}
	}
	return t, pages
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

// cell is what a matrix shows of r, without sign where the rule does not ask.
func (r *RuleMargin) cell() matrixCell {
	if r.Verdict == 0 {
		return matrixCell{Class: "none"}
	}
	v := audit.Verdict{Verdict: r.Verdict}
	if r.Noted {
		v.Level = finding.Note
	}
	out := matrixCell{Share: wordOf(&v)}
	out.Class, out.Sign = classAndSign(&v)
	if !math.IsNaN(r.Margin) {
		out.Share = si.Percent(r.Margin)
	}
	return out
}

type indexView struct {
	Policy              string
	CSS                 template.CSS
	Cover               audit.Cover
	Block, Document     []fact
	History             *table
	Caution             string
	Class, Sign, Result string
	Rows                []indexRow
	Total               audit.Tally
	Pages               string
	Tables              []matrixView
}

type indexRow struct {
	Entry
	Number      int
	Class, Sign string
}

// mostLayouts is how many layouts stand beside one another.
const mostLayouts = 8

// WriteIndex writes an index as HTML and returns the first error.
func WriteIndex(w io.Writer, x *Index) error {
	t, err := template.New("index").Funcs(functions).Parse(tableTemplate + indexTemplate)
	if err != nil {
		return fmt.Errorf("index: %w", err)
	}
	x = x.cleaned()
	css := styleSheet + figure.Style() + runningHead(&x.Cover)
	v := indexView{Policy: policy(css, ""), CSS: template.CSS(css), Cover: x.Cover, Caution: audit.Caution,
		Block: block(&x.Cover), Document: document(&x.Cover), History: history(&x.Cover)}
	var pages int
	v.Total, pages = x.total()
	v.Pages = report.Count(pages, "page")
	broken := len(x.Entries) - pages
	v.Result = x.result()
	v.Class, v.Sign = outcome(v.Total, broken)
	for i := range x.Entries {
		row := indexRow{Entry: x.Entries[i], Number: i + 1}
		row.Class, row.Sign = outcome(row.Tally, 0)
		v.Rows = append(v.Rows, row)
	}
	for from := 0; from < len(x.Entries); from += mostLayouts {
		v.Tables = append(v.Tables, x.matrix(from, min(from+mostLayouts, len(x.Entries))))
	}
	var out strings.Builder
	if err := t.Execute(&out, v); err != nil {
		return fmt.Errorf("index: %w", err)
	}
	_, err = io.WriteString(w, strings.TrimLeft(out.String(), "\n"))
	return err
}

// result says the outcome of all pages in one sentence.
func (x *Index) result() string {
	t, pages := x.total()
	text := "Every layout holds"
	fail, open := 0, 0
	for i := range x.Entries {
		if u := &x.Entries[i].Tally; u.Fail > 0 {
			fail++
		} else if u.Undecided > 0 {
			open++
		}
	}
	switch {
	case pages == 0:
		text = "There is no page"
	case fail > 0:
		text = fmt.Sprintf("%d of %s, %s in all", fail, report.Count(pages, "layout")+" fail", report.Count(t.Fail, "failure"))
		if fail == 1 {
			text = fmt.Sprintf("1 of %s fails, %s in all", report.Count(pages, "layout"), report.Count(t.Fail, "failure"))
		}
	case open > 0:
		text = "Nothing fails that could be computed"
	case t.Permitted > 0:
		text = "Every layout holds, with permissions"
	}
	if open > 0 {
		text += fmt.Sprintf("; %d not decided", open)
	}
	if broken := len(x.Entries) - pages; broken > 0 {
		text += fmt.Sprintf("; %d cannot be understood", broken)
	}
	return text + "."
}

// matrix is the margins of the entries from, to before end.
func (x *Index) matrix(from, end int) matrixView {
	v := matrixView{Caption: fmt.Sprintf("Worst margin of each rule in layouts %d to %d", from+1, end)}
	for i := from; i < end; i++ {
		v.Head = append(v.Head, fmt.Sprintf("%d. %s", i+1, short(x.Entries[i].Path)))
	}
	for _, rule := range x.rules() {
		row := matrixRow{Rule: rule}
		for i := from; i < end; i++ {
			r := x.Entries[i].of(rule)
			c := r.cell()
			c.Label = v.Head[i-from]
			row.Cells = append(row.Cells, c)
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

// short is the name of a file without folders and ending.
func short(path string) string {
	path = path[strings.LastIndexByte(path, '/')+1:]
	if k := strings.LastIndexByte(path, '.'); k > 0 {
		path = path[:k]
	}
	return path
}
