// Package rules holds the design rules: one a file, and All, the ordered list.
package rules

import "busgauss/rules/engine"

// All returns every rule in the order in which the catalogue lists them. The
// slice belongs to the caller.
func All() []engine.Rule {
	return []engine.Rule{
		Coverage,
		Geometry,
		ReturnPath,
		LinearRange,
		RangeUse,
		Polarity,
		StrayRatio,
		StrayWithFrequency,
		GainWithFrequency,
		AmbientField,
		Placement,
		SensorAxis,
		ShieldSaturation,
		ShieldLinearity,
		ShieldRemanence,
		ShieldSheet,
		PlaneValidity,
		BarHeating,
		Creepage,
		Clearance,
		OutputChain,
		Resolution,
		Response,
		Trip,
		Zeroing,
		ChannelAccuracy,
		PhaseSum,
		Calibration,
		BatteryView,
		Measured,
		Plausibility,
	}
}
