package edit

import (
	"testing"

	"busgauss/model/finding"
	"busgauss/model/span"
)

func at(l1, c1, l2, c2 int, text string) finding.Edit {
	return finding.Edit{Span: span.Span{File: "a.yaml", Start: span.Pos{Line: l1, Column: c1}, End: span.Pos{Line: l2, Column: c2}}, Text: text}
}

// Line ends are those of YAML 1.2, section 5.4; columns count code points.
func TestApply(t *testing.T) {
	for _, c := range []struct {
		name, in, want string
		edits          []finding.Edit
	}{
		{"token", "a: 5 mm # keep\nb: 6 mm\n", "a: 7.5 mm # keep\nb: 6 mm\n", []finding.Edit{at(1, 4, 1, 8, "7.5 mm")}},
		{"two out of order", "a: 1\nb: 2\n", "a: 3\nb: 4\n", []finding.Edit{at(2, 4, 2, 5, "4"), at(1, 4, 1, 5, "3")}},
		{"same twice", "a: 1\n", "a: 3\n", []finding.Edit{at(1, 4, 1, 5, "3"), at(1, 4, 1, 5, "3")}},
		{"CR LF kept", "a: 1\r\nb: 2\r\n", "a: 1\r\nb: 4\r\n", []finding.Edit{at(2, 4, 2, 5, "4")}},
		{"lone CR kept", "a: 1\rb: 2\r", "a: 1\rb: 4\r", []finding.Edit{at(2, 4, 2, 5, "4")}},
		{"code points", "µ: 😀5 mm\n", "µ: 😀6 mm\n", []finding.Edit{at(1, 5, 1, 6, "6")}},
		{"insert", "a: {b: 1}\n", "a: {b: 1, c: 2}\n", []finding.Edit{at(1, 9, 1, 9, ", c: 2")}},
		{"over lines", "a: 1\nb: 2\nc: 3\n", "a: c: 3\n", []finding.Edit{at(1, 4, 3, 1, "")}},
		{"at the end without line end", "a: 1", "a: 12", []finding.Edit{at(1, 5, 1, 5, "2")}},
	} {
		got, err := Apply(c.in, c.edits)
		if err != nil || got != c.want {
			t.Errorf("%s: %q, %v; want %q", c.name, got, err, c.want)
		}
	}
	for name, edits := range map[string][]finding.Edit{
		"overlap":          {at(1, 1, 1, 3, "x"), at(1, 2, 1, 4, "y")},
		"beyond the line":  {at(1, 9, 1, 9, "x")},
		"beyond the lines": {at(4, 1, 4, 1, "x")},
		"no place":         {at(0, 0, 0, 0, "x")},
		"end before start": {at(1, 3, 1, 2, "x")},
		"two at one place": {at(1, 1, 1, 2, "x"), at(1, 1, 1, 2, "y")},
	} {
		if got, err := Apply("a: 1\nb: 2\n", edits); err == nil {
			t.Errorf("%s: gives %q", name, got)
		}
	}
}
