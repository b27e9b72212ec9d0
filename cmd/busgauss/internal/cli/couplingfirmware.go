package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"strings"

	"busgauss/model/channel"
	"busgauss/model/decouple"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/word"
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
func constantsOf(l *layout.Layout, data []byte, o *firmwareOptions) (*decouple.Constants, error) {
	m := probe.NewModel(l).Precise()
	c, err := m.Coupling(0)
	if err != nil {
		return nil, err
	}
	d, reason := decoupledOf(c)
	if d == nil {
		return nil, errors.New(reason)
	}
	input, stages, err := readingsOf(m, o.form)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	order := decouple.Order{LayoutHash: "sha256:" + hex.EncodeToString(sum[:]), Input: input}
	for _, b := range d.bars {
		order.Bars = append(order.Bars, l.Bars[b].ID)
	}
	worked := workedCurrents(m, d)
	for i := range l.Sensors {
		s := &stages[i]
		reading := s.zero
		for k := range worked {
			reading += s.perT * real(d.matrix[i][k]) * worked[k]
		}
		reading = min(max(reading, s.low), s.high)
		if input == decouple.Count {
			reading = math.Round(reading)
		}
		order.Sensors = append(order.Sensors, decouple.Sensor{Name: l.Sensors[i].ID, Zero: s.zero, Min: s.low, Max: s.high, Worked: reading})
	}
	for _, row := range d.inverse {
		var out []complex128
		for i, v := range row {
			out = append(out, v/complex(stages[i].perT, 0))
		}
		order.APerInput = append(order.APerInput, out)
	}
	if input == decouple.Count && o.form != "float" {
		return decouple.Fixed(order, o.widthBits)
	}
	return decouple.Float(order)
}

// workedCurrents is the worked example: half the largest current of the first bar
// that has one, nothing in the others, so that the answer can be told at sight.
func workedCurrents(m *probe.Model, d *decoupled) []float64 {
	out := make([]float64, len(d.bars))
	for k := range d.bars {
		if full := m.FullScaleA(&m.Layout.Sensors[k]); full > 0 {
			out[k] = full / 2
			return out
		}
	}
	return out
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
		all[decouple.Tesla] = append(all[decouple.Tesla], teslas(x))
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
		out.high = math.Exp2(k.Bits) - 1
		if k.SignedCode {
			out.low, out.high = -math.Exp2(k.Bits-1), math.Exp2(k.Bits-1)-1
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

// teslas is the field on the axis, from which a pair takes its difference.
func teslas(x *channel.Sensed) stageOf {
	e := x.Chain.Element
	out := stageOf{perT: 1, low: e.LowT, high: e.HighT, missing: keysOf(x.Open("part", "linear-range"))}
	if e.EachTPerA != nil {
		out.low, out.high = e.LowT-e.HighT, e.HighT-e.LowT
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
