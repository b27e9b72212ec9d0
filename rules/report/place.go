package report

import (
	"math"
	"strconv"

	"busgauss/model/span"
)

// Place returns the start and the end of s as numbers that every host accepts:
// lines and columns from 1 and an end that does not stand before the start. A
// span without a position becomes the first character's place of its file, for
// hosts refuse a whole report for one finding without a place.
func Place(s span.Span) (start, end span.Pos) {
	if s.Start.Line < 1 || s.Start.Column < 1 {
		return span.Pos{Line: 1, Column: 1}, span.Pos{Line: 1, Column: 1}
	}
	if !s.Valid() {
		return s.Start, s.Start
	}
	return s.Start, s.End
}

// Number returns v with six significant digits for a machine format, or nil
// when v is not finite: no such format has a word for that, and a number in its
// place would be an invention. Six digits are the most that processors with and
// without a fused multiply-add agree on.
func Number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	// The text just made always parses: even the largest float64, 1.797693e308,
	// rounds down.
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 5, 64), 64)
	if rounded == 0 {
		rounded = 0 // drops the sign of a negative zero, which reads as a fault
	}
	return &rounded
}
