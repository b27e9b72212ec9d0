package insulation

import (
	"math"
	"strconv"
)

// place says where a value lies in a table: at row lo when lo == hi, else the
// share of the way from row lo to row hi, which follows it.
type place struct {
	lo, hi int
	share  float64
}

// locate finds v among n rising row values. A value up to the first row takes
// that row: the distances rise with the row, so it is an upper bound. A value
// within 1e-9 of a row is that row, so that the rounding of "0.33 kV" into
// volts does not count as an interpolation. It reports false above the last
// row and for a value that is not a number.
func locate(n int, row func(int) float64, v float64) (place, bool) {
	for i := range n {
		at := row(i)
		switch {
		case same(v, at), i == 0 && v < at:
			return place{lo: i, hi: i}, true
		case v < at:
			below := row(i - 1)
			return place{lo: i - 1, hi: i, share: (v - below) / (at - below)}, true
		}
	}
	return place{}, false
}

func same(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(b) }

// between reports whether p lies between two rows.
func (p place) between() bool { return p.lo != p.hi }

// value interpolates linearly between the rows of p.
func (p place) value(column func(int) float64) float64 {
	low := column(p.lo)
	return low + float64((column(p.hi)-low)*p.share)
}

// text writes v with at most four significant digits and no exponent.
func text(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil { // infinite or not a number: as it is
		rounded = v
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

func kilovolts(v float64) string { return text(v/1000) + " kV" }

func millimetres(m float64) string { return text(m*1000) + " mm" }

// rowName names the rows of p by their values.
func (p place) rowName(name func(int) string) string {
	if p.between() {
		return name(p.lo) + " to " + name(p.hi)
	}
	return name(p.lo)
}

// positive reports whether v is a finite number above zero.
func positive(v float64) bool { return v > 0 && !math.IsInf(v, 1) }
