package channel

import (
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/uncertainty"
	"busgauss/model/waveform"
)

// leftover is what an inverse of the coupling matrix leaves of the field of other
// circuits: by circuit, in T/A of the own channel, or a reason why there is no inverse.
type leftover struct {
	perCircuitT []complex128
	missing     string
}

// stray adds a line for each other circuit and each component of the duty. Amperes are
// those of the channel: reading over own reading per ampere.
//
// In the component in which the own circuit carries most, and in direct current, phases
// are known, so the errors are: phasors against the own current. Every
// other component has no known phase against the moment of the reading: arcsine
// with the amplitude |S|, its circuits moved by one cause. Part, filter and window of the
// converter damp an alternating component where they are known.
//
// What a matrix leaves is taken from the inverse at direct current, or at the
// frequency of use, times the matrix at the frequency of the component, less one
// (decouple.LeftoverOf), with the columns of circuits that no sensor reads too.
func (b *accuracyBuilder) stray() error {
	b.main = waveform.Component{Role: "direct"}
	if b.d == nil {
		if !b.m.Layout.Alone(b.s) {
			line := zeroLine("stray of other bars", GroupStray, uncertainty.Within(math.NaN()), tillMatrix)
			line.Missing = []string{"duties (a continuous or peak one, with the currents of other bars)"}
			b.add(line)
		}
		return nil
	}
	parts := b.m.Currents(b.d).Components
	most, mostStray := 0.0, 0.0
	for i := range parts {
		at, err := b.at(b.s, parts[i].FreqHz)
		if err != nil {
			return err
		}
		split, err := b.m.For(b.d).Read(b.s, &parts[i])
		if err != nil {
			return err
		}
		// Of equal ones the one with most stray, whichever a layout names first.
		own, stray := portable.Abs(at.ownA(parts[i].PeakA)), split.Stray.Abs().Value
		if b.main.PeakA == nil || own > most*(1+roundOff) || own >= most*(1-roundOff) && stray > mostStray {
			b.main, most, mostStray = parts[i], own, stray
		}
	}
	if most == 0 {
		b.main = waveform.Component{Role: "none", FreqHz: math.NaN()}
	} else {
		b.out.FreqHz = b.main.FreqHz
	}
	for i := range parts {
		if err := b.strayIn(&parts[i]); err != nil {
			return err
		}
	}
	return nil
}

func (b *accuracyBuilder) strayIn(c *waveform.Component) error {
	md := b.m.For(b.d)
	split, err := md.Read(b.s, c)
	if err != nil {
		return err
	}
	own, err := md.OwnPerAmpere(b.s)
	if err != nil {
		return err
	}
	slope := math.Copysign(own.Value, b.slopeTPerA)
	still, err := b.leftover(c, 0)
	if err != nil {
		return err
	}
	moving := still
	if at := b.matrixHz(); at != 0 {
		if moving, err = b.leftover(c, at); err != nil {
			return err
		}
	}
	turn := complex(1, 0)
	inStep := c.FreqHz == b.main.FreqHz && c.Role == b.main.Role
	if inStep {
		turn = cmplx.Conj(portable.Quotient(split.OwnA, complex(portable.Abs(split.OwnA), 0)))
	}
	damped := complex(b.damping(c.FreqHz), 0)
	var all []strayOf
	for k, i := range c.PeakA {
		if layout.CircuitIndex(k) == b.s.Circuit && b.s.Leg == layout.None || i == 0 {
			continue
		}
		one := strayOf{name: b.m.Layout.CircuitName(layout.CircuitIndex(k))}
		one.errorA[0] = portable.Quotient(portable.Times(portable.Times(split.PerCircuit[k].V, turn), damped), complex(slope, 0))
		one.errorA[1] = portable.Quotient(portable.Times(portable.Times(portable.Times(still.perCircuitT[k], i), turn), damped), complex(slope, 0))
		one.errorA[2] = portable.Quotient(portable.Times(portable.Times(portable.Times(moving.perCircuitT[k], i), turn), damped), complex(slope, 0))
		all = append(all, one)
	}
	b.strayLines(c, all, inStep, [3]string{"", still.missing, moving.missing})
	bound := 0.0
	for k := range split.PerCircuit {
		bound += portable.Hypot(split.PerCircuit[k].Bound, split.PerCircuit[k].Quad) + split.PerCircuit[k].Far
	}
	if bound > 0 {
		line := zeroLine("certainty of the stray field, "+c.Role, GroupStray, uncertainty.Within(bound/own.Value), tillMatrix)
		if c.FreqHz > 0 {
			line.LeftZero[AfterMatrix] = 1
		}
		line.Field, line.Alternating = true, c.FreqHz > 0
		b.add(line)
	}
	return nil
}

// strayOf is what one circuit adds before a matrix, after one at direct current and
// after one at frequency, in amperes; phasors against the own current.
type strayOf struct {
	name   string
	errorA [3]complex128
}

// roundOff is the share of a stray field below which arithmetic alone keeps it from
// nothing.
const roundOff = 1e-12

func (b *accuracyBuilder) strayLines(c *waveform.Component, all []strayOf, inStep bool, missing [3]string) {
	var unit [3]complex128
	for k := range unit {
		var sum complex128
		for i := range all {
			sum += all[i].errorA[k]
		}
		unit[k] = 1
		if n := portable.Abs(sum); n > 0 {
			unit[k] = portable.Quotient(sum, complex(n, 0))
		}
	}
	isKnown := inStep || c.FreqHz == 0
	for _, one := range all {
		var along [3]complex128
		half := 0.0
		for k := range along {
			if portable.Abs(one.errorA[k]) < roundOff*portable.Abs(one.errorA[0]) {
				continue // a matrix takes it away
			}
			along[k] = one.errorA[k]
			if !isKnown {
				along[k] = complex(real(portable.Times(one.errorA[k], cmplx.Conj(unit[k]))), 0)
			}
			if missing[k] == "" {
				half = max(half, portable.Abs(along[k]))
			}
		}
		if half == 0 {
			continue
		}
		line := zeroLine(fmt.Sprintf("%s, %s", one.name, c.Role), GroupStray, uncertainty.Sinusoid(half), always)
		for _, a := range Afters() {
			left := along[0]
			switch a {
			case AfterMatrix:
				left = along[1]
			case AfterMatrixAtFrequency:
				left = along[2]
			}
			line.LeftZero[a], line.LeftQuad[a] = real(left)/half, imag(left)/half
		}
		for k, a := range []After{AfterMatrix, AfterMatrixAtFrequency} {
			if missing[k+1] != "" {
				line.LeftZero[a] = math.NaN()
			}
		}
		line.Alternating = c.FreqHz > 0
		if isKnown {
			line = known(line, half)
			line.Fixed = !inStep
		} else {
			line.Cause = componentCause(c.Role)
		}
		b.add(line)
	}
}

// matrixHz is the frequency of a matrix at frequency: that of the calibration where
// one is declared, else that of use.
func (b *accuracyBuilder) matrixHz() float64 {
	if b.setup.declared() == AfterMatrixAtFrequency {
		return b.setup.FreqHz
	}
	return b.out.FreqHz
}

// leftover returns what the inverse of the matrix at atHz leaves of each bar at
// the frequency of c.
func (b *accuracyBuilder) leftover(c *waveform.Component, atHz float64) (leftover, error) {
	nan := leftover{perCircuitT: make([]complex128, len(b.m.Layout.Circuits))}
	made, err := b.m.Coupling(atHz)
	if err != nil {
		return nan, err
	}
	used, err := b.m.Coupling(c.FreqHz)
	if err != nil {
		return nan, err
	}
	if made.Fit == nil {
		for k := range nan.perCircuitT {
			nan.perCircuitT[k] = cmplx.NaN()
		}
		nan.missing = made.NoInverse
		return nan, nil
	}
	out := nan
	for k := range out.perCircuitT {
		out.perCircuitT[k] = portable.Times(inverseTimes(made, used, b.s.Circuit, layout.CircuitIndex(k)),
			complex(float64(b.slopeTPerA*b.s.Sign), 0))
	}
	return out, nil
}

// damping returns what part, filter and window leave of an alternating component; 1
// where they are not known.
func (b *accuracyBuilder) damping(freqHz float64) float64 {
	if freqHz == 0 {
		return 1
	}
	t := b.x.Chain.Timing
	t.Hold, t.DelayS = false, 0
	if a := t.At(freqHz, 1).Amplitude; a <= 1 {
		return a
	}
	return 1
}

// model adds the doubt of the field model itself about the own field.
func (b *accuracyBuilder) model() error {
	line := shareLine("certainty of the own field", GroupGain, uncertainty.Within(b.x.Certainty), tillOnePoint)
	line.Field = true
	b.add(line)
	return nil
}

// response is what a sensor reads per ampere: of its own current, and beside it of each
// circuit.
type response struct {
	own    complex128
	beside []complex128
	ownA   func(circuitA []complex128) complex128
}

// at returns the response at a place of the sensor, at the
// frequency of a component, with iron in the state of the duty; of small signals where
// that state is solved in space: the share that a shift changes is taken as the same.
func (b *accuracyBuilder) at(s *layout.Sensor, freqHz float64) (response, error) {
	return b.atIn(b.m, s, freqHz)
}

// atIn is at in a model of the layout, or of one with a piece elsewhere.
func (b *accuracyBuilder) atIn(m *probe.Model, s *layout.Sensor, freqHz float64) (response, error) {
	if b.d != nil {
		m = m.For(b.d)
	}
	f, err := m.Field(freqHz)
	if err != nil {
		return response{}, err
	}
	out := response{own: f.Own(s).Axis.V, beside: make([]complex128, len(b.m.Layout.Circuits)),
		ownA: func(circuitA []complex128) complex128 { return f.OwnA(s, circuitA) }}
	for k := range out.beside {
		out.beside[k] = f.Beside(s, layout.CircuitIndex(k)).Axis.V
	}
	return out, nil
}
