package si

import "strings"

// unit is a resolved unit: one of it is num/den · π^pi · 10^exp10 of the SI
// unit of dim. The power of ten is kept apart so that a decimal text is scaled
// by moving its decimal point, which costs no rounding.
type unit struct {
	dim      Dimension
	exp10    int
	num, den int64
	pi       int
}

// base is a unit symbol without prefix.
type base struct {
	symbol   string
	prefixes string // letters it takes; only those that make a sensible, unambiguous unit
	unit
}

// bases is read, never written. Facts that are not powers of ten: the inch is
// 25.4 mm, the mil its thousandth, the oersted 1000/(4π) A/m, the gauss 10⁻⁴ T
// (NIST SP 811, appendix B.8; all exact).
var bases = [...]base{
	{"m", "numck", unit{Length, 0, 1, 1, 0}},
	{"in", "", unit{Length, -4, 254, 1, 0}},
	{"mil", "", unit{Length, -7, 254, 1, 0}},
	{"m2", "umc", unit{Area, 0, 1, 1, 0}},
	{"deg", "", unit{Angle, 0, 1, 180, 1}},
	{"°", "", unit{Angle, 0, 1, 180, 1}},
	{"rad", "um", unit{Angle, 0, 1, 1, 0}},
	{"A", "pnumkM", unit{Current, 0, 1, 1, 0}},
	{"V", "pnumkM", unit{Voltage, 0, 1, 1, 0}},
	{"T", "pnum", unit{FluxDensity, 0, 1, 1, 0}},
	{"G", "umk", unit{FluxDensity, -4, 1, 1, 0}},
	{"Oe", "mk", unit{FieldStrength, 0, 250, 1, -1}},
	{"Hz", "umkMG", unit{Frequency, 0, 1, 1, 0}},
	{"s", "pnum", unit{Time, 0, 1, 1, 0}},
	{"min", "", unit{Time, 0, 60, 1, 0}},
	{"h", "", unit{Time, 0, 3600, 1, 0}},
	{"°C", "", unit{Temperature, 0, 1, 1, 0}},
	{"degC", "", unit{Temperature, 0, 1, 1, 0}},
	{"K", "m", unit{TemperatureDifference, 0, 1, 1, 0}},
	{"%", "", unit{Ratio, -2, 1, 1, 0}},
	{"ppm", "", unit{Ratio, -6, 1, 1, 0}},
	{"1", "", unit{pureNumber, 0, 1, 1, 0}},
	{"S", "numkMG", unit{conductance, 0, 1, 1, 0}},
	{"ohm", "numkMG", unit{Resistance, 0, 1, 1, 0}},
	{"Ω", "numkMG", unit{Resistance, 0, 1, 1, 0}},
	{"H", "pnum", unit{Inductance, 0, 1, 1, 0}},
	{"F", "pnum", unit{Capacitance, 0, 1, 1, 0}},
	{"Ah", "umk", unit{Charge, 0, 3600, 1, 0}},
	{"C", "numk", unit{Charge, 0, 1, 1, 0}},
	{"W", "numkM", unit{Power, 0, 1, 1, 0}},
	{"rtHz", "", unit{rootFrequency, 0, 1, 1, 0}},
	{"N", "mkM", unit{force, 0, 1, 1, 0}},
	{"J", "umkM", unit{energy, 0, 1, 1, 0}},
}

// prefixExp10 returns the power of ten of an SI prefix letter, 0 for none.
func prefixExp10(letter byte) int {
	switch letter {
	case 'p':
		return -12
	case 'n':
		return -9
	case 'u':
		return -6
	case 'm':
		return -3
	case 'c':
		return -2
	case 'k':
		return 3
	case 'M':
		return 6
	case 'G':
		return 9
	}
	return 0
}

// plainSpelling maps the signs people type for one thing to one spelling: both
// code points for micro, the ohm and kelvin signs, powers, products and √Hz.
var plainSpelling = strings.NewReplacer(
	"\u00b5", "u", // micro sign
	"\u03bc", "u", // Greek mu
	"\u2126", "Ω", // ohm sign
	"\u212a", "K", // kelvin sign
	"²", "2", "√Hz", "rtHz",
	"*", " ", "·", " ", "\u22c5", " ",
)

// simpleUnit resolves a symbol with at most one prefix. A whole symbol wins
// over a prefixed one: min is the minute and mil the mil, h is the hour.
func simpleUnit(text string) (unit, bool) {
	for i := range bases {
		if bases[i].symbol == text {
			return bases[i].unit, true
		}
	}
	if len(text) < 2 {
		return unit{}, false
	}
	for i := range bases {
		b := &bases[i]
		if b.symbol == text[1:] && strings.IndexByte(b.prefixes, text[0]) >= 0 {
			u := b.unit
			e := prefixExp10(text[0])
			if u.dim == Area { // the prefix belongs to the metre, so it is squared with it
				e *= 2
			}
			u.exp10 += e
			return u, true
		}
	}
	return unit{}, false
}

// resolve reads a unit: a symbol, a product of two, or a quotient of those
// over one symbol. It does not say why it refuses.
func resolve(text string) (unit, bool) {
	text = plainSpelling.Replace(text)
	over, under, isQuotient := strings.Cut(text, "/")
	u, ok := product(over)
	if !ok || !isQuotient {
		return u, ok
	}
	d, ok := simpleUnit(under)
	if !ok {
		return unit{}, false
	}
	dim := quotientDimension(u.dim, d.dim)
	return unit{dim, u.exp10 - d.exp10, u.num * d.den, u.den * d.num, u.pi - d.pi}, dim != 0
}

func product(text string) (unit, bool) {
	left, right, isProduct := strings.Cut(text, " ")
	u, ok := simpleUnit(left)
	if !ok || !isProduct {
		return u, ok
	}
	v, ok := simpleUnit(right)
	if !ok {
		return unit{}, false
	}
	dim := productDimension(u.dim, v.dim)
	return unit{dim, u.exp10 + v.exp10, u.num * v.num, u.den * v.den, u.pi + v.pi}, dim != 0
}

// productDimension returns the dimension of a·b, 0 where a layout has no use
// for it.
func productDimension(a, b Dimension) Dimension {
	switch [2]Dimension{a, b} {
	case [2]Dimension{Resistance, Length}:
		return Resistivity
	case [2]Dimension{Resistance, Area}:
		return resistanceArea
	case [2]Dimension{Current, Time}:
		return Charge
	}
	return 0
}

// quotientDimension returns the dimension of a/b, 0 where a layout has no use
// for it. A change per kelvin has a TemperatureDifference below, never a point.
func quotientDimension(a, b Dimension) Dimension {
	switch [2]Dimension{a, b} {
	case [2]Dimension{Current, Length}:
		return FieldStrength
	case [2]Dimension{Current, Area}:
		return CurrentDensity
	case [2]Dimension{Current, Time}:
		return CurrentPerTime
	case [2]Dimension{Voltage, FluxDensity}:
		return Sensitivity
	case [2]Dimension{Voltage, Current}:
		return VoltagePerCurrent
	case [2]Dimension{Voltage, TemperatureDifference}:
		return VoltagePerKelvin
	case [2]Dimension{Voltage, rootFrequency}:
		return VoltageNoiseDensity
	case [2]Dimension{Voltage, Time}:
		return VoltagePerTime
	case [2]Dimension{FluxDensity, Current}:
		return FluxDensityPerCurrent
	case [2]Dimension{FluxDensity, Length}:
		return FluxDensityPerLength
	case [2]Dimension{FluxDensity, TemperatureDifference}:
		return FluxDensityPerKelvin
	case [2]Dimension{FluxDensity, rootFrequency}:
		return FluxDensityNoiseDensity
	case [2]Dimension{Ratio, TemperatureDifference}, [2]Dimension{pureNumber, TemperatureDifference}:
		return PerKelvin
	case [2]Dimension{conductance, Length}:
		return Conductivity
	case [2]Dimension{Resistance, Length}:
		return ResistancePerLength
	case [2]Dimension{resistanceArea, Length}:
		return Resistivity
	}
	return 0
}
