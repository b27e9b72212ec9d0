package policy

import (
	"strings"
	"testing"
)

// Differences of days by counting on a calendar; 2000 is a leap year, 1900 is
// none (Gregorian rule). Day 730120 is 1 January 2000: 1999·365 + 499 - 19 + 4
// leap days + 1.
func TestDate(t *testing.T) {
	for _, c := range []struct {
		text string
		want Date
	}{
		{"0001-01-01", 1},
		{"2000-01-01", 1999*365 + 499 - 19 + 4 + 1},
		{"2000-02-29", 1999*365 + 499 - 19 + 4 + 60},
		{"2000-12-31", 1999*365 + 499 - 19 + 4 + 366},
		{"2001-01-01", 1999*365 + 499 - 19 + 4 + 367},
	} {
		got, err := ParseDate(c.text)
		if err != nil || got != c.want {
			t.Errorf("%s: %d, %v, want %d", c.text, got, err, c.want)
		}
		if got.String() != c.text {
			t.Errorf("%s prints as %s", c.text, got)
		}
	}
}

func TestDateRefused(t *testing.T) {
	for _, text := range []string{
		"", "31.12.2026", "2026-13-01", "2026-02-30", "1900-02-29", "2026-1-1", "20261231",
		"2026-12-31T00:00:00Z", " 2026-12-31", "2026/12/31", "0000-01-01", "12026-12-31", strings.Repeat("2", 100), "2026\n",
	} {
		if d, err := ParseDate(text); err == nil {
			t.Errorf("%q is taken for %s", text, d)
		} else if strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: message of two lines", text)
		}
	}
}
