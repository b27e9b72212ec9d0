package cli

import (
	"path/filepath"
	"testing"
)

// BenchmarkReport is the audit page of three phases, each bar in a channel of solid
// conducting iron, with four frequencies: check and page together. Budget for the page
// 3 s, aim 1 s, on top of the check that BenchmarkChannelsConducting measures.
func BenchmarkReport(b *testing.B) {
	dir := b.TempDir()
	write(b, filepath.Join(dir, "winch.yaml"), channels("relative-permeability: 1000, conductivity: 2 MS/m", `  creep: {kind: continuous, frequency: 50 Hz, three-phase: {bars: [U, V, W], rms: 200 A}}
  travel: {kind: continuous, frequency: 400 Hz, three-phase: {bars: [U, V, W], rms: 200 A}, ripple: {frequency: 20 kHz, rms: 5 A}}
  brake: {kind: peak, frequency: 2 kHz, three-phase: {bars: [U, V, W], rms: 250 A}}
`))
	b.ReportAllocs()
	stop := watchHeap(b)
	for b.Loop() {
		if got := call(dir, "report", "--output", "page.html", "winch.yaml"); got.status != 0 {
			b.Fatal(got)
		}
	}
	stop()
}
