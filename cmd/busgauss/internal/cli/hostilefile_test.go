package cli

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/parallel"
	"busgauss/schema/load"
)

const hostileHead = `# Hostile layouts and what a check says of them

Written by

    go test ./cmd/busgauss/internal/cli -run TestHostileFile -long -update -timeout 0

Each layout is checked by a process of its own with no store and no remedies. A row holds its size, its exit status, how many verdicts of each
kind it ends in, its cost and the most memory that the process held. Cost is what the program expects before it solves anything, as a multiple of bare
bars; "refused" is a layout whose file is not understood, which is a finding. Memory is in MB, the next power of two above the figure, and never below that of the test,
for a process starts as an image of the one that starts it: it grows down the page, and small figures there say no more than that. "given up" is a process that was ended
after three minutes, on whatever machine, and had taken the memory that its row says by then.

The test fails where a process ends in any other way than with status 0 or 1, prints a number that is none, says nothing, or says pass or fail with a
number that is not known or on the wrong side of its limit. It compares all columns but memory, and leaves out rows with "given up".

`

// hostileFile writes the file from runs and ends that functions find or make up.
func hostileFile(t testing.TB, check func(name, text string) hostileRun, ends func(text string, n *numberAt, bounds [2]any) []string) string {
	var b strings.Builder
	b.WriteString(hostileHead + "## Sizes, ratios and numbers\n\n| layout | bytes | status | " + strings.Join(verdictWords, " | ") + " | cost | memory, MB |\n" + "|---|---|---|---|---|---|---|---|---|\n")
	b.WriteString(inRows(len(hostileSet), func(i int) string {
		h := hostileSet[i]
		text := h.text()
		r := check(h.what, text)
		return fmt.Sprintf("| %s | %d | %s | %s | %s | %s |\n", h.what, len(text), r.statusWord(), r.verdictColumns(), r.cost, memoryWords(r.peakMB))
	}))
	b.WriteString("\n## Ends of the range of every number\n\nThe numbers are those of the schema of layouts. Each is taken, in a layout that has it and in its unit, to the ends of what is read: " +
		"the least and the greatest below zero, the least and the greatest above it, and zero. Verdicts are those of all its ends together; cost and memory are the largest.\n\n" +
		"| number | read | status | " + strings.Join(verdictWords, " | ") + " | cost | memory, MB |\n|---|---|---|---|---|---|---|---|---|\n")
	rows := rangeRows(t)
	b.WriteString(inRows(len(rows), func(i int) string { return rows[i].line(t, check, ends(rows[i].text, &rows[i].number, rows[i].bounds)) }))
	return b.String()
}

var hostileEach = flag.Int("hostile-each", 1, "with -long: check every N-th of the hostile layouts alone")

// inRows returns rows that are made at the same time, in their order; of a sample only those in it.
func inRows(n int, row func(i int) string) string {
	out := make([]string, n)
	parallel.Each(n, n, func(_, i int) {
		if i%*hostileEach == 0 {
			out[i] = row(i)
		}
	})
	return strings.Join(out, "")
}

// line is the row of a number that is taken to the ends of what is read.
func (row *rangeRow) line(t testing.TB, check func(name, text string) hostileRun, ends []string) string {
	sum := hostileRun{verdicts: map[string]int{}, cost: "0"}
	var statuses []string
	for _, number := range ends {
		r := check(row.key+" "+number, row.number.put(t, row.text, number))
		if s := r.statusWord(); !slices.Contains(statuses, s) {
			statuses = append(statuses, s)
		}
		for v, n := range r.verdicts {
			sum.verdicts[v] += n
		}
		sum.cost = larger(sum.cost, r.cost)
		sum.peakMB = max(sum.peakMB, r.peakMB)
	}
	slices.Sort(statuses)
	return fmt.Sprintf("| `%s` | %s%s | %s | %s | %s | %s |\n", strings.TrimPrefix(row.key, "/"), strings.Join(ends, ", "), row.number.unit,
		strings.Join(statuses, ", "), sum.verdictColumns(), sum.cost, memoryWords(sum.peakMB))
}

func larger(a, b string) string {
	x, err1 := strconv.Atoi(a)
	y, err2 := strconv.Atoi(b)
	if err1 != nil || err2 == nil && y > x {
		return b
	}
	return a
}

func (r *hostileRun) statusWord() string {
	if r.gaveUp {
		return "given up"
	}
	return strconv.Itoa(r.status)
}

func (r *hostileRun) verdictColumns() string {
	var out []string
	for _, v := range verdictWords {
		out = append(out, strconv.Itoa(r.verdicts[v]))
	}
	return strings.Join(out, " | ")
}

// rangeRow is one number of the schema, where it stands in a layout, and the ends that the schema gives it.
type rangeRow struct {
	key, text string
	number    numberAt
	bounds    [2]any
}

func rangeRows(t testing.TB) []rangeRow {
	keys, bounds := numberKeys(t)
	var out []rangeRow
	for _, key := range keys {
		if slices.Contains(keys, twin(key)) && twin(key) != key {
			continue
		}
		for _, r := range rangeTexts {
			all := numbersOf(r.text)
			i := slices.IndexFunc(all, func(n numberAt) bool { return fits(n.path, key) })
			if i < 0 {
				continue
			}
			out = append(out, rangeRow{key: key, text: r.text, number: all[i], bounds: bounds[key]})
			break
		}
	}
	return out
}

// endsOf returns the numbers at the ends of what is read in the place of n, in their order. Where the schema has an end it is
// that; the others are looked for: decade by decade, then between the last that is read and the first that is not.
func endsOf(t testing.TB, text string, n *numberAt, bounds [2]any) []string {
	reads := func(v float64) bool {
		l, _ := load.Load("layout.yaml", []byte(n.put(t, text, inDigits(v))))
		return l != nil
	}
	var found []float64
	for _, v := range bounds {
		if v, ok := v.(float64); ok && reads(v) {
			found = append(found, v)
		}
	}
	if reads(0) {
		found = append(found, 0)
	}
	for _, sign := range []float64{-1, 1} {
		var read []float64
		for k := -18; k <= 18; k++ {
			if v := sign * math.Pow(10, float64(k)); reads(v) {
				read = append(read, v)
			}
		}
		if len(read) == 0 {
			if was, err := strconv.ParseFloat(n.number, 64); err == nil && was*sign > 0 {
				read = []float64{was}
			}
		}
		if len(read) > 0 {
			least, greatest := read[0], read[len(read)-1]
			found = append(found, between(reads, least, least/10), between(reads, greatest, greatest*10))
		}
	}
	slices.Sort(found)
	var out []string
	for _, v := range found {
		out = append(out, inDigits(v))
	}
	return slices.Compact(out)
}

// between returns the number of three digits that is read and nearest to one that is not, out of those between the two.
func between(reads func(float64) bool, good, bad float64) float64 {
	if reads(bad) {
		return bad // beyond the decades that are tried
	}
	round := func(v float64) float64 {
		r, err := strconv.ParseFloat(inDigits(v), 64)
		if err != nil {
			panic("cli: a number that is none")
		}
		return r
	}
	for {
		middle := round((good + bad) / 2)
		if middle == round(good) || middle == round(bad) {
			return good
		}
		if reads(middle) {
			good = middle
		} else {
			bad = middle
		}
	}
}

func inDigits(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

var memoryColumn = regexp.MustCompile(`≤ [0-9]+ \|`)

// TestHostileFile checks all of the set and holds the file to it, or writes it with -update. Without -long it wants the first
// column to be that of the set and of the schema.
func TestHostileFile(t *testing.T) {
	path := filepath.Join(repository, "fixtures/HOSTILE.md")
	if !*long {
		made := hostileFile(t, func(string, string) hostileRun { return hostileRun{verdicts: map[string]int{}} },
			func(string, *numberAt, [2]any) []string { return nil })
		names := func(s string) string { return regexp.MustCompile(`(?m)^(\| [^|]*\|).*$`).ReplaceAllString(s, "$1") }
		if got, want := names(read(t, repository, "fixtures/HOSTILE.md")), names(made); got != want {
			t.Errorf("fixtures/HOSTILE.md has other rows: %s", firstLine(got, want))
		}
		return
	}
	program := built(t, repository, "./cmd/busgauss")
	text := hostileFile(t, func(name, text string) hostileRun {
		t.Log(name)
		r := checkHostile(t, program, text)
		for _, what := range r.unsound {
			t.Errorf("%s: %s", name, what)
		}
		return r
	}, func(text string, n *numberAt, bounds [2]any) []string { return endsOf(t, text, n, bounds) })
	if *update {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, want := lessMemory(text, read(t, repository, "fixtures/HOSTILE.md"))
	if *hostileEach > 1 {
		want = linesOf(want, got)
	}
	if got != want {
		t.Errorf("fixtures/HOSTILE.md is not what a run gives: %s", firstLine(want, got))
	}
}

// linesOf returns the lines of a file whose first column, if they are rows, stands in a sample too.
func linesOf(text, sample string) string {
	first := func(line string) string {
		cell, _, _ := strings.Cut(strings.TrimPrefix(line, "| "), " | ")
		return cell
	}
	in := map[string]bool{}
	for line := range strings.Lines(sample) {
		in[first(line)] = true
	}
	var out strings.Builder
	for line := range strings.Lines(text) {
		if in[first(line)] {
			out.WriteString(line)
		}
	}
	return out.String()
}

// lessMemory returns two files without memory and without the rows that either gave up: how far a process comes in some minutes is a
// matter of the machine.
func lessMemory(a, b string) (string, string) {
	gaveUp := map[string]bool{}
	for line := range strings.Lines(a + b) {
		if strings.Contains(line, "given up |") {
			name, _, _ := strings.Cut(strings.TrimPrefix(line, "| "), " |")
			gaveUp[name] = true
		}
	}
	left := func(text string) string {
		var out strings.Builder
		for line := range strings.Lines(text) {
			if name, _, _ := strings.Cut(strings.TrimPrefix(line, "| "), " |"); !gaveUp[name] {
				out.WriteString(memoryColumn.ReplaceAllString(line, ""))
			}
		}
		return out.String()
	}
	return left(a), left(b)
}

func TestLessMemory(t *testing.T) {
	const one = "head\n| a | 1 | 3 | \u2264 64 |\n| b | given up | \u2264 64 |\n"
	if x, y := lessMemory(one, "head\n| a | 1 | 3 | \u2264 256 |\n| b | 1 | \u2264 64 |\n"); x != y {
		t.Errorf("%q and %q", x, y)
	}
	if x, y := lessMemory(one, "head\n| a | 1 | 4 | \u2264 64 |\n| b | 1 | \u2264 64 |\n"); x == y {
		t.Error("another verdict is not seen")
	}
}
