package compare

import (
	"bytes"
	"encoding/json"
	"flag"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/schema"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

// sample sets every field of a report at least once, with s in what can hold text
// from a file.
func sample(s string) *Report {
	at := span.Span{File: "hw/" + s, Start: span.Pos{Line: 7, Column: 9}, End: span.Pos{Line: 7, Column: 12}}
	m := func(v finding.Verdict, level finding.Level, value, limit float64, unit string) *finding.Finding {
		return &finding.Finding{Rule: "stray-ratio", Object: "SV" + s, Cause: "haul" + s, Verdict: v, Level: level, Span: at, Message: "words " + s,
			Measure: &finding.Measure{Value: value, Limit: limit, Unit: unit, Certainty: 0.001}}
	}
	move := Change{Kind: "bar", Name: "V" + s, What: Moved, From: "[0 mm, 0 mm]", To: "[3 mm, 0 mm]"}
	load := Change{Kind: "duty", Name: "haul" + s, What: Changed, Part: "three phase rms", From: "200 A", To: "260 A"}
	open := m(finding.Undecided, finding.Warning, math.NaN(), 0.05, "1")
	plain := &finding.Finding{Rule: "geometry", Object: "V" + s, Verdict: finding.Fail, Level: finding.Error, Span: at, Message: "bars overlap " + s}
	return &Report{
		Base: Side{Name: "main" + s, Commit: strings.Repeat("0123456789", 4), MergeBase: true}, Head: Side{Name: "hw" + s},
		Unchanged: 7,
		Weaker: []finding.Finding{{Rule: ruleChecksGone, Verdict: finding.Fail, Level: finding.Error, Object: "SV" + s, Span: at, Message: "2 checks are gone " + s,
			Remedy: "bring them back " + s, Details: []string{"stray-ratio of SV: was pass", "placement of SV: was fail" + s}}},
		WeakerPermitted: []finding.Finding{{Rule: ruleLayoutGone, Verdict: finding.Permitted, Span: at, Message: "gone " + s, Details: []string{"gone " + s}}},
		Pairs: []Pair{{
			Before: "hw/" + s, After: "hw/" + s, Match: ByPath, Class: Worse, Changes: []Change{move, load},
			Objects: []Object{
				{Class: New, After: "", Checks: []Check{{Rule: "value-form", Class: New, After: &finding.Finding{Rule: "value-form", Verdict: finding.Fail, Level: finding.Error, Message: "not a number " + s}}}},
				{Kind: "sensor", Before: "SV" + s, After: "SV" + s, Class: Worse, Causes: []Change{move, load, load, load, load}, Checks: []Check{
					{Rule: "stray-ratio", Class: Worse, Before: m(finding.Pass, finding.None, 0.0439, 0.05, "1"), After: m(finding.Fail, finding.Error, 0.0522, 0.05, "1")},
					{Rule: "ambient-field", Class: Better, Before: m(finding.Pass, finding.None, 4, 5, "A"), After: m(finding.Pass, finding.None, 2, 5, "A")},
					{Rule: "accuracy", Class: Worse, Was: "8.00 %, now tighter", Before: m(finding.Pass, finding.None, 0.04, 0.08, "1"), After: open},
					{Rule: "placement", Class: Same, Before: m(finding.Pass, finding.None, 0.01, 0.05, "1"), After: m(finding.Pass, finding.None, 0.01, 0.05, "1")},
				}},
				{Kind: "bar", Before: "V" + s, After: "V2" + s, Own: true, Class: New, Checks: []Check{{Rule: "geometry", Class: New, After: plain}}},
				{Kind: "sensor", Before: "SX" + s, Class: Gone, Checks: []Check{{Rule: "stray-ratio", Class: Gone, Before: m(finding.Fail, finding.Error, 0.09, 0.05, "1")}}},
			},
		}, {
			Before: "old/" + s, After: "new/" + s, Match: ByContent,
		}, {
			Before: s, After: s, Match: ByPath, Class: Worse, Broken: true, Refused: "it is a symbolic link" + s,
		}, {
			After: "z/" + s, Class: New, Changes: []Change{{Kind: "bar", Name: s, What: Added}},
		}},
	}
}

var writers = map[string]func(io.Writer, *Report) error{
	"text.txt":     func(w io.Writer, r *Report) error { return WriteText(w, r, TextOptions{Level: finding.Warning}) },
	"same.txt":     func(w io.Writer, r *Report) error { return WriteText(w, r, TextOptions{Same: true}) },
	"compare.json": func(w io.Writer, r *Report) error { return WriteJSON(w, r, finding.Warning) },
	"compare.md": func(w io.Writer, r *Report) error {
		return WriteMarkdown(w, r, MarkdownOptions{Level: finding.Warning})
	},
	"shortened.md": func(w io.Writer, r *Report) error {
		return WriteMarkdown(w, r, MarkdownOptions{Level: finding.Warning, Limit: 3400})
	},
	"no-failure.md": func(w io.Writer, r *Report) error { return WriteMarkdown(w, &Report{Unchanged: 3}, MarkdownOptions{}) },
}

func TestGolden(t *testing.T) {
	for name, write := range writers {
		var out bytes.Buffer
		if err := write(&out, sample("winch.yaml")); err != nil {
			t.Fatal(err)
		}
		fixtures.Golden(t, name, out.Bytes())
	}
}

// TestSchema holds what is written against the published schema (json-schema.org,
// draft-07) and wants every property described.
func TestSchema(t *testing.T) {
	var root map[string]any
	if err := json.Unmarshal(Schema, &root); err != nil {
		t.Fatal(err)
	}
	for _, r := range []*Report{sample("winch.yaml"), {}} {
		var out bytes.Buffer
		if err := WriteJSON(&out, r, finding.Warning); err != nil {
			t.Fatal(err)
		}
		var v any
		if err := json.Unmarshal(out.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		leaves, err := schema.ValidateWith("urn:busgauss:schema:compare:1", Schema, v)
		if err != nil || len(leaves) > 0 {
			t.Error(err, leaves)
		}
		described(t, root, root, v, "")
	}
	var v map[string]any
	if err := json.Unmarshal([]byte(`{"format": 2}`), &v); err != nil {
		t.Fatal(err)
	}
	if leaves, err := schema.ValidateWith("urn:busgauss:schema:compare:1", Schema, v); err != nil || len(leaves) == 0 {
		t.Error("the schema takes another format", err)
	}
}

func described(t *testing.T, root, s map[string]any, v any, at string) {
	t.Helper()
	for s["$ref"] != nil {
		name, _ := strings.CutPrefix(s["$ref"].(string), "#/definitions/")
		s = root["definitions"].(map[string]any)[name].(map[string]any)
	}
	switch v := v.(type) {
	case map[string]any:
		properties, _ := s["properties"].(map[string]any)
		for name, value := range v {
			p, ok := properties[name].(map[string]any)
			if !ok {
				t.Errorf("%s/%s is not described", at, name)
				continue
			}
			described(t, root, p, value, at+"/"+name)
		}
	case []any:
		for _, value := range v {
			described(t, root, s["items"].(map[string]any), value, at+"/-")
		}
	}
}

// TestHostile puts text that could forge a line, a command or a colour into every
// place and wants none of it to work, and no line more than harmless text gives.
func TestHostile(t *testing.T) {
	for name, write := range writers {
		var plain bytes.Buffer
		if err := write(&plain, sample("x")); err != nil {
			t.Fatal(err)
		}
		lines := strings.Count(plain.String(), "\n")
		for _, s := range []string{
			"a\n::error::forged", "::error file=x::forged", "  ::warning::forged", "a\r::error::b", "##[error]forged", "###[x]", "##vso[task.complete]",
			"\x1b[2Ahidden", "\u009b31m", "\u202egnp", "\u2066x", "a\u2028b\u0085c", "\x00\x7f", "</code></td></table>\n\n# Forged", "<script>alert(1)</script>", "@everyone [x](y)",
		} {
			var out bytes.Buffer
			if err := write(&out, sample(s)); err != nil {
				t.Fatal(err)
			}
			got := out.String()
			// The shortened page has fewer rows of longer ones.
			if n := strings.Count(got, "\n"); n != lines && name != "shortened.md" {
				t.Errorf("%s, %q: %d lines, want %d:\n%s", name, s, n, lines, got)
			}
			for _, c := range got {
				if c != '\n' && unicode.In(c, unicode.Cc, unicode.Bidi_Control, unicode.Zl, unicode.Zp) {
					t.Errorf("%s, %q: output holds %q", name, s, c)
				}
			}
			for line := range strings.SplitSeq(got, "\n") {
				if strings.HasPrefix(strings.TrimLeftFunc(line, unicode.IsSpace), "::") || strings.Contains(line, "##[") || strings.Contains(line, "##vso") {
					t.Errorf("%s, %q: line reads as a command: %q", name, s, line)
				}
			}
			if strings.HasSuffix(name, ".md") && (strings.Contains(got, "<script>") || strings.Count(got, "<table>") != strings.Count(got, "</table>") || strings.Contains(got, "\n# ")) {
				t.Errorf("%s, %q: text became structure:\n%s", name, s, got)
			}
		}
	}
}

// TestMarkdownLimit wants a page to stay below its limit and to say what is left
// out.
func TestMarkdownLimit(t *testing.T) {
	r := sample("x")
	r.Pairs = slices.Repeat(r.Pairs, 40)
	for _, limit := range []int{2500, 5000, 20000} {
		var out bytes.Buffer
		if err := WriteMarkdown(&out, r, MarkdownOptions{Level: finding.Warning, Limit: limit}); err != nil {
			t.Fatal(err)
		}
		if out.Len() > limit || !strings.Contains(out.String(), " more lines are in the log") {
			t.Errorf("limit %d: %d bytes", limit, out.Len())
		}
	}
}

func TestWriterFails(t *testing.T) {
	for _, write := range writers {
		fixtures.Fails(t, func(w io.Writer) error { return write(w, sample("x")) })
	}
}
