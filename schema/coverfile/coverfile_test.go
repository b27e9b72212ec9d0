package coverfile

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/model/finding"
)

func TestRead(t *testing.T) {
	got, problems := Read("cover.yaml", []byte(`cover: 1
customer: Nordholm Ferries
drawing: 1042
author: A. Holm
reviewed-by: "B. Sund"
history:
  - {mark: A, date: 2026-03-02, what: first issue, by: A. Holm}
  - {what: taller shield}
`))
	want := Cover{"Nordholm Ferries", "1042", "A. Holm", "B. Sund", []Issue{{"A", "2026-03-02", "first issue", "A. Holm"}, {What: "taller shield"}}}
	if len(problems) > 0 || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v", got, problems)
	}
	if got, problems := Read("c", []byte("cover: 1\n")); len(problems) > 0 || !reflect.DeepEqual(got, Cover{}) {
		t.Errorf("%+v, %v", got, problems)
	}
}

// Every problem has its line and column, and one does not hide the next.
func TestProblems(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"cover: 2\n", `1:8 cover must be 1, the version of the format that this program reads, not "2"`},
		{"customer: N\n", `1:1 the cover needs "cover: 1", the version of its format`},
		{"cover: 1\ncustomr: N\nauthor: [A]\n", `2:1 unknown key "customr" in the cover. Did you mean "customer"? Known keys: cover, customer, drawing, author, reviewed-by, history|3:9 author is a text, not a list`},
		{"cover: 1\nhistory: first\n", `2:10 history is a list of issues, not a text`},
		{"cover: 1\nhistory:\n  - A\n  - {mark: B, dat: 2026-01-01}\n  - {date: 2026-13-01, what: x}\n  - {by: A}\n", `3:5 issue 1 of history is a mapping of mark, date, what and by, not a text|` +
			`4:15 unknown key "dat" in issue 2 of history. Did you mean "date"? Known keys: mark, date, what, by|5:12 date of issue 3 of history: |6:6 issue 4 of history needs "mark" or "what"`},
		{"cover: 1\nauthor: \"  \"\ndrawing: \"a\\nb\"\n", `2:9 author is blank; leave the key out|3:10 drawing has more than one line`},
		{"- a\n", `1:1 a cover is a mapping of`},
		{"cover: 1\nauthor: A\nauthor: B\n", `3:1 `},
		{"cover: {\n", `1:8 `},
		{"", `1:1 `},
	} {
		_, problems := Read("cover.yaml", []byte(c.text))
		var got []string
		for _, f := range problems {
			if f.Verdict != finding.Fail || f.Level != finding.Error || f.Rule == "" || f.Span.File != "cover.yaml" {
				t.Errorf("%q: %+v", c.text, f)
			}
			got = append(got, fmt.Sprintf("%d:%d %s", f.Span.Start.Line, f.Span.Start.Column, f.Message))
		}
		if wants := strings.Split(c.want, "|"); !slices.EqualFunc(got, wants, strings.HasPrefix) {
			t.Errorf("%q:\n%q, want\n%q", c.text, got, wants)
		}
	}
}
