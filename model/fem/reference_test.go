package fem

import (
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
)

var bracket = regexp.MustCompile(`\[([^\[\]]*)\]`)

// referenceRows returns the rows of numbers in a block of a file of
// fixtures/reference: the block begins at the line "key:" at the left margin, and
// within it, when sub is not empty, at the line that holds sub. Rows end at the next
// line that is not deeper. Brackets that hold words are no rows.
func referenceRows(t *testing.T, file, key, sub string) [][]float64 {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+file)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
	inBlock, inSub, depth := false, sub == "", 0
	for line := range strings.Lines(string(b)) {
		indent := len(line) - len(strings.TrimLeft(line, " "))
		switch {
		case strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#"):
			continue
		case indent == 0:
			inBlock = strings.HasPrefix(line, key+":")
			inSub = sub == ""
			continue
		case !inBlock:
			continue
		case sub != "" && strings.Contains(line, sub):
			inSub, depth = true, indent
		case sub != "" && inSub && indent <= depth:
			inSub = false
		}
		if !inSub {
			continue
		}
	groups:
		for _, m := range bracket.FindAllStringSubmatch(line, -1) {
			var row []float64
			for cell := range strings.SplitSeq(m[1], ",") {
				v, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
				if err != nil {
					continue groups
				}
				row = append(row, v)
			}
			rows = append(rows, row)
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s: no rows under %s %s", file, key, sub)
	}
	return rows
}

// csvRows returns the numbers of a table; empty cells are 0.
func csvRows(t *testing.T, file string) [][]float64 {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+file)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
lines:
	for line := range strings.Lines(string(b)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var row []float64
		for cell := range strings.SplitSeq(strings.TrimSpace(line), ",") {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil && cell != "" {
				continue lines
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s: no rows", file)
	}
	return rows
}
