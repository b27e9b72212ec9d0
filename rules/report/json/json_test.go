package json

import (
	"bytes"
	stdjson "encoding/json"
	"flag"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"unicode"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/rules/report"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

// document is all that Write writes, in its order.
type document struct {
	Format        int          `json:"format"`
	Findings      []entry      `json:"findings"`
	Permitted     []permission `json:"permitted"`
	Passed        []entry      `json:"passed"`
	NotApplicable []entry      `json:"not_applicable"`
	Assumed       []assumption `json:"assumed"`
}

func written(t *testing.T, r *report.Result) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, Options{}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestGolden(t *testing.T) {
	for name, r := range map[string]*report.Result{"findings": battery(), "nothing": {}} {
		t.Run(name, func(t *testing.T) {
			got := written(t, r)
			fixtures.Golden(t, name+".json", got)
		})
	}
}

// TestEveryField reads the file as a stranger would, by the names published.
func TestEveryField(t *testing.T) {
	var doc map[string]any
	if err := stdjson.Unmarshal(written(t, battery()), &doc); err != nil {
		t.Fatal(err)
	}
	first := doc["findings"].([]any)[0].(map[string]any)
	want := map[string]any{
		"rule": "ambient-field", "verdict": "fail", "level": "error", "object": "SP", "others": []any{"cable feed", "cable return"},
		"cause": "duty charge", "value": 2.34123, "limit": 1.5, "at_least": false, "unit": "A",
		"margin":    -0.560823, // (1.5 - 2.3412345678) / 1.5
		"certainty": 0.000333333, "limit_origin": "needs.SP.accuracy", "path": "container/main bars.yaml",
		"line": 12., "column": 9., "end_line": 12., "end_column": 20.,
		"message": `foreign cables move sensor "SP" by 2.34 A, budget 1.5 A`,
		"remedy":  "cable feed from 120 to 190 mm away from SP: 2.34 A to 1.48 A",
		"related": []any{map[string]any{
			"path": "container/main bars.yaml", "line": 30., "column": 5., "end_line": 30., "end_column": 15., "message": "the nearer cable",
		}},
		"details": []any{"  amount  line", "  2.34 A  cable feed"},
		"changes": []any{},
	}
	if !reflect.DeepEqual(first, want) {
		t.Errorf("got\n%v\nwant\n%v", first, want)
	}
	for _, tc := range []struct {
		list  string
		index int
		key   string
		want  any
	}{
		{"findings", 1, "at_least", true},
		{"findings", 1, "margin", -0.3125}, // (0.0055 - 0.008) / 0.008
		{"findings", 1, "certainty", nil},
		{"findings", 2, "verdict", "undecided"},
		{"findings", 2, "value", nil},
		{"findings", 2, "limit", nil},
		{"findings", 2, "margin", nil},
		{"findings", 2, "certainty", nil},
		{"findings", 2, "unit", "T"},
		{"findings", 3, "value", nil},
		{"findings", 3, "path", ""},
		{"findings", 3, "line", 1.},
		{"findings", 3, "column", 1.},
		{"findings", 3, "others", []any{}},
		{"findings", 3, "related", []any{}},
		{"passed", 0, "verdict", "pass"},
		{"passed", 0, "value", -0.00276},
		{"passed", 0, "limit", 0.},
		{"passed", 0, "margin", 0.00276},
		{"not_applicable", 0, "verdict", "not applicable"},
		{"not_applicable", 0, "level", "none"},
		{"assumed", 0, "object", "P"},
		{"assumed", 0, "text", "temperature 20 °C"},
		{"assumed", 0, "line", 3.},
		{"assumed", 0, "column", 3.},
		{"assumed", 0, "path", "container/main bars.yaml"},
	} {
		got, there := doc[tc.list].([]any)[tc.index].(map[string]any)[tc.key]
		if !there || !reflect.DeepEqual(got, tc.want) {
			t.Errorf("%s[%d].%s is %v (%v), want %v", tc.list, tc.index, tc.key, got, there, tc.want)
		}
	}
	if doc["format"] != float64(Format) {
		t.Errorf("format is %v", doc["format"])
	}
}

// Keys stand in one order, so that a diff of two reports shows what changed.
func TestOrderOfKeys(t *testing.T) {
	text := string(written(t, battery()))
	last := -1
	for _, key := range []string{
		"format", "findings", "rule", "verdict", "level", "object", "others", "cause", "value", "limit", "at_least", "unit", "margin",
		"certainty", "limit_origin", "path", "line", "column", "end_line", "end_column", "message", "remedy", "related", "passed",
		"not_applicable", "assumed",
	} {
		at := strings.Index(text, `"`+key+`":`)
		if at <= last {
			t.Errorf("%q stands at byte %d, after byte %d was reached", key, at, last)
		}
		last = at
	}
}

func hostile(s string) *report.Result {
	place := span.Span{File: s, Start: span.Pos{Line: 1, Column: 1}, End: span.Pos{Line: 1, Column: 2}}
	f := finding.Finding{
		Rule: s, Verdict: finding.Fail, Level: finding.Error, Object: s, Others: []string{s}, Cause: s, Span: place,
		Measure: &finding.Measure{Unit: s, Origin: s, Value: math.NaN()}, Message: s, Remedy: s, Related: []finding.Related{{Span: place, Message: s}}, Details: []string{s},
	}
	return &report.Result{Findings: []finding.Finding{f}, Assumed: []finding.Assumption{{Span: place, Object: s, Text: s}}}
}

func TestHostileText(t *testing.T) {
	for _, s := range []string{
		"a\n::error::forged", "::error::x", "##[error]x", "##vso[task.complete]", "\x1b[2Ahidden", "\u202egnp\u202c", "a\u2028b\u0085c",
		"\x00\x7f", `","verdict":"pass`, `\`, "</script>", "\ufeff",
	} {
		data := written(t, hostile(s))
		for _, c := range string(data) {
			if c != '\n' && unicode.In(c, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) {
				t.Errorf("%q: output holds %q", s, c)
			}
		}
		if bytes.Contains(data, []byte("##")) {
			t.Errorf("%q: output holds ##", s)
		}
		for line := range bytes.Lines(data) {
			if bytes.HasPrefix(bytes.TrimSpace(line), []byte("::")) {
				t.Errorf("%q: line reads as a command: %q", s, line)
			}
		}
		var doc document
		if err := stdjson.Unmarshal(data, &doc); err != nil {
			t.Fatal(err)
		}
		e, a := doc.Findings[0], doc.Assumed[0]
		for _, exact := range []string{e.Rule, e.Object, e.Others[0], e.Cause, e.Path, e.Unit, e.Related[0].Path, a.Object, a.Path} {
			if exact != s {
				t.Errorf("%q: a name or path became %q", s, exact)
			}
		}
		for _, shown := range []string{e.Message, e.Remedy, e.LimitOrigin, e.Related[0].Message, e.Details[0], a.Text} {
			if shown != finding.Clean(s) {
				t.Errorf("%q: text for people became %q", s, shown)
			}
		}
		if e.Verdict != "fail" || e.Value != nil {
			t.Errorf("%q: the entry became %+v", s, e)
		}
	}
}

func TestWriterFailingAtEveryByte(t *testing.T) {
	fixtures.Fails(t, func(w io.Writer) error { return Write(w, battery(), Options{}) })
}
