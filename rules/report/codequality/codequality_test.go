package codequality

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/rules/report"
	"busgauss/rules/report/internal/sample"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

func written(t *testing.T, r *report.Result) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, Options{}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestGolden(t *testing.T) {
	fixtures.Golden(t, "findings.json", written(t, sample.Ferry()))
	fixtures.Golden(t, "nothing.json", written(t, &report.Result{}))
}

// problems holds a report against the fields that the host documents
// (gitlabhq/gitlabhq, doc/ci/testing/code_quality.md, "Code Quality report
// format"): an array without a byte order mark, description, check_name,
// fingerprint, severity of five words, location.path relative without "./",
// location.lines.begin. It is read without the types of the writer.
func problems(data []byte) []string {
	var found []string
	add := func(format string, args ...any) { found = append(found, fmt.Sprintf(format, args...)) }
	if !bytes.HasPrefix(data, []byte("[")) {
		add("does not start with an array")
	}
	var list []map[string]any
	if err := json.Unmarshal(data, &list); err != nil {
		return append(found, err.Error())
	}
	seen := map[string]bool{}
	for i, e := range list {
		for _, key := range []string{"description", "check_name", "fingerprint", "severity"} {
			if s, _ := e[key].(string); strings.TrimSpace(s) == "" || !utf8.ValidString(s) {
				add("%d: %s is %v", i, key, e[key])
			}
		}
		print, _ := e["fingerprint"].(string)
		if seen[print] || !regexp.MustCompile("^[0-9a-f]{64}$").MatchString(print) {
			add("%d: fingerprint %q", i, print)
		}
		seen[print] = true
		if !slices.Contains([]any{"info", "minor", "major", "critical", "blocker"}, e["severity"]) {
			add("%d: severity %v", i, e["severity"])
		}
		where, _ := e["location"].(map[string]any)
		path, _ := where["path"].(string)
		if path == "" || strings.HasPrefix(path, "/") || slices.Contains(strings.Split(path, "/"), "..") || path != "." && slices.Contains(strings.Split(path, "/"), ".") {
			add("%d: path %q", i, path)
		}
		lines, _ := where["lines"].(map[string]any)
		if begin, ok := lines["begin"].(float64); !ok || begin < 1 || begin != float64(int(begin)) {
			add("%d: begin %v", i, lines["begin"])
		}
		if len(e) != 5 || len(where) != 2 || len(lines) != 1 {
			add("%d: a field that is not documented: %v", i, e)
		}
	}
	return found
}

func TestDocumentedFields(t *testing.T) {
	outputs := map[string][]byte{"ferry": written(t, sample.Ferry()), "nothing": written(t, &report.Result{}), "many": written(t, sample.Many(50))}
	for _, s := range sample.HostileTexts() {
		outputs[s] = written(t, sample.Hostile(s))
		sample.Seen(t, s, outputs[s], nil)
		if bytes.Contains(outputs[s], []byte("##")) {
			t.Errorf("%q: output holds ##", s)
		}
	}
	for name, data := range outputs {
		for _, p := range problems(data) {
			t.Errorf("%q: %s", name, p)
		}
	}
}

// Each check must object to a report that breaks it.
func TestDocumentedFieldsSeeFaults(t *testing.T) {
	whole := string(written(t, sample.Ferry()))
	print := regexp.MustCompile(`"fingerprint": "([0-9a-f]{64})"`).FindAllStringSubmatch(whole, -1)
	for _, tc := range []struct{ from, to, want string }{
		{"[\n", "\ufeff[\n", "does not start"},
		{`"description": "undecided`, `"descriptions": "undecided`, "0: description"},
		{`"severity": "minor"`, `"severity": "note"`, "severity note"},
		{`"severity": "minor",`, ``, "severity is <nil>"},
		{`"path": "plant/`, `"path": "./plant/`, "path"},
		{`"path": "plant/`, `"path": "/plant/`, "path"},
		{`"begin": 21`, `"begin": 0`, "begin 0"},
		{`"begin": 21`, `"start": 21`, "begin <nil>"},
		{print[0][1], print[1][1], "fingerprint"},
		{`"check_name": "stray`, `"check": "stray`, "check_name"},
	} {
		if !strings.Contains(whole, tc.from) {
			t.Fatalf("nothing to break: %s", tc.from)
		}
		found := strings.Join(problems([]byte(strings.ReplaceAll(whole, tc.from, tc.to))), "\n")
		if !strings.Contains(found, tc.want) {
			t.Errorf("%s for %s: found %q, want %q", tc.to, tc.from, found, tc.want)
		}
	}
}

// A fingerprint outlives edits of numbers, words and lines, tells files and true
// doubles apart, and is no other finding's.
func TestFingerprints(t *testing.T) {
	prints := func(list ...finding.Finding) []string {
		r := sample.Ferry()
		r.Findings = list
		var out []string
		var entries []entry
		if err := json.Unmarshal(written(t, r), &entries); err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			out = append(out, e.Fingerprint)
		}
		return out
	}
	base := sample.Ferry().Findings[3]
	edited := base
	edited.Message, edited.Remedy, edited.Measure, edited.Level = "other", "other", nil, finding.Note
	edited.Span.Start.Line, edited.Span.End.Line = 90, 90
	edited.Others = []string{"W", "U"}
	if prints(base)[0] != prints(edited)[0] {
		t.Error("an edit elsewhere changes the fingerprint")
	}
	elsewhere, cause := base, base
	elsewhere.Span.File = "other.yaml"
	cause.Cause = "duty idle"
	all := append(prints(base, base, base, elsewhere, cause), prints(base, base)...)
	if slices.Compact(slices.Sorted(slices.Values(all[:5])))[0] == "" || len(slices.Compact(slices.Sorted(slices.Values(all[:5])))) != 5 {
		t.Errorf("not unique: %q", all[:5])
	}
	if all[5] != all[0] || all[6] != all[1] {
		t.Error("a double that goes changes the fingerprints of those before it")
	}
	// The same layout under another way of naming it.
	r := sample.Ferry()
	r.Files[0].Path = "bow thruster.yaml"
	r.Findings = []finding.Finding{base}
	r.Findings[0].Span.File = "bow thruster.yaml"
	var entries []entry
	if err := json.Unmarshal(written(t, r), &entries); err != nil || entries[0].Fingerprint != all[0] {
		t.Errorf("the fingerprint hangs on how the user named the file: %v", err)
	}
}

// The severities of levels, and that permitted findings stay out.
func TestSeverities(t *testing.T) {
	var entries []entry
	if err := json.Unmarshal(written(t, sample.Ferry()), &entries); err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.CheckName+" "+e.Severity)
	}
	want := "shield-saturation major, bar-heating minor, range-use major, stray-ratio critical, range-use info, file-missing critical"
	if strings.Join(got, ", ") != want {
		t.Errorf("got  %s\nwant %s", strings.Join(got, ", "), want)
	}
	if entries[0].Description[:11] != "undecided: " || entries[3].Location.Path != sample.RootPath {
		t.Errorf("%+v", entries)
	}
}

func TestWriterFailing(t *testing.T) {
	fixtures.Fails(t, func(w io.Writer) error { return Write(w, sample.Ferry(), Options{}) })
}
