package policy

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Date is a day of the calendar, as the number of days since 1 January of the
// year 1. The zero value is no day.
type Date int

// ParseDate reads a day in the extended form of ISO 8601-1:2019, section 5.2.2.1:
// four digits of the year, two of the month, two of the day, joined by hyphens.
func ParseDate(text string) (Date, error) {
	// The length keeps out what time.Parse might take one day.
	day, err := time.Parse(time.DateOnly, text)
	if err != nil || len(text) != len(time.DateOnly) || day.Year() < 1 {
		return 0, fmt.Errorf("%s is not a day: write year-month-day, such as 2026-12-31", strconv.QuoteToASCII(clip(text)))
	}
	return Day(day.Year(), int(day.Month()), day.Day()), nil
}

// Day returns the day of the proleptic Gregorian calendar.
//
//	365 y + ⌊y/4⌋ - ⌊y/100⌋ + ⌊y/400⌋ days lie before the year y + 1
//
// Source: P. K. Seidelmann (ed.), Explanatory Supplement to the Astronomical
// Almanac, 1992, section 12.8 (rule of leap years; from memory).
func Day(year, month, day int) Date {
	y := year - 1
	before := 365*y + y/4 - y/100 + y/400
	return Date(before + time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).YearDay())
}

// String returns the day in the form that ParseDate reads.
func (d Date) String() string {
	return time.Date(1, 1, int(d), 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
}

func clip(text string) string {
	const most = 40
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "..."
}
