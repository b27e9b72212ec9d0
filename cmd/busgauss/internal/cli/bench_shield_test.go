package cli

import (
	"fmt"
	"path/filepath"
	"runtime/metrics"
	"testing"
	"time"
)

// channels is a layout of three phases, each bar in a channel of iron with a
// sensor over it. Demo: the converter of a cable-car winch.
func channels(iron, duties string) string {
	return fmt.Sprintf(`layout: 1
title: three phases of a winch, each in a channel
bars:
  U: {section: {width: 16 mm, thickness: 3 mm}, at: [-40 mm, 0 mm], metal: copper}
  V: {section: {width: 16 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  W: {section: {width: 16 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: copper}
shields:
  KU: {form: {channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}}, at: [-40 mm, -4.5 mm], material: iron, depth: long}
  KV: {form: {channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}}, at: [0 mm, -4.5 mm], material: iron, depth: long}
  KW: {form: {channel: {opening: 24 mm, leg: 18.5 mm, wall: 1.5 mm}}, at: [40 mm, -4.5 mm], material: iron, depth: long}
materials:
  iron: {%s}
sensors:
  SU: {reads: U, at: [-40 mm, 5 mm], axis: 180 deg, part: wren}
  SV: {reads: V, at: [0 mm, 5 mm], axis: 180 deg, part: wren}
  SW: {reads: W, at: [40 mm, 5 mm], axis: 180 deg, part: wren}
parts:
  wren: {linear-range: 60 mT, sensitivity: 25 mV/mT}
duties:
%s`, iron, duties)
}

// benchmarkChannels is a whole check, all rules, of one layout. MB-peak is the
// largest size of the heap's objects seen while it ran.
func benchmarkChannels(b *testing.B, iron, duties string) {
	dir := b.TempDir()
	write(b, filepath.Join(dir, "winch.yaml"), channels(iron, duties))
	b.ReportAllocs()
	stop := watchHeap(b)
	for b.Loop() {
		if got := call(dir, "check", "--fail-level", "none", "winch.yaml"); got.status != 0 {
			b.Fatal(got)
		}
	}
	stop()
}

// watchHeap looks at the heap every millisecond until stop is called.
func watchHeap(b *testing.B) (stop func()) {
	done, peak := make(chan struct{}), make(chan uint64)
	go func() {
		sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		most := uint64(0)
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		for {
			metrics.Read(sample)
			most = max(most, sample[0].Value.Uint64())
			select {
			case <-done:
				peak <- most
				return
			case <-tick.C:
			}
		}
	}()
	return func() {
		close(done)
		b.ReportMetric(float64(<-peak)/1e6, "MB-peak")
	}
}

// BenchmarkChannelsDirect: linear iron, direct current, certainty 0.5 %. Budget
// 150 ms, 300 MB.
func BenchmarkChannelsDirect(b *testing.B) {
	benchmarkChannels(b, "relative-permeability: 2000", `  hold: {kind: continuous, currents: {U: {dc: 300 A}, V: {dc: -150 A}, W: {dc: -150 A}}}
  lift: {kind: peak, currents: {U: {dc: 700 A}, V: {dc: -350 A}, W: {dc: -350 A}}}
`)
}

// BenchmarkChannelsSaturating: the same on a curve, with a fault that drives the
// iron far over its knee. Budget 500 ms, 300 MB.
func BenchmarkChannelsSaturating(b *testing.B) {
	benchmarkChannels(b, `curve: [[0 A/m, 0 T], [50 A/m, 0.2 T], [100 A/m, 0.6 T], [200 A/m, 1.0 T], [500 A/m, 1.35 T], [1000 A/m, 1.5 T], [3000 A/m, 1.65 T], [10000 A/m, 1.85 T], [30000 A/m, 2.05 T], [100000 A/m, 2.2 T]], coercivity: 60 A/m`,
		`  hold: {kind: continuous, currents: {U: {dc: 300 A}, V: {dc: -150 A}, W: {dc: -150 A}}}
  short: {kind: fault, currents: {U: {dc: 4 kA}, V: {dc: -4 kA}}}
`)
}

// BenchmarkChannelsConducting: solid conducting iron at four frequencies. Budget
// 1.5 s, 300 MB.
func BenchmarkChannelsConducting(b *testing.B) {
	benchmarkChannels(b, "relative-permeability: 1000, conductivity: 2 MS/m", `  creep: {kind: continuous, frequency: 50 Hz, three-phase: {bars: [U, V, W], rms: 200 A}}
  travel: {kind: continuous, frequency: 400 Hz, three-phase: {bars: [U, V, W], rms: 200 A}, ripple: {frequency: 20 kHz, rms: 5 A}}
  brake: {kind: peak, frequency: 2 kHz, three-phase: {bars: [U, V, W], rms: 250 A}}
`)
}

// BenchmarkExamples is the check of the example layouts with iron in it, and with
// a failing linear range that wants remedies in alternating fields; then of ordinary
// channels that hold, and of channels that are full and want a remedy. Budget of each of
// the last two: 600 ms, 300 MB.
func BenchmarkExamples(b *testing.B) {
	for _, name := range []string{"examples/channels", "examples/three-bars", "clean/ferry-channels", "failing/winch-channels"} {
		b.Run(filepath.Base(name), func(b *testing.B) {
			b.ReportAllocs()
			stop := watchHeap(b)
			for b.Loop() {
				if got := call("../../../../fixtures", "check", "--fail-level", "none", name+".yaml"); got.status != 0 {
					b.Fatal(got)
				}
			}
			stop()
		})
	}
}
