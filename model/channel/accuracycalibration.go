package channel

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/uncertainty"
)

// CoilError returns the relative error of the gain that a calibration with a coil
// in place of the bar sets, 1/(1 + e) − 1 with e of Turns.ReadingError: negative
// where the coil reads too much and the channel then too little. 0 for a current in
// the bar, NaN for a ribbon of unknown pitch. The turns are taken where the bar was, centred; a bar
// that is not a rectangle counts as one of its width and height.
func (s *Setup) CoilError(l *layout.Layout, sensor *layout.Sensor) float64 {
	if s.Conductor == layout.ConductorBar {
		return 0
	}
	bar := &l.Bars[sensor.Reads]
	coil := Bundle(int(s.Turns))
	if s.Conductor == layout.ConductorRibbon {
		if s.Turns > 1 && math.IsNaN(s.PitchM) {
			return math.NaN()
		}
		pitch := s.PitchM
		if s.Turns == 1 {
			pitch = 0
		}
		coil = Ribbon(int(s.Turns), pitch, 0)
	}
	width, thickness := bar.Section.WidthM.V, bar.Section.ThicknessM.V
	switch bar.Section.Kind {
	case layout.Rectangle:
	case layout.Round:
		// The square of the same area, whose field outside differs little.
		width = bar.Section.DiameterM.V * math.Sqrt(math.Pi) / 2
		thickness = width
	default:
		return math.NaN()
	}
	sum, weight := 0.0, 0.0
	for _, e := range sensor.Elements() {
		at := e.At.XY().Sub(bar.At.Point()).Rotate(-bar.TurnRad.V)
		u := geom.Point{X: e.U.X, Y: e.U.Y}.Rotate(-bar.TurnRad.V)
		own := barT(at, u, width, thickness)
		sum += e.Weight * own * (1 + coil.ReadingError(at, u, width, thickness))
		weight += e.Weight * own
	}
	return weight/sum - 1
}

// calibration adds what a calibration brings in: what its readings of zero and of
// the current are off by, and its reference.
//
// One point reads the zero r0 and the current r1, two points the current in both
// directions, r− and r+, and a matrix does so in each bar:
//
//	one point   error  r0 (1 − I/I_cal) + r1 I/I_cal
//	two points  error  (r+ + r−)/2 + (r+ − r−)/2 · I/I_cal
//
// with readings off by half a step each, noise being averaged away. Iron and
// element may stand anywhere within the hysteresis.
func (b *accuracyBuilder) calibration() {
	withCurrent := b.setup.By >= ByOnePoint
	calA := b.out.FullA
	var open []string
	if withCurrent {
		calA = b.setup.CurrentA * b.setup.Turns
		open = b.openSetup("current")
	}
	_, countsPerA := b.x.Chain.Counts()
	if step := 1 / math.Abs(countsPerA); !math.IsNaN(step) {
		b.readings("as it was read", "count", 0.5, step, calA, open)
	}
	if h := b.x.Chain.Drift.HysteresisT; h != 0 {
		b.readings("within the hysteresis", "T", h, 1/math.Abs(b.slopeTPerA), calA, append(b.x.openTails([]string{"hysteresis"}), open...))
	}
	if !withCurrent {
		return
	}
	reference := shareLine("reference of the calibration", GroupBench, uncertainty.Within(b.setup.Tol), Left{0, 0, 1, 1, 1, 1})
	reference.Missing = b.openSetup("tolerance")
	b.add(reference)
	switch coil := b.setup.CoilError(b.m.Layout, b.s); {
	case math.IsNaN(coil):
		line := shareLine("coil in place of the bar", GroupBench, uncertainty.Within(coil), Left{0, 0, 1, 1, 1, 1})
		line.Missing = b.openSetup("pitch")
		if line.Missing == nil {
			line.Missing = []string{"bars." + b.m.Layout.Bars[b.s.Reads].ID + ".section (a coil is compared with a rectangle or a round)"}
		}
		b.add(line)
	case coil != 0:
		b.add(known(shareLine("coil in place of the bar", GroupBench, uncertainty.Spread{}, Left{0, 0, 1, 1, 1, 1}), coil))
	}
}

// readings adds the two readings of a calibration, each off by half.
func (b *accuracyBuilder) readings(what, unit string, half, perUnit, calA float64, open []string) {
	for _, one := range []struct {
		name string
		sign float64
		zero Left
	}{
		{"zero of the calibration", -1, Left{0, 1, 1, 0.5, 0.5, 0.5}},
		{"current of the calibration", 1, Left{0, 0, 0, 0.5, 0.5, 0.5}},
	} {
		line := AccuracyLine{Name: one.name + ", " + what, Group: GroupBench, Unit: unit, Spread: uncertainty.Within(half), Missing: open,
			ZeroPerUnit: perUnit, SharePerUnit: one.sign * perUnit / calA, LeftZero: one.zero, LeftGain: Left{0, 0, 1, 0.5, 0.5, 0.5}}
		if len(open) > 0 {
			line.Spread.Half, line.ZeroPerUnit, line.SharePerUnit = math.NaN(), 1, 1
		}
		b.add(line)
	}
}

// openSetup returns the keys of the calibration that end so and are not known.
func (b *accuracyBuilder) openSetup(tail string) []string {
	var out []string
	for _, m := range b.setupOpen {
		if m.Undecided && len(m.Key) > len(tail) && m.Key[len(m.Key)-len(tail)-1:] == "."+tail {
			out = append(out, m.Key)
		}
	}
	return out
}

// barT returns what a bar of a rectangular section gives per ampere along u.
func barT(at, u geom.Point, widthM, thicknessM float64) float64 {
	return closedform.RectangleB(at, widthM, thicknessM, 1).Dot(u)
}
