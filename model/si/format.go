package si

import (
	"math"
	"strconv"
	"strings"
)

// Format returns v, given in unit, with three significant digits and an
// engineering prefix: Format(0.00275, "T") is "2.75 mT". FormatDigits says how.
func Format(v float64, unit string) string { return FormatDigits(v, unit, 3) }

// FormatDigits returns v, given in unit, with that many significant digits
// (taken into 1 to 17) and an engineering prefix.
//
// The unit is what Dimension.Symbol gives, or any other text, which is then
// printed as it stands. Some units are printed as practice writes them: rad in
// degrees, A/m2 as A/mm², m2 as mm² below a tenth of a square metre, V/T as
// mV/mT, 1/K as %/K or ppm/K, V/s and A/s per microsecond. Lengths go no
// further than metres. The unit "1" prints the number alone. Text that is
// already prefixed, and units such as °C and K, take no prefix. Numbers that no
// prefix brings near one are printed as 1.23e9.
//
// Units are spelled in print as one reads them, whatever way they are typed: µT, A/mm², mΩ, nT/√Hz.
//
// Zero of either sign is "0"; not a number prints as "not a number", the
// infinities as "infinite" and "minus infinite", without unit.
func FormatDigits(v float64, unit string, digits int) string {
	if unit == "rad" {
		v, unit = v*180/math.Pi, "deg"
	}
	if word := notFinite(v); word != "" {
		return word
	}
	d := decimalOf(v, digits)
	unit = d.toUsual(unit)
	letter := d.prefix(unit)
	exp10 := d.exp10 - prefixExp10(letter)
	if exp10 < minFixedExp10 || exp10 >= maxFixedExp10 {
		return join(d.scientific(), unit)
	}
	if letter != 0 {
		unit = string(letter) + unit
	}
	return join(d.fixed(exp10), unit)
}

// Percent returns the share v, a pure number, in per cent with three
// significant digits: Percent(0.0335) is "3.35 %".
func Percent(v float64) string {
	if word := notFinite(v); word != "" {
		return word
	}
	d := decimalOf(v, 3)
	if !d.isZero() {
		d.exp10 += 2
	}
	return join(d.text(), "%")
}

// Numbers from 10^minFixedExp10 to below 10^maxFixedExp10 are printed without
// an exponent.
const (
	minFixedExp10 = -4
	maxFixedExp10 = 6
)

func notFinite(v float64) string {
	switch {
	case math.IsNaN(v):
		return "not a number"
	case math.IsInf(v, 1):
		return "infinite"
	case math.IsInf(v, -1):
		return "minus infinite"
	}
	return ""
}

func join(number, unit string) string {
	if unit == "" || unit == "1" {
		return number
	}
	return number + " " + inPrint(unit)
}

// inPrint returns a unit with the signs of print for those of a keyboard: "uohm" is µΩ, "A/mm2" is A/mm².
func inPrint(unit string) string {
	over, under, isQuotient := strings.Cut(unit, "/")
	if isQuotient {
		return inPrint(over) + "/" + inPrint(under)
	}
	left, right, isProduct := strings.Cut(unit, " ")
	if isProduct {
		return inPrint(left) + " " + inPrint(right)
	}
	if _, isUnit := simpleUnit(unit); !isUnit {
		return unit
	}
	if unit[0] == 'u' {
		unit = "µ" + unit[1:]
	}
	return signs.Replace(unit)
}

// signs are those of print. A unit that ends in 2 is an area.
var signs = strings.NewReplacer("ohm", "Ω", "rtHz", "√Hz", "2", "²")

// decimal is a number rounded to its printed digits: sign · d.ddd · 10^exp10.
// Scaling moves exp10 only, so a value is rounded once, and 999.6 has become
// 1.00 · 10³ before a prefix is chosen.
type decimal struct {
	sign   string
	digits string
	exp10  int
}

func decimalOf(v float64, digits int) decimal {
	if v == 0 {
		return decimal{digits: "0"}
	}
	digits = min(max(digits, 1), 17)
	text := strconv.FormatFloat(math.Abs(v), 'e', digits-1, 64)
	mantissa, exponent, _ := strings.Cut(text, "e")
	exp10, err := strconv.Atoi(exponent)
	if err != nil {
		panic("si: exponent of a finite number")
	}
	d := decimal{digits: strings.Replace(mantissa, ".", "", 1), exp10: exp10}
	if v < 0 {
		d.sign = "-"
	}
	return d
}

func (d decimal) isZero() bool { return d.digits == "0" }

// toUsual moves d from the SI unit to the one practice prints and returns that
// unit.
func (d *decimal) toUsual(unit string) string {
	shift := 0
	switch unit {
	case "degC":
		unit = "°C"
	case "V/T": // a thousandth over a thousandth
		unit = "mV/mT"
	case "A/m2":
		unit, shift = "A/mm2", -6
	case "V/s":
		unit, shift = "V/us", -6
	case "A/s":
		unit, shift = "A/us", -6
	case "m2":
		if d.exp10 < -1 || d.isZero() {
			unit, shift = "mm2", 6
		}
	case "1/K":
		if d.exp10 >= -3 && !d.isZero() {
			unit, shift = "%/K", 2
		} else {
			unit, shift = "ppm/K", 6
		}
	}
	if !d.isZero() {
		d.exp10 += shift
	}
	return unit
}

// prefix returns the engineering prefix letter that leaves the fewest digits
// before the point but at least one, else the smallest the unit takes; 0 for
// none.
func (d decimal) prefix(unit string) byte {
	if d.isZero() {
		return 0
	}
	best, smallest := byte(0), byte(0)
	isFound := d.exp10 >= 0 // no prefix at all will do
	for _, c := range []byte(prefixesInPrint(unit)) {
		e := prefixExp10(c)
		if e <= d.exp10 && (!isFound || e > prefixExp10(best)) {
			best, isFound = c, true
		}
		if e < prefixExp10(smallest) {
			smallest = c
		}
	}
	if !isFound {
		return smallest
	}
	return best
}

// prefixesInPrint returns the prefix letters for the unit, which go before its
// first symbol.
func prefixesInPrint(unit string) string {
	switch unit {
	case "m":
		return "num"
	case "K", "m2", "A/mm2":
		return ""
	}
	head := unit
	if i := strings.IndexAny(unit, "/ "); i >= 0 {
		head = unit[:i]
	}
	for i := range bases {
		if bases[i].symbol == head {
			return strings.ReplaceAll(bases[i].prefixes, "c", "")
		}
	}
	return ""
}

func (d decimal) text() string {
	if d.exp10 < minFixedExp10 || d.exp10 >= maxFixedExp10 {
		return d.scientific()
	}
	return d.fixed(d.exp10)
}

// fixed returns the digits with the first one worth 10^exp10.
func (d decimal) fixed(exp10 int) string {
	switch {
	case exp10 < 0:
		return d.sign + "0." + strings.Repeat("0", -exp10-1) + d.digits
	case exp10+1 >= len(d.digits):
		return d.sign + d.digits + strings.Repeat("0", exp10+1-len(d.digits))
	}
	return d.sign + d.digits[:exp10+1] + "." + d.digits[exp10+1:]
}

func (d decimal) scientific() string {
	mantissa := d.digits[:1]
	if len(d.digits) > 1 {
		mantissa += "." + d.digits[1:]
	}
	return d.sign + mantissa + "e" + strconv.Itoa(d.exp10)
}
