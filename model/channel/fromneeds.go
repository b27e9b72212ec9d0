package channel

import (
	"fmt"
	"math"

	"busgauss/model/layout"
)

// Setup is how a channel was calibrated. NaN is not known.
type Setup struct {
	By           Calibration // ByNothing, ByZero, ...
	Conductor    layout.Conductor
	Turns        float64
	PitchM       float64 // between turns of a ribbon
	CurrentA     float64 // of one turn; rms where it alternates
	FreqHz       float64
	TemperatureC float64
	Tol          float64 // share, of the reference
}

// PeakA returns the largest current of one turn in amperes: √2 times the rms of a sine.
func (s *Setup) PeakA() float64 {
	if s.FreqHz > 0 {
		return math.Sqrt2 * s.CurrentA
	}
	return s.CurrentA
}

// SetupFromLayout returns how sensor s is calibrated, and what the layout leaves
// open about it. Without a calibration By is ByNothing, and TemperatureC that of the
// part's data.
func SetupFromLayout(l *layout.Layout, s *layout.Sensor) (Setup, []Missing) {
	var f filler
	out := f.calibrated(l, s)
	return out, f.missing
}

func (f *filler) calibrated(l *layout.Layout, s *layout.Sensor) Setup {
	nan := math.NaN()
	out := Setup{Conductor: layout.ConductorBar, Turns: 1, PitchM: nan, CurrentA: nan, FreqHz: nan, Tol: nan}
	c, ok := l.CalibrationOf(s.ID)
	if !ok {
		f.assumed("calibration", l.Span, "channels are not calibrated")
		out.TemperatureC = f.calibrationC(l, s)
		return out
	}
	at := func(key string) string { return "calibration." + c.Channel + "." + key }
	if !c.Kind.Set {
		f.assumed(at("kind"), c.Kind.Span, "the channel is not calibrated")
	}
	switch c.Kind.V {
	case layout.CalibrationZero:
		out.By = ByZero
	case layout.CalibrationOnePoint:
		out.By = ByOnePoint
	case layout.CalibrationTwoPoint:
		out.By = ByTwoPoint
	case layout.CalibrationMatrix:
		out.By = ByMatrix
	}
	out.TemperatureC = f.calibrationC(l, s)
	if !c.Kind.V.WithCurrent() {
		return out
	}
	if !c.Conductor.Set {
		f.assumed(at("conductor"), c.Conductor.Span, "the current of the calibration flowed in the bar")
	} else {
		out.Conductor = c.Conductor.V
	}
	out.Turns = orDefault(c.Turns, 1)
	if out.PitchM = num(c.PitchM); out.Conductor == layout.ConductorRibbon && out.Turns > 1 {
		f.orUndecided(c.PitchM, at("pitch"), "the pitch of the ribbon is not known")
	}
	out.CurrentA = f.orUndecided(c.CurrentA, at("current"), "the current of the calibration is not known")
	out.FreqHz = f.orAssumed(c.FreqHz, 0, at("frequency"), "the channel is calibrated with direct current")
	if c.CurrentA.Set && out.FreqHz > 0 {
		f.assumed(at("current"), c.CurrentA.Span, "the alternating current of the calibration is its rms value")
	}
	out.Tol = f.orUndecided(c.Tol, at("tolerance"), "the tolerance of the reference is not known")
	return out
}

// roomC is the temperature of calibration and of the data of parts where the layout
// does not say it: 25 °C, common practice of data sheets.
const roomC = 25

// calibrationC returns the temperature of calibration in degrees Celsius.
func (f *filler) calibrationC(l *layout.Layout, s *layout.Sensor) float64 {
	c, ok := l.CalibrationOf(s.ID)
	if !ok {
		c.Channel, c.TemperatureC.Span = "all", l.Span
	}
	return f.orAssumed(c.TemperatureC, roomC, "calibration."+c.Channel+".temperature",
		fmt.Sprintf("sensitivity and zero are those at %d °C", roomC))
}

// TripFromLayout returns the trip that sensor s needs, and what the layout leaves
// open about it; nil when none is demanded.
func TripFromLayout(l *layout.Layout, s *layout.Sensor) (*Trip, []Missing) {
	current, ok := l.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.TripA })
	if !ok {
		return nil, nil
	}
	var f filler
	key := func(k string) string { return "needs." + tripOf(l, s) + ".trip." + k }
	open := func(k, text string, get func(*layout.Need) layout.Num) float64 {
		n, ok := l.NeedFor(s.ID, get)
		if !ok {
			n.Span = current.Span
		}
		return f.orUndecided(n, key(k), text)
	}
	out := &Trip{CurrentA: current.V, Tap: TapNumber}
	by := l.TripByFor(s.ID)
	switch {
	case !by.Set:
		f.assumed(key("by"), by.Span, "the threshold of the trip compares numbers")
	case by.V == layout.TapOutput:
		out.Tap = TapOutput
	case by.V == layout.TapFilter:
		out.Tap = TapFilter
	}
	out.ActS = open("switching", "the time from crossing the threshold to the end of the current's rise is not known",
		func(n *layout.Need) layout.Num { return n.TripSwitchingS })
	out.SupplyV = open("supply", "the voltage that drives the fault current is not known",
		func(n *layout.Need) layout.Num { return n.TripSupplyV })
	out.InductanceH = open("inductance", "the inductance of the fault's loop is not known",
		func(n *layout.Need) layout.Num { return n.TripInductanceH })
	return out, f.missing
}

// tripOf returns whose trip holds for s: its own, or that of all.
func tripOf(l *layout.Layout, s *layout.Sensor) string {
	for i := range l.Needs {
		if n := &l.Needs[i]; n.Channel == s.ID && n.TripA.Set {
			return s.ID
		}
	}
	return "all"
}

// BatteryFromLayout returns the store whose charge sensor s counts, and false when
// it counts none.
func BatteryFromLayout(l *layout.Layout, s *layout.Sensor) (Battery, bool) {
	charge, ok := l.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.BatteryChargeAs })
	return Battery{ChargeAh: charge.V / 3600}, ok
}

// ZeroingFromLayout returns the zero that the controller of sensor s takes for
// itself, and what the layout leaves open about it; nil when it takes none. OffsetA
// is a result of the chain and its surroundings, and NaN until the caller knows it.
func ZeroingFromLayout(l *layout.Layout, s *layout.Sensor) (*Zeroing, []Missing) {
	r := l.ReadoutOf(s)
	z := &r.Zeroing
	if !z.WindowA.Set {
		return nil, nil
	}
	var f filler
	at := func(key string) string { return readoutKey(z.Stage, s.ID, "zeroing."+key) }
	out := &Zeroing{WindowA: z.WindowA.V, OffsetA: math.NaN()}
	out.CurrentA = f.orAssumed(z.CurrentA, 0, at("current"), "no current flows while zero is taken")
	out.NoiseA = f.orAssumed(z.NoiseA, 0, at("noise"), "the mean that is taken for zero has no noise")
	return out, f.missing
}
