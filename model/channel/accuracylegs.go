package channel

import (
	"fmt"
	"math"

	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/uncertainty"
)

// legs adds what the resistances of legs that are joined at both ends do to a reading beside one of them: the
// current divides as the resistances say, joints among them, and each may lie within the spread of the circuit.
// A calibration with a current in the bar takes it out with the rest of the gain, one with a coil in its place
// does not.
//
// Source: field.LegEffects; a rectangular spread by JCGM 100:2008, 4.3.7.
func (b *accuracyBuilder) legs() error {
	c := &b.m.Layout.Circuits[b.s.Circuit]
	if c.Kind != layout.Parallel && c.Kind != layout.Shared {
		return nil
	}
	left := tillOnePoint
	if b.setup.Conductor != layout.ConductorBar {
		left = always
	}
	if !c.Spread.Set {
		line := shareLine("share of the legs", GroupGain, uncertainty.Within(math.NaN()), left)
		line.Missing = []string{"circuits." + c.ID + ".spread"}
		b.add(line)
		return nil
	}
	if c.Spread.V == 0 {
		return nil
	}
	f, err := b.m.Field(b.out.FreqHz)
	if err != nil {
		return err
	}
	effects, err := f.LegEffects(b.m.Model, b.s, c.Spread.V)
	if err != nil {
		return err
	}
	for _, e := range effects {
		line := shareLine(fmt.Sprintf("resistance of leg %q", b.m.Layout.Bars[e.Leg].ID), GroupGain,
			uncertainty.Within(c.Spread.V), left)
		line.SharePerUnit = math.Copysign(portable.Abs(e.Share), real(e.Share)) / c.Spread.V
		if line.SharePerUnit != 0 {
			b.add(line)
		}
	}
	return nil
}
