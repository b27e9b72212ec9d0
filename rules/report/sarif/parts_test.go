package sarif

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// RFC 3986, sections 3.3 and 4.2; "%" and a colon in a first segment are the
// cases that consumers are known to trip over.
func TestRelativeURI(t *testing.T) {
	for path, want := range map[string]string{
		"a/b.yaml": "a/b.yaml", "a b/#1.yaml": "a%20b/%231.yaml", "100%.yaml": "100%25.yaml", "q?.yaml": "q%3F.yaml",
		"fähre.yaml": "f%C3%A4hre.yaml", `a\b.yaml`: "a%5Cb.yaml", "c:x.yaml": "c%3Ax.yaml", "http://x/y": "http%3A/x/y",
		"C:/boards/a.yaml": "boards/a.yaml", "/boards/a.yaml": "boards/a.yaml", "../../a.yaml": "a.yaml", "./a//b.yaml": "a/b.yaml",
		"": ".", "/": ".", "..": ".", "...": "...", "-": "-", "[a].yaml": "%5Ba%5D.yaml", "\xff": "%FF", "a\nb": "a%0Ab",
	} {
		if got := relativeURI(path); got != want {
			t.Errorf("relativeURI(%q) = %q, want %q", path, got, want)
		}
	}
}

func TestMessageText(t *testing.T) {
	fail := finding.Finding{Rule: "r", Verdict: finding.Fail, Message: "m"}
	with := func(change func(*finding.Finding)) *finding.Finding {
		f := fail
		change(&f)
		return &f
	}
	for _, tc := range []struct {
		name string
		f    *finding.Finding
		want string
	}{
		{"plain", &fail, "m."},
		{"full stop kept", with(func(f *finding.Finding) { f.Message = "is it?" }), "is it?"},
		{"no message", with(func(f *finding.Finding) { f.Message = " " }), "r."},
		{"remedy", with(func(f *finding.Finding) { f.Remedy = "move it" }), "m. Try: move it."},
		{"undecided", with(func(f *finding.Finding) { f.Verdict = finding.Undecided }), "undecided (r): m."},
		{"escapes", with(func(f *finding.Finding) { f.Message = `a [b](1) \c` }), `a \[b\](1) \\c.`},
		{"links", with(func(f *finding.Finding) { f.Related = []finding.Related{{Message: "x[1]"}, {}} }),
			`m. See [x\[1\]](1). See [related place](2).`},
	} {
		if got := messageText(tc.f); got != tc.want {
			t.Errorf("%s: got %q, want %q", tc.name, got, tc.want)
		}
	}
}

// Links that no longer fit are left out whole, and every one before them stays.
func TestLinksEndWhereTheRoomEnds(t *testing.T) {
	f := finding.Finding{Rule: "r", Verdict: finding.Fail, Message: "m"}
	for range 60 {
		f.Related = append(f.Related, finding.Related{Message: strings.Repeat("x", 20)})
	}
	got := messageText(&f)
	if n := utf8.RuneCountInString(got); n > 1000 || n < 960 {
		t.Errorf("%d characters, want nearly 1000", n)
	}
	links := strings.Count(got, "See [")
	if last := fmt.Sprintf("](%d).", links); !strings.HasSuffix(got, last) {
		t.Errorf("%d links, the text ends with %q, want %q", links, got[len(got)-10:], last)
	}
}

func TestFit(t *testing.T) {
	for _, tc := range []struct {
		in    string
		limit int
		want  string
	}{
		{"abcdef", 6, "abcdef"}, {"abcdefg", 6, "abcde…"}, {"[[[", 6, `\[\[\[`}, {"[[[[", 6, `\[\[…`}, {"ab cdefg", 4, "ab…"},
		{"ééé", 2, "é…"}, {"a", 0, ""}, {"", 0, ""}, {"ab", 1, "…"},
	} {
		if got := escaped(tc.in, tc.limit); got != tc.want {
			t.Errorf("escaped(%q, %d) = %q, want %q", tc.in, tc.limit, got, tc.want)
		}
	}
	for limit := range 40 {
		if n := utf8.RuneCountInString(escaped(strings.Repeat(`[é\ `, 20), limit)); n > limit {
			t.Errorf("limit %d gives %d characters", limit, n)
		}
	}
}

func TestDuplicatesAreNumberedWithinAFile(t *testing.T) {
	prints := newFingerprints(newFiles([]report.File{{Path: layoutPath, Data: []byte(layoutText)}}))
	f := thruster().Findings[0]
	elsewhere := f
	elsewhere.Span.File = "other.yaml"
	var ends []string
	for _, g := range []*finding.Finding{&f, &f, &elsewhere} {
		own := prints.of(g)[identityName]
		ends = append(ends, own[strings.LastIndex(own, ":"):])
	}
	if got := strings.Join(ends, ""); got != ":1:2:1" {
		t.Errorf("got %s, want :1:2:1", got)
	}
	if _, ok := prints.of(&elsewhere)[lineHashName]; ok {
		t.Error("a line hash for a file that was not read")
	}
	f.Span = at(99, 1, 1)
	if _, ok := prints.of(&f)[lineHashName]; ok {
		t.Error("a line hash for a line that is not there")
	}
	f.Span = at(7, 3, 2)
	if got, want := prints.of(&f)[lineHashName], lineHashes([]byte(layoutText))[6]; got != want {
		t.Errorf("line 7 has the hash %q, want %q", got, want)
	}
}

func TestCatalogue(t *testing.T) {
	c := newCatalogue([]finding.Description{{ID: "stray-ratio", Title: "t", Help: "```\nx"}, {ID: "polarity"}, {ID: "polarity", Title: "again"}},
		[]finding.Finding{{Rule: "bad-key", Verdict: finding.Fail, Level: finding.Error}, {Rule: "gone", Verdict: finding.Undecided}}, "")
	var ids []string
	for i, r := range c.rules {
		ids = append(ids, r.ID)
		if c.index[r.ID] != i {
			t.Errorf("%s is said to stand at %d, stands at %d", r.ID, c.index[r.ID], i)
		}
	}
	if got := strings.Join(ids, " "); got != "bad-key polarity stray-ratio undecided" {
		t.Errorf("rules are %s", got)
	}
	if r := c.rules[1]; r.Name != "" || r.ShortDescription.Text != "polarity." || r.Help.Text != "polarity" {
		t.Errorf("a rule without texts became %+v", r)
	}
	if r := c.rules[2]; r.Name != "StrayRatio" || r.Help.Markdown != "**t.**\n\n````text\n```\nx\n````\n" {
		t.Errorf("the help of a rule became %q, its name %q", r.Help.Markdown, r.Name)
	}
}
