package channel

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/uncertainty"
)

// CoilError returns the relative error of the gain that a calibration with a coil in place of the bar sets,
//
//	own/coil − 1
//
// with the reading per ampere of what the sensor reads, all bars of its circuit with it, and that per ampere-turn of
// the coil alone: negative where the coil reads too much and the channel then too little. 0 for a current in the bar,
// which flows through its whole circuit; NaN for a ribbon of unknown pitch. The turns stand in the plane section where
// the bar was, centred on the middle of its section; iron of the layout is in both fields. Wires count as filaments,
// which is exact outside round ones; the ends and the way back of the coil come on top.
func (s *Setup) CoilError(m *probe.Model, sensor *layout.Sensor) (bounded.Estimate, error) {
	if s.Conductor == layout.ConductorBar {
		return bounded.Exact(0), nil
	}
	turns := s.turns()
	if turns == nil {
		return bounded.Exact(math.NaN()), nil
	}
	f, err := m.Section().Field(0)
	if err != nil {
		return bounded.Estimate{}, err
	}
	own := signed(f.OwnInSection(sensor).Axis)
	l := m.Layout
	var coil bounded.Estimate
	if iron, _ := probe.Iron(l); iron {
		key := fmt.Sprintf("coil in place of bar %d, %s, %g turns, %g m", sensor.Reads, s.Conductor, s.Turns, s.PitchM)
		f, err := m.Another(key, withCoil(l, sensor, turns)).Section().Field(0)
		if err != nil {
			return bounded.Estimate{}, err
		}
		alone := *sensor
		alone.Circuit, alone.Reads, alone.Leg, alone.Sign = 0, 0, layout.None, 1
		coil = signed(f.OwnInSection(&alone).Axis).Scale(1 / float64(len(turns)))
	} else {
		sum := 0.0
		for _, e := range sensor.Elements() {
			for _, at := range turns.placed(&l.Bars[sensor.Reads]) {
				sum += float64(e.Weight * closedform.FilamentB(e.At.XY().Sub(at), 1).Dot(geom.Point{X: e.U.X, Y: e.U.Y}))
			}
		}
		coil = bounded.Exact(sum / float64(len(turns)))
		own = bounded.Exact(own.Value) // what stands far away is in both fields
	}
	if factor := sensor.Sign * factorOf(l, sensor); factor < 0 {
		coil = coil.Scale(-1)
	}
	if !(coil.Low > 0 || coil.High < 0) {
		return bounded.Estimate{}, &field.Unknown{Reason: "its axis lies across the field of the coil"}
	}
	if coil.Low < 0 {
		own, coil = own.Scale(-1), coil.Scale(-1)
	}
	return own.Over(coil).Plus(bounded.Exact(-1)), nil
}

// turns returns the coil, nil for a ribbon of unknown pitch.
func (s *Setup) turns() Turns {
	if s.Conductor != layout.ConductorRibbon {
		return Bundle(int(s.Turns))
	}
	switch {
	case s.Turns == 1:
		return Ribbon(1, 0, 0)
	case math.IsNaN(s.PitchM):
		return nil
	}
	return Ribbon(int(s.Turns), s.PitchM, 0)
}

// placed returns the turns in the frame of the layout, in place of a bar.
func (t Turns) placed(b *layout.Bar) []geom.Point {
	out := make([]geom.Point, len(t))
	for i, p := range t {
		out[i] = p.Rotate(b.TurnRad.V).Add(b.Centre())
	}
	return out
}

// factorOf returns with which sign the bar at which the sensor stands carries the current of its circuit.
func factorOf(l *layout.Layout, s *layout.Sensor) float64 {
	if c, member := l.CircuitOf(s.Reads); c != layout.None && l.Circuits[c].Kind == layout.Series {
		return member.Factor
	}
	return 1
}

// withCoil returns l with the turns as one series circuit in place of all bars: at direct current the others are not
// there. A turn is a round wire that stands inside the bar, whose field outside is that of a filament.
func withCoil(l *layout.Layout, s *layout.Sensor, turns Turns) *layout.Layout {
	bar := &l.Bars[s.Reads]
	size := bar.SectionCorners().Box().Size()
	thick := 0.8 * min(size.X, size.Y)
	places := turns.placed(bar)
	if len(places) > 1 && places[0] == places[1] {
		places = places[:1]
	} else if len(places) > 1 {
		thick = min(thick, 0.8*places[1].Sub(places[0]).Norm())
	}
	share := float64(len(turns)) / float64(len(places))
	out := *l
	out.Bars, out.Bonded, out.Duties, out.Insulation = nil, nil, nil, nil
	circuit := layout.Circuit{ID: "coil", Kind: layout.Series}
	for i, at := range places {
		wire := layout.Bar{ID: fmt.Sprintf("turn %d", i+1), Metal: "copper", SigmaSPerM: 58e6, MuRel: 1,
			Material: layout.None}
		wire.Section = layout.Section{Kind: layout.Round, DiameterM: layout.Num{V: thick, Set: true}}
		wire.At.X.V, wire.At.Y.V = at.X, at.Y
		out.Bars = append(out.Bars, wire)
		circuit.Members = append(circuit.Members, layout.Member{Bar: layout.BarIndex(i), Factor: share})
	}
	out.Circuits = []layout.Circuit{circuit}
	return &out
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
func (b *accuracyBuilder) calibration() error {
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
	} else if b.x.Chain.Converter != nil { // steps of a size that is not known
		b.readings("as it was read", "count", 0.5, step, calA, slices.Concat(open, b.x.openTails(countTails)))
	}
	if h := b.x.Chain.Drift.HysteresisT; h != 0 {
		b.readings("within the hysteresis", "T", h, 1/math.Abs(b.slopeTPerA), calA, append(b.x.openTails([]string{"hysteresis"}), open...))
	}
	if !withCurrent {
		return nil
	}
	reference := shareLine("reference of the calibration", GroupBench, uncertainty.Within(b.setup.Tol), Left{0, 0, 1, 1, 1, 1})
	reference.Missing = b.openSetup("tolerance")
	b.add(reference)
	coil, err := b.setup.CoilError(b.m, b.s)
	switch {
	case err != nil:
		return err
	case math.IsNaN(coil.Value):
		line := shareLine("coil in place of the bar", GroupBench, uncertainty.Within(coil.Value),
			Left{0, 0, 1, 1, 1, 1})
		line.Missing = b.openSetup("pitch")
		b.add(line)
	case b.setup.Conductor != layout.ConductorBar:
		b.add(known(shareLine("coil in place of the bar", GroupBench, uncertainty.Spread{}, Left{0, 0, 1, 1, 1, 1}),
			coil.Value))
		if half := math.Max(coil.High-coil.Value, coil.Value-coil.Low); half > 0 {
			line := shareLine("certainty of the coil's field", GroupBench, uncertainty.Within(half),
				Left{0, 0, 1, 1, 1, 1})
			line.Field = true
			b.add(line)
		}
	}
	return nil
}

// countTails end the keys without which the size of a converter's step is not known.
var countTails = []string{"part", "sensitivity.set", "divider.top", "divider.bottom", "amplifier.gain",
	"converter.high", "converter.bits"}

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
