package cli

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"
)

var (
	benchFile = flag.Bool("bench-file", false, "measure for some minutes and write fixtures/BENCH.md")
	benchMost = flag.Duration("bench-most", 10*time.Minute, "with -bench-file, leave sizes out that would take more processor time, by the size before")
)

const benchHead = `# Costs of checks

Written by

    go test ./cmd/busgauss/internal/cli -run TestBenchFile -bench-file -timeout 0

from what the benchmarks of that package run. Times are processor time, user and system, of a process of its own with its
start, the least of up to five runs, of fewer once they took a second; memory is the most that any of them held at once. The
machine may have been shared with other work, which lengthens processor time too, sometimes twofold: compare ratios of one
run, not figures of two. A size is left out where it would take more processor time than -bench-most. No test holds a figure; a
test holds that the rows are those of the benchmarks. Some 20 MB are the least that can be seen, for a process starts as an
image of the one that starts it.

`

// figures writes the file from costs that a function measures or makes up.
func figures(head string, of func(name string) cost, grow func(g growth, size int) (int, cost)) string {
	var b strings.Builder
	b.WriteString(benchHead + head + "\n")
	table := func(title string, columns ...string) {
		fmt.Fprintf(&b, "\n## %s\n\n| %s |\n|%s\n", title, strings.Join(columns, " | "), strings.Repeat("---|", len(columns)))
	}
	row := func(cells ...any) {
		for _, c := range cells {
			if v, ok := c.(float64); ok {
				c = figure(v)
			}
			fmt.Fprintf(&b, "| %v ", c)
		}
		b.WriteString("|\n")
	}
	fmt.Fprintf(&b, "\nNothing kept (`--no-store`), remedies as by default. Of memory %d MB must do, %d MB ought to; `quay` has 800 and 400.\n", mostMB, aimMB)
	table("Whole checks", "check", "time, ms", "must", "aim", "memory, MB")
	for _, c := range budgets {
		got := of(c.name)
		row(c.what+" (`"+c.name+"`)", got.cpuMS, c.mustMS, c.aimMS, got.peakMB)
	}
	table("Again, with what an earlier run found", "check", "time, ms", "must", "aim", "memory, MB")
	for _, c := range budgets {
		got := of(c.name + " again")
		row("`"+c.name+"`", got.cpuMS, 60.0, 30.0, got.peakMB)
	}
	table("Start", "process", "time, ms", "memory, MB")
	empty, start := of("empty"), of("version")
	row("an empty Go program", empty.cpuMS, empty.peakMB)
	row("`busgauss --version`", start.cpuMS, start.peakMB)
	b.WriteString("\nBelow, *p* fits time or memory as a power of size, by least squares in logarithms over the rows that are more than twice the start. " +
		"Where checks are undecided because a layout is too large for a method, less was computed.\n")
	for _, g := range growths {
		name := strings.ToUpper(g.name[:1]) + g.name[1:]
		table(name, g.of, "time, ms", "memory, MB", "undecided")
		var sizes []int
		var timeMS, memMB []float64
		for i, size := range g.sizes {
			if i > 0 && timeMS[len(timeMS)-1]*float64(size)/float64(sizes[len(sizes)-1]) > float64(benchMost.Milliseconds()) {
				row(size, "left out", "left out", "left out")
				continue
			}
			actual, c := grow(g, size)
			row(actual, c.cpuMS, c.peakMB, undecidedIn(c.out))
			sizes, timeMS, memMB = append(sizes, actual), append(timeMS, c.cpuMS), append(memMB, c.peakMB)
		}
		row("*p*", exponent(sizes, timeMS, start.cpuMS), exponent(sizes, memMB, start.peakMB), "")
	}
	return b.String()
}

var countOfUndecided = regexp.MustCompile(`, (\d+) undecided`)

// undecidedIn returns how many checks the last line of a report counts as undecided.
func undecidedIn(out string) string {
	if m := countOfUndecided.FindStringSubmatch(out); m != nil {
		return m[1]
	}
	return "0"
}

// figure prints three digits.
func figure(v float64) string {
	switch {
	case math.IsNaN(v):
		return "too few"
	case v >= 1000:
		return fmt.Sprintf("%.0f", v)
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}

var anyNumber = regexp.MustCompile(`\| (?:-?[\d.]+|too few|left out) `)

// TestBenchFile measures and writes the file where it is asked to; else it wants the file to have the rows that would be written.
func TestBenchFile(t *testing.T) {
	path := filepath.Join(repository, "fixtures/BENCH.md")
	if !*benchFile {
		text := read(t, repository, "fixtures/BENCH.md")
		_, after, _ := strings.Cut(text, "Measured ")
		head, _, _ := strings.Cut(after, "\n")
		made := figures("Measured "+head, func(string) cost { return cost{cpuMS: 7, peakMB: 7} }, func(_ growth, n int) (int, cost) { return n, cost{cpuMS: 7, peakMB: 7} })
		bare := func(s string) string { return anyNumber.ReplaceAllString(s, "| # ") }
		if got, want := bare(text), bare(made); got != want {
			t.Errorf("fixtures/BENCH.md is not what -bench-file would write: %s", firstLine(got, want))
		}
		return
	}
	program, dir, store := built(t, repository, "./cmd/busgauss"), t.TempDir(), filepath.Join(t.TempDir(), "store")
	nothing := built(t, emptyProgram(t), ".")
	for _, c := range budgets {
		write(t, filepath.Join(dir, c.name+".yaml"), c.layout())
	}
	text := figures(measuredOn(), func(name string) cost {
		t.Log(name)
		switch before, again := strings.CutSuffix(name, " again"); {
		case name == "empty":
			return costOf(t, dir, nothing)
		case name == "version":
			return costOf(t, dir, program, "--version")
		case again:
			once(t, dir, program, "check", "--store", store, before+".yaml")
			return costOf(t, dir, program, "check", "--store", store, before+".yaml")
		}
		return costOf(t, dir, program, "check", "--no-store", name+".yaml")
	}, func(g growth, n int) (int, cost) {
		t.Log(g.of, n)
		return g.costs(t, program, n)
	})
	temporary := path + ".new"
	if err := os.WriteFile(temporary, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(temporary, path); err != nil {
		t.Fatal(err)
	}
}

// measuredOn says when and where.
func measuredOn() string {
	processor := runtime.GOARCH
	if text, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		if m := regexp.MustCompile(`(?m)^model name\s*: (.+)$`).FindSubmatch(text); m != nil {
			processor = string(m[1])
		}
	}
	return fmt.Sprintf("Measured on %s with %s on %d processors of the model %s.", time.Now().UTC().Format(time.DateOnly), runtime.Version(), runtime.NumCPU(), processor)
}
