package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/channel"
	"busgauss/model/decouple"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/waveform"
	"busgauss/model/word"
	"busgauss/model/work"
)

// firmwareOptions choose the form of the constants.
type firmwareOptions struct {
	form      string // fixed, float or empty: fixed where the converter is known
	widthBits int
}

// check refuses options that mean nothing.
func (o *firmwareOptions) check(format string, given func(string) bool) error {
	switch {
	case format != "firmware" && (given("form") || given("width")):
		return usage("--form and --width belong to --format firmware")
	case o.form != "" && o.form != "fixed" && o.form != "float":
		return usage("--form %q: fixed or float would do", o.form)
	case o.form == "float" && given("width"):
		return usage("--width belongs to --form fixed: float constants have single precision")
	case o.widthBits < 8 || o.widthBits > 32:
		return usage("--width %d: 8 to 32 bits would do", o.widthBits)
	}
	return nil
}

// stageOf is what one sensor gives at one stage of its channel: a straight line
// over the field on its axis, and its range.
type stageOf struct {
	zero, perT, low, high float64
	missing               []string
}

func (s *stageOf) known() bool {
	v := s.zero + s.perT + s.low + s.high
	return len(s.missing) == 0 && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// constantsOf makes the constants for firmware from the inverse at direct current.
func constantsOf(l *layout.Layout, on *work.Budget, data []byte, o *firmwareOptions) (*decouple.Constants, error) {
	m := probe.NewModelWithin(on, l).Precise()
	c, err := m.Coupling(0)
	if over := on.Over(); over != nil {
		return nil, over
	}
	if err != nil {
		return nil, err
	}
	if c.Fit == nil {
		return nil, errors.New(c.NoInverse)
	}
	input, stages, err := readingsOf(m, o.form)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	order := decouple.Order{LayoutHash: "sha256:" + hex.EncodeToString(sum[:]), Input: input}
	for _, k := range c.Circuits {
		order.Bars = append(order.Bars, l.Circuits[k].ID)
	}
	worked := workedCurrents(l, c)
	for i := range l.Sensors {
		s := &stages[i]
		reading := s.zero
		for k := range worked {
			reading += float64(s.perT * real(c.Matrix[i][k]) * worked[k])
		}
		reading = min(max(reading, s.low), s.high)
		if input == decouple.Count {
			reading = math.Round(reading)
		}
		order.Sensors = append(order.Sensors, decouple.Sensor{Name: l.Sensors[i].ID, Zero: s.zero, Min: s.low, Max: s.high, Worked: reading})
	}
	for _, row := range c.Fit.Inverse {
		var out []complex128
		for i, v := range row {
			out = append(out, portable.Quotient(v, complex(stages[i].perT, 0)))
		}
		order.APerInput = append(order.APerInput, out)
	}
	if input == decouple.Count && o.form != "float" {
		return decouple.Fixed(order, o.widthBits)
	}
	return decouple.Float(order)
}

// workedCurrents is the worked example: half the largest current of the first circuit
// that has one, nothing in the others, so that the answer can be told at sight. Where the
// inverse rests on currents that sum to zero, another circuit returns it.
func workedCurrents(l *layout.Layout, c *probe.Coupling) []float64 {
	out := make([]float64, len(c.Circuits))
	first := slices.IndexFunc(c.Circuits, func(k layout.CircuitIndex) bool { return fullScaleA(l, k) > 0 })
	if first < 0 {
		return out
	}
	out[first] = fullScaleA(l, c.Circuits[first]) / 2
	if givesBack(c, out) {
		return out
	}
	for k := range out {
		for _, sign := range []float64{-1, 1} {
			if k != first {
				out[k] = sign * out[first]
				if givesBack(c, out) {
					return out
				}
				out[k] = 0
			}
		}
	}
	return out
}

// givesBack reports whether the inverse makes the same currents of what the sensors read of
// them: not where they break a sum that it rests on.
func givesBack(c *probe.Coupling, currentA []float64) bool {
	read := make([]complex128, len(c.Matrix))
	size := 0.0
	for i, row := range c.Matrix {
		for k, v := range row {
			read[i] += portable.Times(v, complex(currentA[k], 0))
		}
	}
	for _, a := range currentA {
		size = math.Max(size, math.Abs(a))
	}
	for k, row := range c.Fit.Inverse {
		sum := complex(-currentA[k], 0)
		for i, v := range row {
			sum += portable.Times(v, read[i])
		}
		if !(portable.Abs(sum) <= 1e-6*size) {
			return false
		}
	}
	return true
}

// fullScaleA is the largest current of a circuit in continuous and peak duties.
func fullScaleA(l *layout.Layout, k layout.CircuitIndex) float64 {
	top := 0.0
	for i := range l.Duties {
		if d := &l.Duties[i]; d.Kind != layout.Fault {
			top = math.Max(top, waveform.Of(l, d).Current(k).PeakAbs().High)
		}
	}
	return top
}

// readingsOf returns the unit of the readings and the line of each sensor: counts
// where every converter is known, else volts at the outputs of the parts, else
// teslas within the linear ranges.
func readingsOf(m *probe.Model, form string) (decouple.Input, []stageOf, error) {
	l := m.Layout
	all := map[decouple.Input][]stageOf{}
	for i := range l.Sensors {
		x, err := channel.Of(m, &l.Sensors[i])
		if err != nil {
			return "", nil, fmt.Errorf("sensor %q: %w", l.Sensors[i].ID, err)
		}
		all[decouple.Count] = append(all[decouple.Count], counts(x))
		all[decouple.Volt] = append(all[decouple.Volt], volts(x))
		all[decouple.Tesla] = append(all[decouple.Tesla], teslas(x, &l.Sensors[i]))
	}
	for _, input := range []decouple.Input{decouple.Count, decouple.Volt, decouple.Tesla} {
		ok := true
		var missing []string
		for i := range all[input] {
			s := &all[input][i]
			ok = ok && s.known()
			missing = append(missing, s.missing...)
		}
		if ok {
			return input, all[input], nil
		}
		switch {
		case input == decouple.Count && form == "fixed":
			return "", nil, fmt.Errorf("fixed constants take counts, which are not known: add %s, or write --form float", strings.Join(word.Distinct(missing), ", "))
		case input == decouple.Tesla:
			return "", nil, fmt.Errorf("the range of the readings is not known: add %s", strings.Join(word.Distinct(missing), ", "))
		}
	}
	panic("cli: no input was tried")
}

// counts is the converter of a channel.
func counts(x *channel.Sensed) stageOf {
	zero, perA := x.Chain.Counts()
	out := stageOf{zero: zero, perT: perA / x.PerA.Value, missing: keysOf(x.Open("part", "sensitivity.set", "output.zero", "readout", "converter", "converter.high", "converter.bits"))}
	if k := x.Chain.Converter; k != nil {
		out.high = portable.Exp2(k.Bits) - 1
		if k.SignedCode {
			out.low, out.high = -portable.Exp2(k.Bits-1), portable.Exp2(k.Bits-1)-1
		}
	}
	return out
}

// volts is the output of a part.
func volts(x *channel.Sensed) stageOf {
	out := stageOf{zero: math.NaN(), missing: keysOf(x.Open("part", "sensitivity.set", "output.zero", "output.low", "output.high"))}
	if s, ok := x.Chain.Line(channel.OutputStage); ok {
		out.zero, out.perT, out.low, out.high = s.Zero, s.PerA/x.PerA.Value, s.Low, s.High
	}
	return out
}

// teslas is the field on the axis: of a pair the difference, of an array the sum with its
// weights, each element within its linear range.
func teslas(x *channel.Sensed, s *layout.Sensor) stageOf {
	e := x.Chain.Element
	out := stageOf{perT: 1, missing: keysOf(x.Open("part", "linear-range"))}
	for _, one := range s.Elements() {
		out.low += min(one.Weight*e.LowT, one.Weight*e.HighT)
		out.high += max(one.Weight*e.LowT, one.Weight*e.HighT)
	}
	return out
}

func keysOf(missing []channel.Missing) []string {
	var out []string
	for _, m := range missing {
		out = append(out, m.Key)
	}
	return out
}
