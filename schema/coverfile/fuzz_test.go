package coverfile

import (
	"strings"
	"testing"

	"busgauss/model/finding"
)

// FuzzRead reads any text as a cover: no panic, a problem wherever the text is none, every problem inside the file and
// in one line, and of a cover that is sound no line that breaks a page.
func FuzzRead(f *testing.F) {
	f.Add("cover: 1\ncustomer: N\ndrawing: 1042\nhistory:\n  - {mark: A, date: 2026-03-02, what: first, by: A. Holm}\n")
	f.Add("cover: 1\nhistory: [{date: 2026-13-01}, 3, {by: A, by: B}]\n")
	f.Add("{\"cover\": 1, \"author\": \"a\\nb\"}")
	f.Add("cover: &a 1\nauthor: *a\n")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 2000 {
			return
		}
		c, problems := Read("cover.yaml", []byte(text))
		lines := 1 + strings.Count(text, "\n") + strings.Count(text, "\r")
		for _, p := range problems {
			if !p.Span.Valid() || p.Span.End.Line > lines || p.Level != finding.Error {
				t.Fatalf("%+v", p)
			}
			if p.Message == "" || strings.ContainsAny(p.Message, "\n\r") {
				t.Fatalf("message %q", p.Message)
			}
		}
		if len(problems) > 0 {
			return
		}
		said := []string{c.Customer, c.Drawing, c.Author, c.Reviewer}
		for _, i := range c.History {
			said = append(said, i.Mark, i.Date, i.What, i.By)
		}
		for _, s := range said {
			if strings.ContainsAny(s, "\n\r") || s != strings.TrimSpace(s) {
				t.Fatalf("%q stands on the cover", s)
			}
		}
	})
}
