// Package si turns unit text into SI numbers and SI numbers into text.
//
// A quantity of a layout is a number, one space and a unit. Parse reads it
// under the dimension the layout asks for and returns the value in that
// dimension's SI unit; no unit of another dimension is ever taken instead.
// Format writes a value back with three significant digits. Everything is
// pure: no state, no locale, the same input gives the same bytes.
//
// Sources of the unit facts: BIPM, The International System of Units, 9th ed.
// (2019); A. Thompson and B. N. Taylor, Guide for the Use of the International
// System of Units, NIST Special Publication 811 (2008), appendix B.8.
package si

import "strings"

// Dimension is the kind of a quantity. Two kinds that share SI base units but
// are not interchangeable in a layout (a temperature point and a difference,
// volts per ampere and a resistance) are two dimensions.
type Dimension uint8

// The dimensions a layout can ask for; Symbol gives the SI unit of each. The
// zero value is none of them.
const (
	Length Dimension = iota + 1
	Area
	Angle
	Current
	Voltage
	FluxDensity
	FieldStrength
	Frequency
	Time
	// Temperature is a point on the Celsius scale. Its numbers are degrees
	// Celsius, not kelvin, so a variable of it is named like TemperatureC.
	Temperature
	// TemperatureDifference is a step between two temperatures, in kelvin.
	TemperatureDifference
	// Ratio is a share of something, written in % or ppm. A plain factor that
	// has no unit in the layout is read by ParsePure instead.
	Ratio
	Conductivity
	Resistivity
	Resistance
	ResistancePerLength
	Inductance
	Capacitance
	// Sensitivity is output voltage per flux density.
	Sensitivity
	// VoltagePerCurrent is output voltage per ampere of a whole channel; it
	// is not a Resistance.
	VoltagePerCurrent
	FluxDensityPerCurrent
	FluxDensityPerLength
	// PerKelvin is a relative change per kelvin.
	PerKelvin
	VoltagePerKelvin
	FluxDensityPerKelvin
	VoltageNoiseDensity
	FluxDensityNoiseDensity
	Charge
	Power
	CurrentDensity
	VoltagePerTime
	CurrentPerTime
	endOfDimensions
)

// Kinds that only occur inside a compound unit or in a message; no layout key
// asks for them.
const (
	pureNumber Dimension = iota + endOfDimensions
	conductance
	rootFrequency
	resistanceArea
	force
	energy
	endOfKinds
)

// kind holds what messages and writers say about a dimension.
type kind struct {
	name, symbol, units string // units: space-separated, most usual first; "_" stands for a space in a unit
}

var kinds = [endOfKinds]kind{
	Length:                  {"length", "m", "mm cm m um in mil"},
	Area:                    {"area", "m2", "mm2 cm2 m2"},
	Angle:                   {"angle", "rad", "deg ° rad mrad"},
	Current:                 {"current", "A", "A kA mA"},
	Voltage:                 {"voltage", "V", "V mV kV uV"},
	FluxDensity:             {"flux density", "T", "mT uT T G mG"},
	FieldStrength:           {"field strength", "A/m", "A/m kA/m Oe"},
	Frequency:               {"frequency", "Hz", "Hz kHz MHz"},
	Time:                    {"time", "s", "s ms us ns min h"},
	Temperature:             {"temperature", "°C", "°C degC"},
	TemperatureDifference:   {"temperature difference", "K", "K mK"},
	Ratio:                   {"share", "1", "% ppm"},
	Conductivity:            {"conductivity", "S/m", "MS/m S/m"},
	Resistivity:             {"resistivity", "ohm m", "ohm_m uohm_cm ohm_mm2/m"},
	Resistance:              {"resistance", "ohm", "ohm mohm uohm kohm"},
	ResistancePerLength:     {"resistance per length", "ohm/m", "uohm/m mohm/m ohm/km"},
	Inductance:              {"inductance", "H", "uH nH mH"},
	Capacitance:             {"capacitance", "F", "nF uF pF"},
	Sensitivity:             {"sensitivity", "V/T", "mV/mT V/T mV/G"},
	VoltagePerCurrent:       {"voltage per current", "V/A", "mV/A V/A uV/A"},
	FluxDensityPerCurrent:   {"flux density per current", "T/A", "uT/A mT/A mT/kA"},
	FluxDensityPerLength:    {"flux density per length", "T/m", "mT/mm T/m G/mm"},
	PerKelvin:               {"share per kelvin", "1/K", "ppm/K %/K 1/K"},
	VoltagePerKelvin:        {"voltage per kelvin", "V/K", "mV/K uV/K"},
	FluxDensityPerKelvin:    {"flux density per kelvin", "T/K", "uT/K mT/K"},
	VoltageNoiseDensity:     {"voltage noise density", "V/rtHz", "nV/rtHz uV/rtHz"},
	FluxDensityNoiseDensity: {"flux density noise density", "T/rtHz", "nT/rtHz uT/rtHz"},
	Charge:                  {"charge", "C", "Ah mAh C"},
	Power:                   {"power", "W", "W kW mW"},
	CurrentDensity:          {"current density", "A/m2", "A/mm2 A/m2"},
	VoltagePerTime:          {"voltage per time", "V/s", "V/us V/s"},
	CurrentPerTime:          {"current per time", "A/s", "A/us A/s"},
	pureNumber:              {"pure number", "1", ""},
	conductance:             {"conductance", "S", ""},
	rootFrequency:           {"root of a frequency", "rtHz", ""},
	resistanceArea:          {"resistance times area", "ohm m2", ""},
	force:                   {"force", "N", ""},
	energy:                  {"energy", "J", ""},
}

// String returns the name of d as messages use it, such as "flux density".
func (d Dimension) String() string {
	if d == 0 || d >= endOfKinds {
		return "no dimension"
	}
	return kinds[d].name
}

// Symbol returns the unit of the numbers that Parse gives for d. It is the SI
// unit in ASCII, with "rtHz" for √Hz and "1" for a share; for Temperature it
// is "°C". A value that is no dimension gives "".
func (d Dimension) Symbol() string {
	if d == 0 || d >= endOfKinds {
		return ""
	}
	return kinds[d].symbol
}

// Units returns units that Parse accepts for d, the most usual first. They are
// examples for messages, not the whole set: more prefixes are read. The caller
// owns the slice.
func (d Dimension) Units() []string {
	if d == 0 || d >= endOfKinds {
		return nil
	}
	units := strings.Fields(kinds[d].units)
	for i, unit := range units {
		units[i] = inPrint(strings.ReplaceAll(unit, "_", " "))
	}
	return units
}

// wouldDo returns the end of a message that names the units of d, such as
// "Write mm, cm or m".
func (d Dimension) wouldDo() string {
	units := d.Units()
	last := len(units) - 1
	if last == 0 {
		return "Write " + units[0]
	}
	return "Write " + strings.Join(units[:last], ", ") + " or " + units[last]
}

// withArticle returns the name of d after "a" or "an".
func (d Dimension) withArticle() string {
	name := d.String()
	if strings.ContainsRune("aeiou", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}
