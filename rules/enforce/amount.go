package enforce

import (
	"fmt"

	"busgauss/model/policy"
	"busgauss/model/si"
)

// dimensions are those that a text with a unit can have.
func dimensions() []si.Dimension {
	return []si.Dimension{
		si.Length, si.Area, si.Angle, si.Current, si.Voltage, si.FluxDensity, si.FieldStrength, si.Frequency, si.Time,
		si.Temperature, si.TemperatureDifference, si.Ratio, si.Conductivity, si.Resistivity, si.Resistance,
		si.ResistancePerLength, si.Inductance, si.Capacitance, si.Sensitivity, si.VoltagePerCurrent,
		si.FluxDensityPerCurrent, si.FluxDensityPerLength, si.PerKelvin, si.VoltagePerKelvin, si.FluxDensityPerKelvin,
		si.VoltageNoiseDensity, si.FluxDensityNoiseDensity, si.Charge, si.Power, si.CurrentDensity, si.VoltagePerTime,
		si.CurrentPerTime,
	}
}

func dimensionOf(unit string) (si.Dimension, bool) {
	for _, d := range dimensions() {
		if d.Symbol() == unit {
			return d, true
		}
	}
	return 0, false
}

// valueOf reads an amount in an SI unit. A share may be written as a plain
// number; nothing else may.
func valueOf(a policy.Amount, unit string) (float64, error) {
	d, ok := dimensionOf(unit)
	switch {
	case a.Bare && (unit == "1" || !ok):
		return si.ParsePure(a.Text)
	case a.Bare:
		return 0, fmt.Errorf("a bare number: write it with a unit of %s, such as %q", d, clip(a.Text)+" "+d.Units()[0])
	case !ok:
		return 0, fmt.Errorf("%s: a plain number is wanted", quote(a.Text))
	}
	return si.Parse(a.Text, d)
}

// anyAmount reads a text with a unit of any dimension.
func anyAmount(text string) (value float64, unit string, ok bool) {
	for _, d := range dimensions() {
		if v, err := si.Parse(text, d); err == nil {
			return v, d.Symbol(), true
		}
	}
	return 0, "", false
}
