package page

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules/audit"
)

func verdictFor(rule string, v finding.Verdict, margin float64) audit.Verdict {
	return audit.Verdict{Rule: rule, Object: "S", About: "S", Verdict: v, MarginShare: margin, Margin: "m"}
}

// The worst verdict of a rule counts, and the smallest margin among those as bad.
func TestEntryOf(t *testing.T) {
	nan := math.NaN()
	note := verdictFor("e", finding.Fail, -0.2)
	note.Level = finding.Note
	e := EntryOf(&audit.Page{Verdicts: []audit.Verdict{
		verdictFor("b", finding.Fail, -0.1), verdictFor("b", finding.Fail, -0.5), verdictFor("c", finding.Undecided, nan),
		verdictFor("b", finding.Pass, -0.9), verdictFor("a", finding.Pass, 0.3), verdictFor("a", finding.Pass, 0.2), verdictFor("d", finding.NotApplicable, nan), note,
	}}, "x.html")
	want := []RuleMargin{{"a", finding.Pass, false, 0.2}, {"b", finding.Fail, false, -0.5}, {"c", finding.Undecided, false, nan}, {"e", finding.Fail, true, -0.2}}
	if len(e.Rules) != len(want) {
		t.Fatalf("%+v", e.Rules)
	}
	for i, w := range want {
		if g := e.Rules[i]; g.Rule != w.Rule || g.Verdict != w.Verdict || g.Noted != w.Noted || g.Margin != w.Margin && !(math.IsNaN(g.Margin) && math.IsNaN(w.Margin)) {
			t.Errorf("%+v, want %+v", g, w)
		}
	}
	if want := (audit.Tally{Fail: 2, Noted: 1, Undecided: 1, Pass: 3, NotApplicable: 1}); e.Tally != want {
		t.Errorf("%+v", e.Tally)
	}
}

func TestIndexStructure(t *testing.T) {
	x := &Index{Cover: audit.Cover{Tool: "busgauss test", Title: "<i>\u202e"}}
	for _, name := range []string{"a", "b/<script>", strings.Repeat("long", 60)} {
		p := &audit.Page{Cover: audit.Cover{Path: name + ".yaml", Title: name}, Verdicts: []audit.Verdict{verdictFor("stray-ratio", finding.Fail, -0.3), verdictFor("placement", finding.Pass, 0.4)}}
		x.Entries = append(x.Entries, EntryOf(p, "page.html"))
	}
	x.Entries = append(x.Entries, Entry{Path: "broken.yaml", Broken: "it has <no> bars"})
	var out bytes.Buffer
	if err := WriteIndex(&out, x); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	cells := 0
	for _, e := range structure(t, page) {
		if e.name == "script" || e.name == "i" {
			t.Errorf("the index has <%s>", e.name)
		}
		if e.name == "td" && e.attr["data-verdict"] != "" {
			cells++
		}
	}
	if cells != 2*4 || !strings.Contains(page, `✕</span> <span class="q">-30.0 %`) || !strings.Contains(page, `✓</span> <span class="q">40.0 %`) || !strings.Contains(page, "it has &lt;no&gt; bars") {
		t.Errorf("%d cells\n%s", cells, page[strings.Index(page, "<main"):])
	}
	var again bytes.Buffer
	if err := WriteIndex(&again, x); err != nil || again.String() != page {
		t.Error("two indexes differ", err)
	}
}
