package channel

import (
	"fmt"
	"math"

	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/uncertainty"
)

// neighbours adds what the inverse of a matrix lets in of the other channels: it takes away the stray of a circuit by
// the number of the channel that reads it, so that the error of that number comes in, times the stray per ampere. Where
// several channels read a circuit the worst counts; a circuit that none reads is left as it is: see stray. What the matrix
// of those channels lets in itself, and what is let in of stray by their place, is a product of two shares and left out.
//
// Source: JCGM 100:2008, 5.1.2, the sensitivity coefficient of the number that is subtracted.
func (b *accuracyBuilder) neighbours() error {
	if b.d == nil || b.m.Layout.Alone(b.s) {
		return nil
	}
	currents := b.m.Currents(b.d)
	atHz := 0.0
	if b.main.FreqHz > 0 {
		atHz = b.main.FreqHz
	}
	at, err := b.at(b.s, atHz)
	if err != nil {
		return err
	}
	for k := range b.m.Layout.Circuits {
		k := layout.CircuitIndex(k)
		if k == b.s.Circuit {
			continue
		}
		peak := currents.Current(k).PeakAbs().High
		share := portable.Hypot(real(at.beside[k]), imag(at.beside[k])) / math.Abs(b.slopeTPerA)
		if share < roundOff { // a channel without current has its zero all the same
			continue
		}
		var worst *AccuracyLine
		for i := range b.m.Layout.Sensors {
			other := &b.m.Layout.Sensors[i]
			if other.Circuit != k || other.ID == b.s.ID {
				continue
			}
			line, err := b.errorOf(other, peak, share)
			if err != nil {
				return err
			}
			if worst == nil || !(line.Spread.Half <= worst.Spread.Half) && len(worst.Missing) == 0 {
				worst = &line
			}
		}
		if worst != nil {
			b.add(*worst)
		}
	}
	return nil
}

// errorOf returns the line of the error of the number of channel other at a current, of which share comes in.
func (b *accuracyBuilder) errorOf(other *layout.Sensor, currentA, share float64) (AccuracyLine, error) {
	x, err := Of(b.m, other)
	if err != nil {
		return AccuracyLine{}, err
	}
	setup, open := SetupFromLayout(b.m.Layout, other)
	n := accuracyBuilder{m: b.m, s: other, d: b.d, x: x, setup: setup, setupOpen: open, slopeTPerA: x.PerA.Value, main: b.main}
	n.out = &Accuracy{Sensor: other.ID, Duty: b.d.ID, Declared: setup.declared(), FullA: math.Max(currentA, b.m.FullScaleA(other)), FreqHz: b.out.FreqHz}
	n.chain()
	steps := []func() error{n.model, n.ambient, n.shields, n.frequency, n.calibration}
	if b.setup.By == ByMatrix && setup.By < ByOnePoint { // else what its place does to its gain is taken out
		steps = append(steps, n.placement)
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return AccuracyLine{}, err
		}
	}
	within := func(l *AccuracyLine) bool { return l.Group != GroupLetIn }
	line := zeroLine(fmt.Sprintf("error of channel %q through the matrix", other.ID), GroupStray, uncertainty.Spread{}, Left{})
	half := 0.0
	var amounts Left
	for _, after := range []After{AfterMatrix, AfterMatrixAtFrequency} {
		how := after
		if b.setup.By == ByMatrix && setup.By != ByMatrix {
			how = setup.declared() // the matrix is made of the numbers that there are
		}
		a := n.out.AtOf(currentA, how, within)
		if len(a.Missing) > 0 {
			line.Missing, half = compact(append(line.Missing, a.Missing...)), math.NaN()
		}
		amounts[after] = share * a.TotalA
		half = math.Max(half, amounts[after])
	}
	if half == 0 {
		return line, nil
	}
	for _, after := range []After{AfterMatrix, AfterMatrixAtFrequency} {
		if line.LeftZero[after] = amounts[after] / half; len(line.Missing) > 0 {
			line.LeftZero[after] = 1
		}
	}
	line.Spread = uncertainty.WithinSigmas(half, coverage)
	line.Alternating = b.out.FreqHz > 0
	return line, nil
}
