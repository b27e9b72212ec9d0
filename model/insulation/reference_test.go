package insulation

import (
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// reference returns the lines of a file of fixtures/reference.
func reference(t *testing.T, name string) []string {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+name)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(b), "\n")
}

var rowLine = regexp.MustCompile(`^ +- \[([^\]]*)\]$`)

// block returns the cells of the rows "- [a, b, c]" in the first block of rows
// after the line that starts with head. It reads these files and no more YAML.
func block(t *testing.T, lines []string, head string) [][]string {
	t.Helper()
	var rows [][]string
	inside := false
	for _, line := range lines {
		if !inside {
			inside = strings.HasPrefix(line, head)
			continue
		}
		m := rowLine.FindStringSubmatch(line)
		if m == nil {
			if len(rows) > 0 {
				break
			}
			continue
		}
		cells := strings.Split(m[1], ",")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		rows = append(rows, cells)
	}
	if len(rows) == 0 {
		t.Fatalf("no rows after %q", head)
	}
	return rows
}

// number reads text times ten to the exponent, rounded once, so that "0.01"
// with -3 is the same float64 as the literal 0.01e-3.
func number(t *testing.T, text string, exponent int) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text+"e"+strconv.Itoa(exponent), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

var markText = regexp.MustCompile(`confidence:? ([A-D])`)

// mark returns the first confidence mark on or after the line that holds key.
func mark(t *testing.T, lines []string, key string) Confidence {
	t.Helper()
	for i, line := range lines {
		at := strings.Index(line, key)
		if at < 0 {
			continue
		}
		rest := append([]string{line[at:]}, lines[i+1:]...)
		for _, r := range rest {
			if m := markText.FindStringSubmatch(r); m != nil {
				return Confidence(m[1][0])
			}
		}
	}
	t.Fatalf("no confidence mark for %q", key)
	return 0
}

func wantMark(t *testing.T, what string, got, want Confidence) {
	t.Helper()
	if got != want {
		t.Errorf("%s: mark %v, reference %v", what, got, want)
	}
}

func TestImpulseTable(t *testing.T) {
	lines := reference(t, "impulse.yaml")
	row := regexp.MustCompile(`line_to_neutral_max_V: (\d+),(.*)cat: \[(\d+), (\d+), (\d+), (\d+)\], +confidence: ([A-D])`)
	n := 0
	for _, line := range lines {
		m := row.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		if n == len(impulseRows) {
			t.Fatalf("reference has more than %d rows", n)
		}
		want := impulseRow{
			lineToNeutralV: number(t, m[1], 0),
			dcOnly:         strings.Contains(m[2], "dc_only: true"),
			confidence:     Confidence(m[7][0]),
		}
		for i := range want.categoryV {
			want.categoryV[i] = number(t, m[3+i], 0)
		}
		if impulseRows[n] != want {
			t.Errorf("row %d: %v, reference %v", n, impulseRows[n], want)
		}
		n++
	}
	if n != len(impulseRows) {
		t.Errorf("%d rows read, %d in the table", n, len(impulseRows))
	}

	series := regexp.MustCompile(`^preferred_series_V: \[(.*)\]$`)
	found := false
	for _, line := range lines {
		if m := series.FindStringSubmatch(line); m != nil {
			found = true
			cells := strings.Split(m[1], ", ")
			if len(cells) != len(preferredV) {
				t.Fatalf("series %v, reference %v", preferredV, cells)
			}
			for i, c := range cells {
				if preferredV[i] != number(t, c, 0) {
					t.Errorf("series value %d: %v, reference %s", i, preferredV[i], c)
				}
			}
		}
	}
	if !found {
		t.Error("no preferred series in the reference")
	}
	if m := mark(t, lines, "preferred_series_confidence"); m > clearanceReinforced {
		t.Errorf("series is marked %v, the rule that uses it only %v", m, clearanceReinforced)
	}
}

func TestClearanceTable(t *testing.T) {
	lines := reference(t, "clearance.yaml")
	rows := block(t, lines, "case_A_inhomogeneous:")
	if len(rows) != len(clearanceRows) {
		t.Fatalf("%d rows, reference %d", len(clearanceRows), len(rows))
	}
	for i, cells := range rows {
		want := clearanceRow{
			impulseV:   number(t, cells[0], 3),
			confidence: Confidence(cells[4][0]),
		}
		for d := range want.distanceM {
			want.distanceM[d] = number(t, cells[1+d], -3)
		}
		if clearanceRows[i] != want {
			t.Errorf("row %d: %v, reference %v", i, clearanceRows[i], want)
		}
	}
	wantMark(t, "interpolation", clearanceInterpolation, mark(t, lines, "interpolation allowed"))
	wantMark(t, "reinforced", clearanceReinforced, mark(t, lines, "  reinforced:"))
}

func TestCreepageTable(t *testing.T) {
	lines := reference(t, "creepage.yaml")
	rows := block(t, lines, "rows:")
	confirmed := len(rows)
	rows = append(rows, block(t, lines, "rows_above_2000V:")...)
	if len(rows) != len(creepageRows) {
		t.Fatalf("%d rows, reference %d", len(creepageRows), len(rows))
	}
	metres := func(cell string) float64 {
		if cell == "null" {
			return 0
		}
		return number(t, cell, -3)
	}
	low, high := mark(t, lines, "unit:"), mark(t, lines, "rows_above_2000V:")
	for i, c := range rows {
		want := creepageRow{
			voltV:      number(t, c[0], 0),
			boardM:     [2]float64{metres(c[1]), metres(c[2])},
			degree1M:   metres(c[3]),
			groupM:     [2][3]float64{{metres(c[4]), metres(c[5]), metres(c[6])}, {metres(c[7]), metres(c[8]), metres(c[9])}},
			confidence: low,
		}
		if i >= confirmed {
			want.confidence = high
		}
		if creepageRows[i] != want {
			t.Errorf("row %d: %v, reference %v", i, creepageRows[i], want)
		}
	}
	wantMark(t, "interpolation", creepageInterpolation, mark(t, lines, "  interpolation:"))
	wantMark(t, "reinforced", creepageReinforced, mark(t, lines, "  reinforced:"))
	wantMark(t, "floor", creepageFloor, mark(t, lines, "  not_below_clearance:"))
}

func TestAltitudeTable(t *testing.T) {
	lines := reference(t, "altitude.yaml")
	rows := block(t, lines, "rows:")
	if len(rows) != len(altitudeRows) {
		t.Fatalf("%d rows, reference %d", len(altitudeRows), len(rows))
	}
	span := regexp.MustCompile(`"(\d+)(?:-(\d+))? m": ([A-D])`)
	marks := func(altitude float64) Confidence {
		for _, line := range lines {
			if !strings.HasPrefix(line, "factor_confidence:") {
				continue
			}
			for _, m := range span.FindAllStringSubmatch(line, -1) {
				from, to := number(t, m[1], 0), number(t, m[1], 0)
				if m[2] != "" {
					to = number(t, m[2], 0)
				}
				if from <= altitude && altitude <= to {
					return Confidence(m[3][0])
				}
			}
		}
		return 'A' // 2000 m: 1 by definition
	}
	for i, c := range rows {
		want := altitudeRow{altitudeM: number(t, c[0], 0), factor: number(t, c[2], 0)}
		want.confidence = marks(want.altitudeM)
		if altitudeRows[i] != want {
			t.Errorf("row %d: %v, reference %v", i, altitudeRows[i], want)
		}
	}
}
