package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// bentBars is a layout of three phases, each bar bent twice and in a channel of
// finite depth with a sensor over it: nothing of it is the same all along z. Demo:
// the converter of a cable ferry's thruster.
func bentBars(iron, duties string) string {
	var bars, shields, sensors strings.Builder
	for i, id := range []string{"U", "V", "W"} {
		x := 40 * (i - 1)
		// U and V leave downwards, W aside: not all bends are alike.
		leave := fmt.Sprintf("[%d mm, -90 mm, 80 mm]", x)
		if id == "W" {
			leave = fmt.Sprintf("[%d mm, 0 mm, 80 mm]", x+90)
		}
		fmt.Fprintf(&bars, "  %s: {section: {width: 16 mm, thickness: 3 mm}, at: [%d mm, 0 mm], metal: copper, run: [[%[2]d mm, -80 mm, -60 mm], [%[2]d mm, 0 mm, -60 mm], [%[2]d mm, 0 mm, 80 mm], %s]}\n", id, x, leave)
		fmt.Fprintf(&shields, "  K%s: {form: {channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}}, at: [%d mm, -4.5 mm], material: iron, depth: %d mm}\n", id, x, 12+4*i)
		fmt.Fprintf(&sensors, "  S%[1]s: {reads: %[1]s, at: [%[2]d mm, 5 mm], axis: 180 deg, part: wren, placement: {x: 0.2 mm, y: 0.2 mm, tilt: 1 deg}}\n", id, x)
	}
	return fmt.Sprintf(`layout: 1
title: three phases of a thruster, bent bars in short channels
bars:
%sshields:
%smaterials:
  iron: {%s}
sensors:
%sparts:
  wren: {linear-range: 60 mT, sensitivity: 25 mV/mT}
duties:
%s`, &bars, &shields, iron, &sensors, duties)
}

// benchmarkBent is a whole check, all rules, of one layout. MB-peak is the largest
// size of the heap's objects seen while it ran, MB-process the most that the process held
// since it started, cpu-s/op its time on processors, which other work on the machine
// does not lengthen.
func benchmarkBent(b *testing.B, iron, duties string) {
	dir := b.TempDir()
	write(b, filepath.Join(dir, "thruster.yaml"), bentBars(iron, duties))
	b.ReportAllocs()
	stop, before := watchHeap(b), cpuSeconds()
	for b.Loop() {
		if got := call(dir, "check", "--fail-level", "none", "thruster.yaml"); got.status != 0 {
			b.Fatal(got)
		}
	}
	used := cpuSeconds() - before
	stop()
	if used > 0 {
		b.ReportMetric(used/float64(b.N), "cpu-s/op")
	}
	if kB := highWaterKB(); kB > 0 {
		b.ReportMetric(kB*1024/1e6, "MB-process")
	}
}

// cpuSeconds returns the processor time of this process, user and system, where the
// kernel keeps it in /proc (in hundredths of a second), else 0.
func cpuSeconds() float64 {
	text, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	_, after, _ := strings.Cut(string(text), ") ") // the name may hold blanks
	fields := strings.Fields(after)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.ParseFloat(fields[11], 64)
	system, _ := strconv.ParseFloat(fields[12], 64)
	return (user + system) / 100
}

// highWaterKB returns the largest resident size of this process, where /proc has it,
// else 0.
func highWaterKB() float64 {
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	_, after, _ := strings.Cut(string(text), "VmHWM:")
	kB, _ := strconv.ParseFloat(strings.Fields(after + " 0")[0], 64)
	return kB
}

// BenchmarkBentLinear: bends, channels of 12, 16 and 20 mm depth, linear iron, direct
// current, certainty 1 %. Budget 3 s, aim 1 s, two cores, 500 MB.
func BenchmarkBentLinear(b *testing.B) {
	benchmarkBent(b, "relative-permeability: 2000", `  hold: {kind: continuous, currents: {U: {dc: 300 A}, V: {dc: -150 A}, W: {dc: -150 A}}}
  surge: {kind: peak, currents: {U: {dc: 700 A}, V: {dc: -350 A}, W: {dc: -350 A}}}
`)
}

// BenchmarkBentSaturating: the same on a curve, with a fault that drives the iron far
// over its knee. Budget 10 s, aim 3 s, two cores, 500 MB.
func BenchmarkBentSaturating(b *testing.B) {
	benchmarkBent(b, `curve: [[0 A/m, 0 T], [50 A/m, 0.2 T], [100 A/m, 0.6 T], [200 A/m, 1.0 T], [500 A/m, 1.35 T], [1000 A/m, 1.5 T], [3000 A/m, 1.65 T], [10000 A/m, 1.85 T], [30000 A/m, 2.05 T], [100000 A/m, 2.2 T]], coercivity: 60 A/m`,
		`  hold: {kind: continuous, currents: {U: {dc: 300 A}, V: {dc: -150 A}, W: {dc: -150 A}}}
  short: {kind: fault, currents: {U: {dc: 4 kA}, V: {dc: -4 kA}}}
`)
}
