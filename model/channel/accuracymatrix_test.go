package channel_test

import (
	"math"
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// A matrix takes the stray of B off SA by the number of SB, whose sensitivity is within 10 %: with k = 2 of a rectangular
// spread 11.5 % of 400 A (JCGM 100:2008, 4.3.7), times the stray per ampere of closedform.RectangleB. Before the matrix it
// is nothing.
func TestErrorThroughTheMatrix(t *testing.T) {
	const pair = `layout: 1
bars:
  A: {section: {width: 20 mm, thickness: 3 mm}, at: [0 mm, 0 mm], metal: copper}
  B: {section: {width: 20 mm, thickness: 3 mm}, at: [40 mm, 0 mm], metal: copper}
sensors:
  SA: {reads: A, at: [0 mm, 5.5 mm], axis: 180 deg, part: exact, placement: {x: 0 mm, y: 0 mm, tilt: 0 deg}}
  SB: {reads: B, at: [40 mm, 5.5 mm], axis: 180 deg, part: rough, placement: {x: 0 mm, y: 0 mm, tilt: 0 deg}}
parts:
  exact: {linear-range: 40 mT, sensitivity: {set: 100 mV/mT, tolerance: 0 %, drift: 0 ppm/K, life: 0 %}, output: {zero: 2.5 V, low: 0 V, high: 5 V, ratiometric: false}, offset: {initial: 0 mV, drift: 0 mV/K, life: 0 mV}, hysteresis: 0 mT, non-linearity: 0 %, noise: 0 mV, bandwidth: 1 MHz, delay: 0 us, temperature: {from: 24 °C, to: 26 °C}}
  rough: {linear-range: 40 mT, sensitivity: {set: 100 mV/mT, tolerance: 10 %, drift: 0 ppm/K, life: 0 %}, output: {zero: 2.5 V, low: 0 V, high: 5 V, ratiometric: false}, offset: {initial: 0 mV, drift: 0 mV/K, life: 0 mV}, hysteresis: 0 mT, non-linearity: 0 %, noise: 0 mV, bandwidth: 1 MHz, delay: 0 us, temperature: {from: 24 °C, to: 26 °C}}
readout: {converter: {low: 0 V, high: 5 V, bits: 24, tolerance: 0 %}, sampling: {rate: 1 MHz, delay: 0 us}}
calibration: {SA: {kind: matrix, current: 400 A, tolerance: 0 %, temperature: 25 °C}, SB: {kind: none}}
duties:
  run: {kind: continuous, currents: {A: {dc: 400 A}, B: {dc: 400 A}}}
surroundings: {return: far, uniform: 65 uT}
`
	a := accuracyOf(t, pair)
	through := func(n *channel.AccuracyLine) bool { return strings.Contains(n.Name, "through the matrix") }
	b := func(dx float64) float64 { return closedform.RectangleB(geom.Point{X: dx, Y: 5.5e-3}, 20e-3, 3e-3, 1).X }
	earth := 2 * 65e-6 / math.Abs(b(0)) / math.Sqrt(3) // which SB reads too
	want := b(-40e-3) / b(0) * math.Hypot(2*0.1/math.Sqrt(3)*400, earth)
	close(t, "after the matrix", a.AtOf(400, channel.AfterMatrix, through).TotalA, want, 0.02)
	if got := a.AtOf(400, channel.AfterTwoPoint, through).TotalA; got != 0 {
		t.Errorf("%g A before it", got)
	}
}
