package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// note is what a host makes of a line that a problem matcher matches.
type note struct{ severity, file, line, column, message, code string }

// matched reads lines as a build host does: each matcher has one pattern whose
// groups are numbered, and a severity for lines without one. The host knows the
// severities error, warning and notice and passes over others
// (github.com/actions/toolkit, docs/problem-matchers.md).
func matched(t *testing.T, matcher, text string) []note {
	t.Helper()
	var file struct {
		ProblemMatcher []struct {
			Owner, Severity string
			Pattern         []struct {
				Regexp                                      string
				File, Line, Column, Severity, Message, Code int
			}
		}
	}
	if err := json.Unmarshal([]byte(matcher), &file); err != nil {
		t.Fatal(err)
	}
	var out []note
	owners := map[string]bool{}
	for _, m := range file.ProblemMatcher {
		if len(m.Pattern) != 1 || owners[m.Owner] {
			t.Fatalf("matcher %q has %d patterns", m.Owner, len(m.Pattern))
		}
		owners[m.Owner] = true
	}
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\r\n")
		for _, m := range file.ProblemMatcher {
			p := m.Pattern[0]
			g := regexp.MustCompile(p.Regexp).FindStringSubmatch(line)
			if g == nil {
				continue
			}
			n := note{m.Severity, g[p.File], g[p.Line], g[p.Column], g[p.Message], g[p.Code]}
			if p.Severity > 0 {
				n.severity = g[p.Severity]
			}
			if !slices.Contains([]string{"error", "warning", "notice"}, n.severity) {
				t.Errorf("the host does not know the severity %q", n.severity)
			}
			out = append(out, n)
			break
		}
	}
	return out
}

// TestProblemMatcher holds what the matcher finds in the text of a run against
// the JSON of the same run: every finding once and nothing else.
func TestProblemMatcher(t *testing.T) {
	dir := withFixtures(t)
	for name, text := range map[string]string{
		"broken.yaml":  "layout: 1\nbars: {U: {section: {width: 20, thicknes: 3mm}, at: [0 mm, 0 A], metal: coper}}\nsensors: {S: {reads: X}}\n",
		"a b: #1.yaml": "layout: 1\n\"x\\n::error::y [z]\": 1\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	matcher := read(t, "../../../../.github", "busgauss-matcher.json")
	for _, options := range [][]string{nil, {"--detail", "--passes", "--remedies", "none"}, {"--quiet", "--remedies", "none"}} {
		got := call(dir, append(append([]string{"check", "-o", "json=o.json"}, options...),
			"failing/cable-car-winch.yaml", "failing/laminated-pair.yaml", "clean/ferry-thruster.yaml", "broken.yaml", "a b: #1.yaml")...)
		if got.status != 1 {
			t.Fatalf("%+v", got)
		}
		var want []note
		for _, f := range list(t, tree(t, read(t, dir, "o.json"))["findings"], "findings") {
			message := f["message"].(string)
			if f["verdict"] != "fail" {
				message = "undecided: " + message
			}
			severity := f["level"].(string)
			if severity == "note" {
				severity = "notice"
			}
			want = append(want, note{severity, f["path"].(string), fmt.Sprint(f["line"]), fmt.Sprint(f["column"]), message, f["rule"].(string)})
		}
		if found := matched(t, matcher, got.out); !slices.Equal(found, want) || len(want) < 15 {
			t.Errorf("%v: found %d, want %d:\n%q\n%q", options, len(found), len(want), found, want)
		}
	}
	// A level that the fixtures do not have.
	for line, want := range map[string]note{
		"a/b c.yaml:3:14: note: bar \"U\" is warm [bar-heating]":       {"notice", "a/b c.yaml", "3", "14", "bar \"U\" is warm", "bar-heating"},
		"a.yaml:3:14: warning: undecided: x [y]: z [shield-linearity]": {"warning", "a.yaml", "3", "14", "undecided: x [y]: z", "shield-linearity"},
	} {
		if found := matched(t, matcher, line+"\n"); len(found) != 1 || found[0] != want {
			t.Errorf("%s: %q", line, found)
		}
	}
	for _, line := range []string{
		"  try: move SV from 5.0 to 2.0 mm above V", "2 errors, 0 warnings, 0 notes, 1 undecided; 3 checks passed in 1 file",
		"a.yaml:3:14: pass: 1 T, limit at most 2 T [linear-range]", "a.yaml:3:14: none: x [y]", "  see: a.yaml:3:14: bar U",
	} {
		if found := matched(t, matcher, line+"\n"); len(found) != 0 {
			t.Errorf("%s: %q", line, found)
		}
	}
}
