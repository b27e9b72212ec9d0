package report_test

import (
	"bytes"
	stdjson "encoding/json"
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
	"busgauss/rules/report/codequality"
	"busgauss/rules/report/github"
	"busgauss/rules/report/internal/sample"
	"busgauss/rules/report/json"
	"busgauss/rules/report/junit"
	"busgauss/rules/report/markdown"
	"busgauss/rules/report/sarif"
	"busgauss/rules/report/text"
)

// FuzzWriters gives every writer findings with any texts, numbers and places: what is written can be read as what it claims to be,
// holds no character that nobody sees and no command of a host, and is the same bytes a second time.
func FuzzWriters(f *testing.F) {
	for i, s := range sample.HostileTexts() {
		f.Add(s, "layout.yaml", "S", uint8(i), 1.5, math.Inf(1), int16(i), int16(-i))
	}
	f.Add("m", "a/b c.yaml", "é😀", uint8(0xff), math.NaN(), math.Copysign(0, -1), int16(30000), int16(1))
	f.Add("a full stop. And more", "../../x", "\xff", uint8(3), 5e-324, 1e308, int16(1), int16(2))
	f.Fuzz(func(t *testing.T, said, path, object string, kind uint8, value, limit float64, line, column int16) {
		if len(said)+len(path)+len(object) > 1000 {
			return
		}
		r := outcomeOf(said, path, object, kind, value, limit, line, column)
		for name, write := range map[string]func(io.Writer, *report.Result) error{
			"text": func(w io.Writer, r *report.Result) error {
				return text.Write(w, r, text.Options{Detail: true, Passes: true})
			},
			"narrow":      func(w io.Writer, r *report.Result) error { return text.Write(w, r, text.Options{Width: 30}) },
			"json":        func(w io.Writer, r *report.Result) error { return json.Write(w, r, json.Options{}) },
			"sarif":       func(w io.Writer, r *report.Result) error { return sarif.Write(w, r, sarif.Options{ExitCode: 1}) },
			"sarif-audit": func(w io.Writer, r *report.Result) error { return sarif.Write(w, r, sarif.Options{Audit: true}) },
			"github":      func(w io.Writer, r *report.Result) error { return github.Write(w, r, github.Options{}) },
			"junit": func(w io.Writer, r *report.Result) error {
				return junit.Write(w, r, junit.Options{FailLevel: finding.Note})
			},
			"codequality": func(w io.Writer, r *report.Result) error { return codequality.Write(w, r, codequality.Options{}) },
			"markdown":    func(w io.Writer, r *report.Result) error { return markdown.Write(w, r, markdown.Options{Passes: true}) },
		} {
			var out, again bytes.Buffer
			if err := write(&out, r); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if err := write(&again, r); err != nil || !bytes.Equal(out.Bytes(), again.Bytes()) {
				t.Fatalf("%s: another time other bytes, %v", name, err)
			}
			var command func(string) bool
			switch name {
			case "json", "sarif", "sarif-audit", "codequality":
				if !stdjson.Valid(out.Bytes()) {
					t.Fatalf("%s: no JSON:\n%s", name, out.Bytes())
				}
			case "junit":
				for d := xml.NewDecoder(&again); ; {
					if _, err := d.Token(); err == io.EOF {
						break
					} else if err != nil {
						t.Fatalf("%s: %v\n%s", name, err, out.Bytes())
					}
				}
			case "github":
				command = func(line string) bool {
					return strings.HasPrefix(line, "::error ") || strings.HasPrefix(line, "::warning ") || strings.HasPrefix(line, "::notice ")
				}
			}
			sample.Seen(t, said, out.Bytes(), command)
			if t.Failed() {
				t.Fatalf("written by %s", name)
			}
		}
	})
}

// outcomeOf makes an outcome that has the texts wherever one may stand; the bits of kind choose verdict, level and what else there is.
func outcomeOf(said, path, object string, kind uint8, value, limit float64, line, column int16) *report.Result {
	at := span.Span{File: path, Start: span.Pos{Line: int(line), Column: int(column)}, End: span.Pos{Line: int(line) + int(kind&1), Column: int(column) + 3}}
	fd := finding.Finding{Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Level(kind>>1) & 3, Object: object, Others: []string{said}, Cause: said,
		Span: at, Message: said, Remedy: said, Related: []finding.Related{{Span: at, Message: said}}, Details: []string{said, object}}
	if kind&8 != 0 {
		fd.Verdict = finding.Undecided
	}
	if kind&16 != 0 {
		fd.Measure = &finding.Measure{Value: value, Limit: limit, Unit: "1", Certainty: limit, Origin: said, Of: finding.Share{Whole: finding.Whole(kind & 7), Words: said[:min(len(said), int(kind)%9)]}}
		fd.Changes = []finding.Change{{Title: said, Effect: object, Edits: []finding.Edit{{Span: at, Text: said}}, Clears: []string{said}}}
	}
	pass := fd
	pass.Verdict, pass.Level, pass.Remedy, pass.Changes = finding.Pass, finding.None, "", nil
	none := pass
	none.Verdict, none.Measure = finding.NotApplicable, nil
	r := &report.Result{Tool: report.Tool{Name: "busgauss", Version: "0"}, Files: []report.File{{Path: path, RootPath: path, Data: []byte(said)}},
		Findings: []finding.Finding{fd}, Passed: []finding.Finding{pass}, NotApplicable: []finding.Finding{none},
		Assumed: []finding.Assumption{{Span: at, Object: object, Text: said}}}
	if kind&32 != 0 {
		p := fd
		p.Verdict = finding.Permitted
		r.Permitted = []report.Permission{{Finding: p, Was: fd.Verdict, Level: fd.Level, Reason: said, By: object, Ticket: said, Span: at}}
		r.Baseline = &report.Baseline{Worse: []finding.Finding{fd}, Absent: []finding.Finding{{Rule: "stray-ratio", Verdict: finding.Fail, Object: object, Span: at}}}
	}
	return r
}
