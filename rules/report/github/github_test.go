package github

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/finding"
	"busgauss/model/span"
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
	fixtures.Golden(t, "findings.txt", written(t, sample.Ferry()))
	fixtures.Golden(t, "many.txt", written(t, sample.Many(12)))
	fixtures.Golden(t, "nothing.txt", written(t, &report.Result{Tool: report.Tool{Name: "busgauss"}}))
}

// annotation is a command as the host's runner reads it: what stands between "::"
// and the next "::", properties at commas, each at its first "=", escapes undone
// (github.com/actions/runner, ActionCommand.cs, TryParseV2).
type annotation struct {
	command, text string
	properties    map[string]string
}

func parse(line string) (annotation, bool) {
	line = strings.TrimLeft(line, " \t\u00a0")
	head, text, ok := strings.Cut(strings.TrimPrefix(line, "::"), "::")
	if !strings.HasPrefix(line, "::") || !ok {
		return annotation{}, false
	}
	undo := strings.NewReplacer("%0D", "\r", "%0A", "\n", "%3A", ":", "%2C", ",", "%25", "%")
	a := annotation{text: strings.NewReplacer("%0D", "\r", "%0A", "\n", "%25", "%").Replace(text), properties: map[string]string{}}
	var list string
	a.command, list, _ = strings.Cut(head, " ")
	for pair := range strings.SplitSeq(list, ",") {
		key, value, _ := strings.Cut(pair, "=")
		a.properties[strings.TrimSpace(key)] = undo.Replace(value)
	}
	return a, true
}

func annotations(got []byte) []annotation {
	var out []annotation
	for line := range strings.SplitSeq(string(got), "\n") {
		if a, ok := parse(line); ok {
			out = append(out, a)
		}
	}
	return out
}

// The host takes ten of a level; the worst come first and nothing is lost.
func TestTenALevel(t *testing.T) {
	for _, n := range []int{0, 1, 10, 11, 40} {
		got := written(t, sample.Many(n))
		var order []string
		for _, a := range annotations(got) {
			order = append(order, a.command)
		}
		k := min(n, 10)
		want := strings.Repeat("error ", k) + strings.Repeat("warning ", k) + strings.Repeat("notice ", k)
		if strings.TrimSpace(want) != strings.Join(order, " ") {
			t.Errorf("%d of a level: %v", n, order)
		}
		more := fmt.Sprintf("busgauss: %d more errors, %d more warnings, %d more notes without an annotation, listed below\n", n-10, n-10, n-10)
		if n == 11 {
			more = "busgauss: 1 more error, 1 more warning, 1 more note without an annotation, listed below\n"
		}
		if bytes.Contains(got, []byte(more)) != (n > 10) {
			t.Errorf("%d of a level:\n%s", n, got)
		}
		for _, word := range []string{"error", "warning", "note"} {
			for i := range n {
				if c := len(regexp.MustCompile(fmt.Sprintf(`\b%s number %d\b`, word, i)).FindAll(got, -1)); c != 1 {
					t.Errorf("%d of a level: %s %d stands %d times", n, word, i, c)
				}
			}
		}
	}
}

// What the runner reads is what was meant.
func TestProperties(t *testing.T) {
	at := func(l1, c1, l2, c2 int) span.Span {
		return span.Span{File: "a/b,c:100%.yaml", Start: span.Pos{Line: l1, Column: c1}, End: span.Pos{Line: l2, Column: c2}}
	}
	for _, tc := range []struct {
		in   span.Span
		want string
	}{
		{at(3, 5, 3, 9), "line 3 to 3, column 5 to 8"},
		{at(3, 5, 3, 5), "line 3 to 3, column 5 to 5"},
		{at(3, 5, 5, 2), "line 3 to 5, column  to "},
		{at(3, 5, 5, 1), "line 3 to 4, column  to "},
		{at(0, 0, 0, 0), "line 1 to 1, column 1 to 1"},
	} {
		r := &report.Result{Tool: report.Tool{Name: "busgauss"}, Findings: []finding.Finding{{
			Rule: "r", Verdict: finding.Fail, Level: finding.Error, Span: tc.in, Message: "50 %, a::b", Remedy: "c",
		}}}
		all := annotations(written(t, r))
		if len(all) != 1 {
			t.Fatalf("%d annotations", len(all))
		}
		p := all[0].properties
		got := fmt.Sprintf("line %s to %s, column %s to %s", p["line"], p["endLine"], p["col"], p["endColumn"])
		if got != tc.want || p["file"] != "a/b,c:100%.yaml" || p["title"] != "busgauss: r" || all[0].text != "50 %, a::b\ntry: c" {
			t.Errorf("%v: %s, %+v", tc.in, got, all[0])
		}
	}
}

// Undecided is a warning, whatever level its rule has; no level is no annotation;
// paths are those below the root.
func TestLevels(t *testing.T) {
	got := annotations(written(t, sample.Ferry()))
	var said []string
	for _, a := range got {
		said = append(said, a.command+" "+a.properties["file"]+" "+strings.TrimPrefix(a.properties["title"], "busgauss: "))
	}
	want := []string{
		"error " + sample.RootPath + " stray-ratio", "error  file-missing",
		"warning " + sample.RootPath + " shield-saturation", "warning " + sample.RootPath + " range-use",
		"notice " + sample.RootPath + " bar-heating",
	}
	if strings.Join(said, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(said, "\n"), strings.Join(want, "\n"))
	}
}

func TestHostileText(t *testing.T) {
	for _, s := range sample.HostileTexts() {
		got := written(t, sample.Hostile(s))
		all := annotations(got)
		if len(all) != 2 || all[0].command != "error" || all[1].command != "warning" {
			t.Errorf("%q: annotations %+v", s, all)
		}
		sample.Seen(t, s, got, func(line string) bool {
			return strings.HasPrefix(line, "::error file=") || strings.HasPrefix(line, "::warning file=")
		})
		for _, a := range all {
			for key := range a.properties {
				if !regexp.MustCompile("^(file|line|endLine|col|endColumn|title)$").MatchString(key) {
					t.Errorf("%q: property %q", s, key)
				}
			}
			if a.properties["line"] != "1" || strings.ContainsAny(strings.Replace(a.text, "\ntry: ", "", 1), "\r\n") {
				t.Errorf("%q: %+v", s, a)
			}
		}
	}
	long := written(t, sample.Hostile(strings.Repeat("%", 100000)))
	for line := range strings.SplitSeq(string(long), "\n") {
		if strings.HasPrefix(line, "::") && len(line) > 350000 {
			t.Errorf("a command of %d bytes", len(line))
		}
	}
	for _, a := range annotations(long) {
		if n := len([]rune(a.text)); n != 4000 {
			t.Errorf("text of %d characters", n)
		}
		if n := len([]rune(a.properties["title"])); n != 255 {
			t.Errorf("title of %d characters", n)
		}
	}
}

func TestWriterFailing(t *testing.T) {
	fixtures.Fails(t, func(w io.Writer) error { return Write(w, sample.Ferry(), Options{}) })
}
