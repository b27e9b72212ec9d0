package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestClock runs with clocks that were never set, that are right and that are far ahead: a deviation that has ended
// permits nothing under any of them, the day that is given stands above all of them, and a part needs none.
func TestClock(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "a.yaml"), read(t, withFixtures(t), "failing/laminated-pair.yaml"))
	// The first finding, as FILE:LINE:COLUMN: LEVEL: OBJECT: ... [RULE].
	first, _, _ := strings.Cut(call(dir, "check", "--no-store", "--quiet", "a.yaml").out, "\n")
	object := strings.Split(first, ": ")[2]
	rule := strings.TrimSuffix(first[strings.LastIndex(first, "[")+1:], "]")
	write(t, filepath.Join(dir, "busgauss-deviations.yaml"), `deviations: 1
permits:
  - {file: a.yaml, rule: `+rule+`, object: "`+object+`", reason: "the yard is told", until: 2026-06-30, approver: Head of Yard, ticket: FER-9}
`)
	at := func(day string, args ...string) said {
		now, err := time.Parse(time.DateOnly, day)
		if err != nil {
			t.Fatal(err)
		}
		var out, errs bytes.Buffer
		status := run(context.Background(), args, Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Dir: dir,
			Env: func(string) string { return "" }, Now: func() time.Time { return now }})
		return said{status, out.String(), errs.String()}
	}
	for _, c := range []struct {
		clock, date string
		status      int
		word        string // in what is printed or said
	}{
		{"1970-01-01", "", 2, "the clock says 1970-01-01, which is before this program was written"}, {"1969-12-31", "", 2, "the clock says 1969-12-31"},
		{"2025-12-31", "", 2, "the clock says 2025-12-31"}, {"2026-01-01", "", 1, "permitted"}, {"2026-06-30", "", 1, "permitted"}, {"2026-07-01", "", 1, "ended"},
		{"2100-02-28", "", 1, "ended"}, {"9999-12-31", "", 1, "ended"}, {"1970-01-01", "2026-06-01", 1, "permitted"}, {"2100-01-01", "2026-06-01", 1, "permitted"},
	} {
		for _, command := range []string{"check --no-store a.yaml", "baseline --no-store a.yaml", "compare --no-store --all . .", "mend --dry-run a.yaml", "report --no-store --format markdown a.yaml"} {
			args := strings.Fields(command)
			if c.date != "" {
				args = append(args, "--date", c.date)
			}
			got := at(c.clock, args...)
			os.Remove(filepath.Join(dir, "busgauss-baseline.yaml")) // where baseline wrote one
			if c.status == 2 && (got.status != 2 || !strings.Contains(got.err, c.word)) {
				t.Errorf("%s at %s: %+v", command, c.clock, got)
			}
			if c.status == 1 && args[0] == "check" && (got.status != 1 || !strings.Contains(got.out, c.word)) {
				t.Errorf("%s at %s, --date %q: %+v", command, c.clock, c.date, got)
			}
			if c.status == 1 && (got.status == 2 || strings.Contains(got.err, "clock")) {
				t.Errorf("%s at %s: %+v", command, c.clock, got)
			}
		}
	}
	if got := at("1970-01-01", "check", "--no-store", "--part", "1/1", "-o", "part=p", "a.yaml"); got.status != 0 {
		t.Errorf("a part: %+v", got)
	}
}
