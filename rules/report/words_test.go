package report

import (
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
)

func place() span.Span {
	return span.Span{File: "a.yaml", Start: span.Pos{Line: 3, Column: 5}, End: span.Pos{Line: 3, Column: 9}}
}

func stray() finding.Finding {
	return finding.Finding{
		Rule: "stray-ratio", Verdict: finding.Fail, Level: finding.Error, Object: "SV", Others: []string{"U", "W"}, Cause: "duty full ahead",
		Measure: &finding.Measure{Value: 0.03, Limit: 0.02, Unit: "1"}, Span: place(), Message: "m", Remedy: "r",
	}
}

func TestIdentityHoldsOverEdits(t *testing.T) {
	base := stray()
	id := Identity(&base)
	same := map[string]func(*finding.Finding){
		"line":            func(f *finding.Finding) { f.Span = span.Span{} },
		"path":            func(f *finding.Finding) { f.Span.File = "elsewhere.yaml" },
		"message":         func(f *finding.Finding) { f.Message = "other" },
		"remedy":          func(f *finding.Finding) { f.Remedy = "other" },
		"number":          func(f *finding.Finding) { f.Measure = nil },
		"level":           func(f *finding.Finding) { f.Level = finding.Note },
		"order of others": func(f *finding.Finding) { f.Others = []string{"W", "U"} },
	}
	for name, change := range same {
		f := base
		change(&f)
		if Identity(&f) != id {
			t.Errorf("%s changes the identity", name)
		}
	}
	other := map[string]func(*finding.Finding){
		"rule":             func(f *finding.Finding) { f.Rule = "range-use" },
		"object":           func(f *finding.Finding) { f.Object = "SW" },
		"cause":            func(f *finding.Finding) { f.Cause = "duty idle" },
		"others":           func(f *finding.Finding) { f.Others = []string{"U"} },
		"border of others": func(f *finding.Finding) { f.Others = []string{"UW", ""} },
		"border of object": func(f *finding.Finding) { f.Object, f.Cause = f.Object+f.Cause, "" },
	}
	for name, change := range other {
		f := base
		change(&f)
		if Identity(&f) == id {
			t.Errorf("%s does not change the identity", name)
		}
	}
	base.Others = []string{"W", "U"}
	if Identity(&base); base.Others[0] != "W" {
		t.Error("the identity sorted the caller's names")
	}
}

func TestPermissionWords(t *testing.T) {
	day := policy.Day(2026, 12, 31)
	for _, c := range []struct {
		p    Permission
		want string
	}{
		{Permission{}, ""},
		{Permission{Reason: "prototype"}, "prototype"},
		{Permission{Reason: "prototype", Until: day, By: "Head of Design", Ticket: "FER-12"}, "until 2026-12-31, by Head of Design, FER-12: prototype"},
		{Permission{Baseline: true}, "recorded in the baseline"},
		{Permission{Baseline: true, Reason: "recorded in the baseline"}, "recorded in the baseline"},
		{Permission{Baseline: true, Reason: "old"}, "recorded in the baseline: old"},
		{Permission{Reason: "a\nb", By: "##[x]", Ticket: "\x1b"}, `by #\#[x], \x1b: a\nb`},
	} {
		if got := c.p.Words(); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.p, got, c.want)
		}
	}
}

func TestMessageAlwaysSaysSomething(t *testing.T) {
	for _, c := range []struct {
		f    finding.Finding
		want string
	}{
		{finding.Finding{Rule: "r", Verdict: finding.Fail, Message: "m"}, "m"},
		{finding.Finding{Rule: "r", Verdict: finding.Fail, Message: " "}, "r"},
		{finding.Finding{Rule: "r", Verdict: finding.Undecided, Message: "m"}, "undecided: m"},
		{finding.Finding{Rule: "r", Verdict: finding.Permitted}, "permitted: r"},
		{finding.Finding{Rule: "r", Message: "m"}, "no verdict: m"},
	} {
		if got := Message(&c.f); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// RFC 3986, section 5.2.4, names the segments that are dropped.
func TestRelative(t *testing.T) {
	for in, want := range map[string]string{
		"a/b.yaml": "a/b.yaml", "/a/b": "a/b", "C:/a": "a", "C:": ".", "c:x": "c:x", "../../a": "a", "./a//b": "a/b", "": ".", "..": ".", "...": "...", "a b": "a b",
	} {
		if got := Relative(in); got != want {
			t.Errorf("Relative(%q) = %q, want %q", in, got, want)
		}
	}
	p := NewPaths([]File{{Path: "../x/a.yaml", RootPath: "x/a.yaml"}, {Path: "b.yaml", RootPath: "y/b.yaml"}})
	for in, want := range map[string]string{"../x/a.yaml": "x/a.yaml", "b.yaml": "y/b.yaml", "/c.yaml": "c.yaml", "": "."} {
		if got := p.Root(in); got != want {
			t.Errorf("Root(%q) = %q, want %q", in, got, want)
		}
	}
	if i, ok := p.Index("b.yaml"); !ok || i != 1 {
		t.Errorf("b.yaml stands at %d, %v", i, ok)
	}
	if _, ok := p.Index("y/b.yaml"); ok {
		t.Error("a path below the root is taken for one that the user gave")
	}
}

func TestSummaryCountsWhatIsPermitted(t *testing.T) {
	r := &Result{Permitted: make([]Permission, 2), Passed: make([]finding.Finding, 3), NotApplicable: make([]finding.Finding, 1), Files: make([]File, 1)}
	if got, want := Summary(r), "0 findings, 3 checks passed in 1 file, 2 permitted, 1 not applicable"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestShownLevel(t *testing.T) {
	for _, l := range []finding.Level{finding.None, finding.Note, finding.Warning, finding.Error} {
		if got := ShownLevel(&finding.Finding{Verdict: finding.Fail, Level: l}); got != l {
			t.Errorf("failure at %s is shown as %s", l, got)
		}
		if got := ShownLevel(&finding.Finding{Verdict: finding.Undecided, Level: l}); got != finding.Warning {
			t.Errorf("undecided at %s is shown as %s", l, got)
		}
	}
}

func TestShorten(t *testing.T) {
	for _, c := range []struct {
		in    string
		limit int
		want  string
	}{{"abc", 3, "abc"}, {"abcd", 3, "ab…"}, {"ab cd", 4, "ab…"}, {"éé", 1, "…"}, {"a", 0, ""}} {
		if got := Shorten(c.in, c.limit); got != c.want {
			t.Errorf("Shorten(%q, %d) = %q, want %q", c.in, c.limit, got, c.want)
		}
	}
	if n := len([]rune(Shorten(strings.Repeat("é", 50), 20))); n != 20 {
		t.Errorf("%d characters", n)
	}
}
