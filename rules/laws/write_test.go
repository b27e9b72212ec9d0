package laws

import (
	"math"
	"strconv"
	"strings"
)

// dimension is what a quantity measures; it chooses the units that it can be written in.
type dimension uint8

const (
	length dimension = iota
	angle
	current
	voltage
	fluxDensity
	fieldStrength
	frequency
	duration
	temperature
	share
	conductivity
	resistance
	inductance
	charge
	sensitivity
	perKelvin
	voltagePerKelvin
	noiseDensity
	altitude
)

// spelling is a unit and how many SI units it is; degrees and per cent are exact.
type spelling struct {
	unit string
	size float64
}

// spellings are the units of each dimension, the usual one first.
var spellings = [...][]spelling{
	length:           {{"mm", 1e-3}, {"cm", 1e-2}, {"in", 0.0254}, {"mil", 0.0254e-3}, {"m", 1}, {"um", 1e-6}},
	angle:            {{"deg", math.Pi / 180}, {"rad", 1}, {"mrad", 1e-3}, {"°", math.Pi / 180}},
	current:          {{"A", 1}, {"kA", 1e3}, {"mA", 1e-3}},
	voltage:          {{"V", 1}, {"mV", 1e-3}, {"kV", 1e3}},
	fluxDensity:      {{"mT", 1e-3}, {"G", 1e-4}, {"T", 1}, {"uT", 1e-6}},
	fieldStrength:    {{"A/m", 1}, {"kA/m", 1e3}, {"Oe", 250 / math.Pi}},
	frequency:        {{"Hz", 1}, {"kHz", 1e3}, {"MHz", 1e6}},
	duration:         {{"us", 1e-6}, {"ns", 1e-9}, {"ms", 1e-3}, {"s", 1}},
	temperature:      {{"°C", 1}, {"degC", 1}},
	share:            {{"%", 1e-2}, {"ppm", 1e-6}},
	conductivity:     {{"MS/m", 1e6}, {"S/m", 1}},
	resistance:       {{"kohm", 1e3}, {"ohm", 1}},
	inductance:       {{"uH", 1e-6}, {"nH", 1e-9}},
	charge:           {{"Ah", 3600}, {"C", 1}},
	sensitivity:      {{"mV/mT", 1}, {"V/T", 1}, {"mV/G", 10}},
	perKelvin:        {{"ppm/K", 1e-6}, {"%/K", 1e-2}},
	voltagePerKelvin: {{"mV/K", 1e-3}, {"uV/K", 1e-6}},
	altitude:         {{"m", 1}, {"in", 0.0254}},
	noiseDensity:     {{"uV/rtHz", 1e-6}, {"nV/rtHz", 1e-9}},
}

// speller chooses the unit for a quantity; the usual one when it is nil.
type speller func(*node) spelling

func usual(n *node) spelling { return spellings[n.dim][0] }

// yaml writes a layout: sections and objects in lines of their own, the rest in flow style.
func yaml(root *node, spell speller) []byte {
	if spell == nil {
		spell = usual
	}
	var b strings.Builder
	for _, m := range root.members {
		switch {
		case m.value.kind == mapping && len(m.value.members) > 0 && m.value.members[0].value.kind == mapping:
			b.WriteString(m.key + ":\n")
			for _, o := range m.value.members {
				b.WriteString("  " + o.key + ": ")
				flow(&b, o.value, spell)
				b.WriteByte('\n')
			}
		case m.value.kind == list && len(m.value.items) > 0:
			b.WriteString(m.key + ":\n")
			for _, item := range m.value.items {
				b.WriteString("  - ")
				flow(&b, item, spell)
				b.WriteByte('\n')
			}
		default:
			b.WriteString(m.key + ": ")
			flow(&b, m.value, spell)
			b.WriteByte('\n')
		}
	}
	return []byte(b.String())
}

func flow(b *strings.Builder, n *node, spell speller) {
	switch n.kind {
	case mapping:
		b.WriteByte('{')
		for i, m := range n.members {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(m.key + ": ")
			flow(b, m.value, spell)
		}
		b.WriteByte('}')
	case list:
		b.WriteByte('[')
		for i, item := range n.items {
			if i > 0 {
				b.WriteString(", ")
			}
			flow(b, item, spell)
		}
		b.WriteByte(']')
	case quantity:
		s := spell(n)
		b.WriteString(plain(n.value/s.size) + " " + s.unit)
	case number:
		b.WriteString(plain(n.value))
	default:
		b.WriteString(n.text)
	}
}

// plain prints a number so that no more than its last digit is lost: fifteen digits hide
// the round-off of the unit and keep files readable.
func plain(v float64) string {
	if v == 0 {
		return "0" // never -0
	}
	return strconv.FormatFloat(v, 'g', 15, 64)
}

func sincos(rad float64) (sin, cos float64) {
	// Quarter turns are exact, so that they leave a drawing as it is.
	switch quarter := rad / (math.Pi / 2); quarter {
	case math.Round(quarter):
		i := ((int(quarter) % 4) + 4) % 4
		return []float64{0, 1, 0, -1}[i], []float64{1, 0, -1, 0}[i]
	}
	return math.Sincos(rad)
}
