// Package span holds positions in a text file: data only.
package span

import "fmt"

// Pos is a place in a file. Line and Column count from 1; columns count code
// points. The zero value means "no position".
type Pos struct {
	Line, Column int
}

// Before reports whether p stands before q.
func (p Pos) Before(q Pos) bool {
	return p.Line < q.Line || p.Line == q.Line && p.Column < q.Column
}

// Span is a stretch of a file. Start is the place of its first character, End
// the place after its last one, so an empty stretch has End equal to Start.
// File is the path as the user gave it, with forward slashes.
type Span struct {
	File       string
	Start, End Pos
}

// Valid reports whether s has a position: a line and a column from 1 and an
// end that does not stand before its start.
func (s Span) Valid() bool {
	return s.Start.Line >= 1 && s.Start.Column >= 1 && !s.End.Before(s.Start)
}

// String returns the start as file:line:column.
func (s Span) String() string {
	return fmt.Sprintf("%s:%d:%d", s.File, s.Start.Line, s.Start.Column)
}
