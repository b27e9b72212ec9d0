package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/schema/load"
)

// bare is a layout of three bare bars in which all is well. It differs with n in
// every number a cache could key on.
func bare(n int) string {
	pitch := 40 + float64(n%50)*0.2
	gap := 3 + float64(n%7)*0.1
	return fmt.Sprintf(`layout: 1
title: drive %d
bars:
  U: {section: {width: 20 mm, thickness: 3 mm}, at: [-%[2]g mm, 0 mm], metal: copper, temperature: 80 °C}
  V: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper, temperature: 80 °C}
  W: {section: {width: 20 mm, thickness: 3 mm}, at: [%[2]g mm, 0 mm], metal: copper, temperature: 80 °C}
sensors:
  SU: {reads: U, at: [-%[2]g mm, %[3]g mm], axis: 180 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}
  SV: {reads: V, at: [0 mm, %[3]g mm], axis: 180 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}
  SW: {reads: W, at: [%[2]g mm, %[3]g mm], axis: 180 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}
parts:
  wren: {linear-range: 25 mT, sensitivity: 70 mV/mT}
duties:
  run: {kind: continuous, frequency: 20 Hz, three-phase: {bars: [U, V, W], rms: %[4]d A}}
  start: {kind: peak, frequency: 10 Hz, three-phase: {bars: [U, V, W], peak: 600 A}}
  short: {kind: fault, currents: {U: {dc: 1 kA}, V: {dc: -1 kA}}}
`, n, pitch, 1.5+gap, 210+n%20)
}

// BenchmarkStartBare is one bare layout, all rules, text, without the start of
// the process. Budget with it: 30 ms.
func BenchmarkStartBare(b *testing.B) {
	dir := b.TempDir()
	write(b, filepath.Join(dir, "drive.yaml"), bare(0))
	b.ReportAllocs()
	for b.Loop() {
		if got := call(dir, "check", "drive.yaml"); got.status != 0 {
			b.Fatal(got)
		}
	}
}

// BenchmarkStartFailing is the same with a part too coarse for its currents, so
// that every sensor wants a remedy.
func BenchmarkStartFailing(b *testing.B) {
	dir := b.TempDir()
	write(b, filepath.Join(dir, "drive.yaml"), strings.Replace(bare(0), "25 mT", "60 mT", 1))
	b.ReportAllocs()
	for b.Loop() {
		if got := call(dir, "check", "drive.yaml"); got.status != 1 {
			b.Fatal(got)
		}
	}
}

// BenchmarkThousandLayouts is a folder of 1,000 bare layouts, all rules, text.
// Budget: 2 s on two cores.
func BenchmarkThousandLayouts(b *testing.B) {
	dir := b.TempDir()
	for n := range 1000 {
		write(b, filepath.Join(dir, fmt.Sprintf("drive-%03d.yaml", n)), bare(n))
	}
	b.ReportAllocs()
	for b.Loop() {
		if got := call(dir, "check", "."); got.status != 0 {
			b.Fatal(got)
		}
	}
}

// BenchmarkLoad reads a layout that uses every quantity form, without checks.
func BenchmarkLoad(b *testing.B) {
	text, err := fixtures.FS.ReadFile("examples/three-bars.yaml")
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if l, problems := load.Load("three-bars.yaml", text); l == nil || len(problems) > 0 {
			b.Fatal(problems)
		}
	}
}

// TestBenchmarkLayouts makes sure that what the benchmarks measure is a whole
// check: rules ran and numbers were decided.
func TestBenchmarkLayouts(t *testing.T) {
	dir := t.TempDir()
	for n := range 3 {
		write(t, filepath.Join(dir, fmt.Sprintf("drive-%03d.yaml", n)), bare(n*37))
	}
	report := tree(t, call(dir, "check", "--format", "json", ".").out)
	rules := map[string]bool{}
	for _, f := range list(t, report["passed"], "passed") {
		rules[f["rule"].(string)] = true
	}
	for _, f := range list(t, report["findings"], "findings") {
		t.Errorf("%v: %v", f["path"], f["message"])
	}
	for _, id := range []string{"linear-range", "range-use", "stray-ratio", "placement", "ambient-field", "bar-heating", "sensor-axis"} {
		if !rules[id] {
			t.Errorf("rule %s said nothing", id)
		}
	}
}

func write(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
