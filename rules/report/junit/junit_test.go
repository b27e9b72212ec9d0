package junit

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/rules/report"
	"busgauss/rules/report/internal/sample"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

func written(t *testing.T, r *report.Result, o Options) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestGolden(t *testing.T) {
	fixtures.Golden(t, "findings.xml", written(t, sample.Ferry(), Options{}))
	fixtures.Golden(t, "warnings.xml", written(t, sample.Ferry(), Options{FailLevel: finding.Warning}))
	fixtures.Golden(t, "nothing.xml", written(t, &report.Result{Tool: report.Tool{Name: "busgauss"}}, Options{}))
}

// The types below are those of a reader and not of the writer.
type xmlCounts struct {
	Tests    int `xml:"tests,attr"`
	Failures int `xml:"failures,attr"`
	Errors   int `xml:"errors,attr"`
	Skipped  int `xml:"skipped,attr"`
}

type xmlSuites struct {
	XMLName xml.Name `xml:"testsuites"`
	xmlCounts
	Suites []xmlSuite `xml:"testsuite"`
}

type xmlSuite struct {
	Name string `xml:"name,attr"`
	xmlCounts
	Cases []xmlCase `xml:"testcase"`
}

type xmlCase struct {
	Class   string      `xml:"classname,attr"`
	Name    string      `xml:"name,attr"`
	File    string      `xml:"file,attr"`
	Line    int         `xml:"line,attr"`
	Failure *xmlOutcome `xml:"failure"`
	Error   *xmlOutcome `xml:"error"`
	Skipped *xmlOutcome `xml:"skipped"`
}

type xmlOutcome struct {
	Type    string `xml:"type,attr"`
	Message string `xml:"message,attr"`
	Text    string `xml:",chardata"`
}

// readBack parses a report strictly and holds its counts against its cases, and
// the names against each other.
func readBack(t *testing.T, data []byte) xmlSuites {
	t.Helper()
	var out xmlSuites
	dec := xml.NewDecoder(bytes.NewReader(data))
	if err := dec.Decode(&out); err != nil {
		t.Fatalf("%v in %s", err, data)
	}
	if rest, err := dec.Token(); err != io.EOF && (err != nil || strings.TrimSpace(string(rest.(xml.CharData))) != "") {
		t.Fatalf("after the document: %v, %v", rest, err)
	}
	var total xmlCounts
	seen := map[string]bool{}
	for _, s := range out.Suites {
		var c xmlCounts
		for _, k := range s.Cases {
			c.Tests++
			for n, o := range map[*int]*xmlOutcome{&c.Failures: k.Failure, &c.Errors: k.Error, &c.Skipped: k.Skipped} {
				if o != nil {
					*n++
				}
			}
			if key := k.Class + "\x00" + k.Name; seen[key] {
				t.Errorf("case %q of %q stands twice", k.Name, k.Class)
			} else {
				seen[key] = true
			}
		}
		if c != s.xmlCounts || c.Tests == 0 {
			t.Errorf("suite %q says %+v, has %+v", s.Name, s.xmlCounts, c)
		}
		total = xmlCounts{total.Tests + c.Tests, total.Failures + c.Failures, total.Errors + c.Errors, total.Skipped + c.Skipped}
	}
	if total != out.xmlCounts {
		t.Errorf("the report says %+v, has %+v", out.xmlCounts, total)
	}
	return out
}

// Every verdict is a case: failures fail, undecided ones are errors and never
// pass, what is permitted or does not apply is skipped.
func TestCases(t *testing.T) {
	said := func(o Options) string {
		var lines []string
		for _, s := range readBack(t, written(t, sample.Ferry(), o)).Suites {
			for _, c := range s.Cases {
				line := fmt.Sprintf("%s:%d %s:", c.File, c.Line, c.Name)
				for kind, out := range map[string]*xmlOutcome{"failure": c.Failure, "error": c.Error, "skipped": c.Skipped} {
					if out != nil {
						line += " " + kind + " " + out.Type
					}
				}
				lines = append(lines, strings.Replace(line, sample.RootPath, "F", 1))
			}
		}
		return strings.Join(lines, "\n")
	}
	want := `F:30 shield-saturation S1: error undecided
F:6 bar-heating U: failure note
F:24 range-use SW: failure warning
F:21 stray-ratio SV with U, W; duty full ahead: failure error
F:22 range-use SU: skipped none
F:18 stray-ratio SU; duty full ahead: skipped permitted
F:8 bar-heating W: skipped permitted
F:18 linear-range SU; duty full ahead:
F:18 polarity SU:
F:30 shield-sheet S1: skipped not applicable
busgauss:1 file-missing: failure error`
	if got := said(Options{}); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got := said(Options{FailLevel: finding.Warning}); got != strings.Replace(want, "failure note", "skipped note", 1) {
		t.Errorf("from warnings: got\n%s", got)
	}
	want = strings.NewReplacer("failure note", "skipped note", "failure warning", "skipped warning", "error undecided", "skipped undecided").Replace(want)
	if got := said(Options{FailLevel: finding.Error}); got != want {
		t.Errorf("from errors: got\n%s", got)
	}
}

// The text of an element has all that a case says, for readers differ in what
// else they look at.
func TestTexts(t *testing.T) {
	var got []string
	for _, s := range readBack(t, written(t, sample.Ferry(), Options{})).Suites {
		for _, c := range s.Cases {
			for _, o := range []*xmlOutcome{c.Failure, c.Error, c.Skipped} {
				if o != nil {
					got = append(got, o.Text)
				}
			}
		}
	}
	for _, want := range []string{
		`plant/ferry/bow thruster.yaml:21:9: error: neighbours move sensor "SV" by 3.35 % of own field, 13.4 A, budget 2 % [stray-ratio]
try: SV from 6.0 to 4.3 mm above V: 3.35 % to 1.9 %; output rises 14 %
about: SV with U, W; duty full ahead
number: 0.0335, limit at most 0.0200 (house standard, stray-ratio.budget), margin -67.5 %, certain to ±0.0400 %
| amount  line
| 13.4 A  bar U
see: plant/ferry/bow thruster.yaml:6:3: bar "U" gives the larger share`,
		`plant/ferry/bow thruster.yaml:30:3: warning: undecided: wall flux density of an open channel is not computed yet [shield-saturation]
about: S1
number: no value, limit at most 1.20 T, certainty not known`,
		`plant/ferry/bow thruster.yaml:18:9: none: permitted: other bars move it by 2.10 % [stray-ratio]
about: SU; duty full ahead
permitted until 2026-12-31, by Head of Design, FER-12: prototype`,
		`plant/ferry/bow thruster.yaml:8:3: none: permitted: as it was [bar-heating]
about: W
permitted recorded in the baseline`,
		"busgauss: error: no layout in the directory [file-missing]",
	} {
		if !slices.Contains(got, want) {
			t.Errorf("no case says\n%s\nbut\n%s", want, strings.Join(got, "\n----\n"))
		}
	}
}

// A name hangs on what a finding is about and not on its numbers, so that hosts
// know it again.
func TestNamesHold(t *testing.T) {
	r := sample.Ferry()
	names := func() (out []string) {
		for _, s := range readBack(t, written(t, r, Options{})).Suites {
			for _, c := range s.Cases {
				out = append(out, c.Class+": "+c.Name)
			}
		}
		return out
	}
	before := names()
	for i := range r.Findings {
		r.Findings[i].Message, r.Findings[i].Measure, r.Findings[i].Span.Start.Line = "other", nil, 2
	}
	if after := names(); !slices.Equal(before, after) {
		t.Errorf("before %q\nafter %q", before, after)
	}
	r.Findings = append(r.Findings, r.Findings[3], r.Findings[3])
	doubled := names()
	for _, want := range []string{" (2)", " (3)"} {
		if !slices.Contains(doubled, sample.RootPath+": stray-ratio SV with U, W; duty full ahead"+want) {
			t.Errorf("%q", doubled)
		}
	}
}

func TestHostileText(t *testing.T) {
	for _, s := range append(sample.HostileTexts(), strings.Repeat("&", 5000)) {
		data := written(t, sample.Hostile(s), Options{})
		sample.Seen(t, s, data, nil)
		// The counts and the shape hold whatever the names.
		if got := readBack(t, data).xmlCounts; got != (xmlCounts{Tests: 5, Failures: 1, Errors: 1, Skipped: 2}) {
			t.Errorf("%q: %+v", s, got)
		}
		if bytes.Contains(data, []byte("system-out")) || bytes.Contains(data, []byte("<!")) {
			t.Errorf("%q: %s", s, data)
		}
	}
}

// XML 1.0, 5th edition, section 2.2: what cannot be a character of a document.
func TestCharacters(t *testing.T) {
	for in, want := range map[string]string{
		"a<b>&\"c\"": `a&lt;b&gt;&amp;"c"`, "\x00\x0b\x1f": `\u0000\u000b\u001f`, "\ufffe\uffff": `\ufffe\uffff`, "\ufffd": "\ufffd",
		"a\tb\nc": "a\tb\nc", "\r": `\u000d`, "\ud7ff\ue000\U00010000\U0010ffff": "\ud7ff\ue000\U00010000\U0010ffff",
	} {
		if got := content(in); got != want {
			t.Errorf("content(%q) = %q, want %q", in, got, want)
		}
	}
	if got := attribute("a\"\n\t<"); got != `a&quot;\n\t&lt;` {
		t.Errorf("attribute: %q", got)
	}
}

func TestWriterFailing(t *testing.T) {
	fixtures.Fails(t, func(w io.Writer) error { return Write(w, sample.Ferry(), Options{}) })
}
