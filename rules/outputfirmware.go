package rules

import (
	"fmt"
	"math"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// judgeFirmware compares the conversion that is declared with the chain's.
func judgeFirmware(run *engine.Run, s *layout.Sensor, x *channel.Sensed, largestA float64) {
	if x.Chain.Firmware == nil {
		return
	}
	limit, w := run.Limit("constant", s.ID), run.Layout.ReadoutOf(s).Firmware
	d, ok := x.Chain.CheckFirmware()
	if !ok || math.IsNaN(d.Relative) {
		withoutData(run, s, "firmware", "the firmware's constant", x.Open("part", "sensitivity.set", "amplifier.", "converter", "converter.high", "converter.bits"))
		return
	}
	setup, _ := channel.SetupFromLayout(run.Layout, s)
	taken := 0.0 // what a calibration with current may have put into the constant
	if setup.By >= channel.ByOnePoint {
		taken = gainTolerance(x)
	}
	off := x.Bounded(func(c *channel.Chain) float64 {
		d, _ := c.CheckFirmware()
		return math.Max(0, math.Abs(d.Relative)-taken)
	})
	why := []string{
		fmt.Sprintf("The firmware takes %s per count", si.FormatDigits(x.Chain.Firmware.SlopeAPerCount, "A", 4)),
		fmt.Sprintf("The chain gives %s", si.FormatDigits(d.ComputedAPerCount, "A", 4)),
		"Every reading is " + highOrLow(d.Relative)}
	if largestA > 0 {
		why = append(why, fmt.Sprintf("That is %s at %s", si.Format(math.Abs(d.Relative)*largestA, "A"), si.Format(largestA, "A")))
	}
	if taken > 0 {
		why = append(why, fmt.Sprintf("The calibration accounts for up to %s", si.Percent(taken)))
	}
	run.Judge(engine.Case{
		Object: s.ID, Cause: "firmware", Span: w.SlopeAPerCount.Span, Found: off, Limit: limit,
		Says: "its firmware sets every reading", Rest: "off", Why: why,
		Ways: func() remedy.Ways {
			return waysOut(run, "", way{fmt.Sprintf("a firmware slope of %s per count", si.FormatDigits(d.ComputedAPerCount, "A", 5)),
				stagesAs(s, nil, func(r *layout.Stages) { r.Firmware.SlopeAPerCount.V = d.ComputedAPerCount })})
		},
	})
	// A zero that is taken afresh puts itself in the place of the declared one, if its
	// window around that one reaches so far; a calibration may have put in what the zero of the chain is off.
	zeroing := run.Layout.ReadoutOf(s).Zeroing
	if !w.ZeroCounts.Set || zeroing.WindowA.Set && math.Abs(d.ZeroErrorA) <= zeroing.WindowA.V || largestA == 0 || math.IsNaN(d.ZeroErrorA) {
		return
	}
	takenA, accounts := 0.0, ""
	if setup.By >= channel.ByZero {
		if len(zeroOnly(x.Unstated(channel.ByNothing))) > 0 {
			return // nobody says how far the zero may be off that the calibration took out
		}
		takenA = zeroTolerance(x)
		accounts = fmt.Sprintf("The calibration accounts for up to %s", si.Format(takenA, "A"))
	}
	run.Judge(engine.Case{
		Object: s.ID, Cause: "firmware zero", Span: w.ZeroCounts.Span, Limit: limit,
		Found: x.Bounded(func(c *channel.Chain) float64 {
			d, _ := c.CheckFirmware()
			return math.Max(0, math.Abs(d.ZeroErrorA)-takenA) / largestA
		}),
		Says: "its firmware sets the zero", Rest: fmt.Sprintf("of %s off", si.Format(largestA, "A")),
		Why: []string{fmt.Sprintf("The firmware takes %s counts for zero", si.FormatDigits(w.ZeroCounts.V, "", 5)),
			fmt.Sprintf("The chain gives %s", si.FormatDigits(d.ComputedZero, "", 5)),
			fmt.Sprintf("It tells %s at no current", orNone(d.ZeroErrorA, "A")), accounts},
		Ways: func() remedy.Ways {
			return waysOut(run, "", way{fmt.Sprintf("a firmware zero of %s counts", si.FormatDigits(d.ComputedZero, "", 6)),
				stagesAs(s, nil, func(r *layout.Stages) { r.Firmware.ZeroCounts.V = d.ComputedZero })},
				way{text: "a zero that is taken without current"})
		},
	})
}

func highOrLow(share float64) string {
	switch {
	case share < -1:
		return "of the wrong sign"
	case share < 0:
		return si.Percent(-share) + " low"
	case share > 0:
		return si.Percent(share) + " high"
	}
	return "right"
}

// gainTolerance is by how much the gain of the chain may differ from nominal as it
// is delivered: what one known current takes out, a pure number.
func gainTolerance(x *channel.Sensed) float64 {
	sum := 0.0
	for _, c := range x.Chain.Sources() {
		if c.Removed == channel.ByOnePoint && !math.IsNaN(c.Share) {
			sum += math.Abs(c.Share)
		}
	}
	return sum
}

// zeroTolerance is by how much the zero of the chain may differ from nominal as it is delivered: what a reading without
// current takes out, in amperes.
func zeroTolerance(x *channel.Sensed) float64 {
	sum := 0.0
	for _, c := range x.Chain.Sources() {
		if c.Removed != channel.ByNothing && !math.IsNaN(c.ZeroA) {
			sum += math.Abs(c.ZeroA)
		}
	}
	return sum
}
