package cli

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// cost is what one process took: user and system time, and the most memory that it held, 0 where the system does not say;
// with what it printed.
type cost struct {
	cpuMS, peakMB float64
	out           string
}

// once runs a program and returns its cost. Status 1 is that of findings.
func once(tb testing.TB, dir, program string, args ...string) cost {
	tb.Helper()
	p := exec.Command(program, args...)
	p.Dir = dir
	said, err := p.CombinedOutput()
	if err != nil && p.ProcessState.ExitCode() != 1 {
		tb.Fatalf("%s %q: %v\n%s", program, args, err, said)
	}
	c := cost{out: string(said)}
	c.cpuMS = float64((p.ProcessState.UserTime() + p.ProcessState.SystemTime()).Microseconds()) / 1e3
	if u := reflect.Indirect(reflect.ValueOf(p.ProcessState.SysUsage())); u.Kind() == reflect.Struct {
		if rss := u.FieldByName("Maxrss"); rss.IsValid() { // in kB by Linux
			c.peakMB = float64(rss.Int()) * 1024 / 1e6
		}
	}
	return c
}

// costOf is the least time and the most memory of five runs, of fewer once they took a second.
func costOf(tb testing.TB, dir, program string, args ...string) cost {
	tb.Helper()
	least, spentMS := cost{}, 0.0
	for n := range 5 {
		c := once(tb, dir, program, args...)
		if n == 0 || c.cpuMS < least.cpuMS {
			least.cpuMS = c.cpuMS
		}
		least.peakMB, least.out = max(least.peakMB, c.peakMB), c.out
		if spentMS += c.cpuMS; spentMS > 1000 {
			break
		}
	}
	return least
}

// built builds a main package and returns the program.
func built(tb testing.TB, dir, name string) string {
	tb.Helper()
	program := filepath.Join(tb.TempDir(), "program")
	c := exec.Command("go", "build", "-o", program, name)
	c.Dir = dir
	if said, err := c.CombinedOutput(); err != nil {
		tb.Fatalf("%v\n%s", err, said)
	}
	return program
}

// budget is a whole check that must take no longer than mustMS and ought to take aimMS.
type budget struct {
	name, what    string
	layout        func() string
	mustMS, aimMS float64
}

// mostMB and aimMB are the budget of memory of each.
const mostMB, aimMB = 300, 150

var budgets = []budget{
	{"bare", "one bare layout", func() string { return bare(0) }, 25, 12},
	{"ferry-channels", "three channels of iron, an alternating and a fault duty", fixture("clean/ferry-channels.yaml"), 600, 200},
	{"winch-channels", "two channels that saturate and fail, remedies", fixture("failing/winch-channels.yaml"), 600, 250},
	{"container-short-channels", "two short channels in space that saturate and fail, remedies", fixture("failing/container-short-channels.yaml"), 2000, 800},
	{"tug", "three short channels, two alternating and two direct duties, remedies", func() string { return tug(3) + tugDuties }, 4000, 1500},
	{"quay", "nine channels in three groups, three duties", quay, 20000, 6000},
}

func fixture(name string) func() string {
	return func() string {
		text, err := fixtures.FS.ReadFile(name)
		if err != nil {
			panic(err)
		}
		return string(text)
	}
}

// tug is n bars in a row, each in a channel of sheet 12 mm deep, without duties. Demo: the converter of a harbour tug.
func tug(n int) string {
	var bars, shields, sensors strings.Builder
	for i := range n {
		x := 40*i - 20*(n-1)
		fmt.Fprintf(&bars, "  B%d: {section: {width: 18 mm, thickness: 4 mm}, at: [%d mm, 0 mm], metal: copper, temperature: 70 °C, length: 240 mm}\n", i, x)
		fmt.Fprintf(&shields, "  K%d: {form: {channel: {opening: 20 mm, leg: 14 mm, wall: 1.2 mm}}, at: [%d mm, -3.2 mm], material: strip-13, depth: 12 mm}\n", i, x)
		fmt.Fprintf(&sensors, "  S%d: {reads: B%[1]d, at: [%[2]d mm, 4.6 mm], axis: 180 deg, part: wagtail-60, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 0.5 deg}}\n", i, x)
	}
	return fmt.Sprintf(`layout: 1
title: converter of a harbour tug
bars:
%sshields:
%smaterials:
  strip-13: {relative-permeability: 2000, saturation: 1.9 T, coercivity: 12 A/m, conductivity: 2 MS/m, sheet: 1.2 mm}
sensors:
%sparts:
  wagtail-60: {linear-range: 60 mT, sensitivity: 30 mV/mT}
duties:
`, &bars, &shields, &sensors)
}

const tugDuties = `  steam: {kind: continuous, frequency: 50 Hz, three-phase: {bars: [B0, B1, B2], rms: 200 A}}
  tow: {kind: peak, frequency: 100 Hz, three-phase: {bars: [B0, B1, B2], rms: 260 A}}
  hold: {kind: continuous, currents: {B0: {dc: 250 A}, B1: {dc: -250 A}}}
  short: {kind: fault, currents: {B0: {dc: 720 A}, B2: {dc: -720 A}}}
`

// quay is nine bars in long channels. Demo: the supply of a quay's cranes.
func quay() string {
	var bars, shields, sensors strings.Builder
	for i := range 9 {
		x, id := 32*(i-4), string("ABC"[i/3])+string("UVW"[i%3])
		fmt.Fprintf(&bars, "  %s: {section: {width: 15 mm, thickness: 4 mm}, at: [%d mm, 0 mm], metal: copper, temperature: 80 °C, length: 300 mm}\n", id, x)
		fmt.Fprintf(&shields, "  K%s: {form: {channel: {opening: 18 mm, leg: 12 mm, wall: 1.5 mm}}, at: [%d mm, -3 mm], material: skua-50, depth: long}\n", id, x)
		fmt.Fprintf(&sensors, "  S%[1]s: {reads: %[1]s, at: [%[2]d mm, 5 mm], axis: 180 deg, part: dunlin-70, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 0.5 deg}}\n", id, x)
	}
	return fmt.Sprintf(`layout: 1
title: supply of three cranes of a quay
bars:
%sshields:
%smaterials:
  skua-50: {relative-permeability: 4000, saturation: 1.5 T, coercivity: 8 A/m, conductivity: 2.2 MS/m, sheet: 0.15 mm}
sensors:
%sparts:
  dunlin-70: {linear-range: 70 mT, sensitivity: 28 mV/mT}
duties:
  lift: {kind: continuous, frequency: 25 Hz, three-phase: {bars: [AU, AV, AW], rms: 210 A}, currents: {BU: {dc: 100 A}, BV: {dc: -100 A}}}
  slew: {kind: continuous, frequency: 50 Hz, three-phase: {bars: [CU, CV, CW], rms: 180 A}}
  short: {kind: fault, currents: {AU: {dc: 900 A}, AV: {dc: -900 A}}}
`, &bars, &shields, &sensors)
}

// BenchmarkBudgets is each whole check as a process of its own, its start included, nothing kept. cpu-ms is its processor
// time, MB-peak the most memory that any of the runs held.
func BenchmarkBudgets(b *testing.B) {
	program, dir := built(b, repository, "./cmd/busgauss"), b.TempDir()
	for _, c := range budgets {
		write(b, filepath.Join(dir, c.name+".yaml"), c.layout())
		b.Run(c.name, func(b *testing.B) {
			var sum cost
			for b.Loop() {
				one := once(b, dir, program, "check", "--no-store", c.name+".yaml")
				sum.cpuMS += one.cpuMS
				sum.peakMB = max(sum.peakMB, one.peakMB)
			}
			b.ReportMetric(sum.cpuMS/float64(b.N), "cpu-ms")
			b.ReportMetric(sum.peakMB, "MB-peak")
		})
	}
}

// folderOf returns a new folder with n bare layouts.
func folderOf(tb testing.TB, n int) string {
	dir := tb.TempDir()
	for k := range n {
		write(tb, filepath.Join(dir, fmt.Sprintf("drive-%04d.yaml", k)), bare(k))
	}
	return dir
}

// emptyProgram returns the folder of a Go program that does nothing.
func emptyProgram(tb testing.TB) string {
	dir := tb.TempDir()
	write(tb, filepath.Join(dir, "go.mod"), "module empty\n")
	write(tb, filepath.Join(dir, "main.go"), "package main\n\nfunc main() {}\n")
	return dir
}
