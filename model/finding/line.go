package finding

import (
	"strings"
	"unicode"
)

// Line returns text of a file fit to stand in a line of a log: what cannot be seen is made visible, as Clean does, and no two
// number signs stay together, because build hosts take "##[" and "##vso[" for commands wherever they stand in a line
// (github.com/actions/runner, ActionCommand.cs).
func Line(s string) string {
	s = Clean(s)
	for strings.Contains(s, "##") {
		s = strings.ReplaceAll(s, "##", `#\#`)
	}
	return s
}

// WholeLine returns a line of a log that begins with text of a file: as Line, and with a backslash in front of "::", which
// hosts take for a command at the start of a line, after blanks too. Tabs stay, and a carriage return at the end.
func WholeLine(s string) string {
	s, returned := strings.CutSuffix(s, "\r")
	cells := strings.Split(s, "\t")
	for i := range cells {
		cells[i] = Line(cells[i])
	}
	s = strings.Join(cells, "\t")
	if rest := strings.TrimLeftFunc(s, unicode.IsSpace); strings.HasPrefix(rest, "::") {
		s = s[:len(s)-len(rest)] + `\` + rest
	}
	if returned {
		s += "\r"
	}
	return s
}
