package layout

import "busgauss/model/span"

// Calibration is how one channel, or all, were calibrated. Channel is a sensor's
// name or "all".
type Calibration struct {
	Channel      string
	Span         span.Span
	Kind         Choice[CalibrationKind]
	Conductor    Choice[Conductor]
	Turns        Num
	PitchM       Num // between turns of a ribbon
	CurrentA     Num
	FreqHz       Num
	TemperatureC Num
	Tol          Num // share, of the reference
}

// CalibrationKind is what was done; each kind is one more step than the one
// before it.
type CalibrationKind string

// The kinds of calibration.
const (
	CalibrationNone     CalibrationKind = "none"
	CalibrationZero     CalibrationKind = "zero"
	CalibrationOnePoint CalibrationKind = "one-point"
	CalibrationTwoPoint CalibrationKind = "two-point"
	CalibrationMatrix   CalibrationKind = "matrix"
)

// WithCurrent reports whether a known current flows at a calibration of kind k.
func (k CalibrationKind) WithCurrent() bool {
	return k == CalibrationOnePoint || k == CalibrationTwoPoint || k == CalibrationMatrix
}

// Conductor is in what the current of a calibration flowed.
type Conductor string

// The conductors: the bar of the layout itself, or a coil that stood in for it,
// its turns side by side or in a round bundle.
const (
	ConductorBar    Conductor = "bar"
	ConductorRibbon Conductor = "ribbon"
	ConductorBundle Conductor = "bundle"
)

// CalibrationOf returns the calibration of the sensor called id: each value its
// own when it is set, else that of "all". Conductor, turns and pitch say one thing
// together and come from one place. Channel is then where the rest could be added: id
// when it has a calibration of its own, else "all". False when neither stands in
// the file.
func (l *Layout) CalibrationOf(id string) (Calibration, bool) {
	var own, all *Calibration
	for i := range l.Calibrations {
		switch c := &l.Calibrations[i]; c.Channel {
		case id:
			own = c
		case "all":
			all = c
		}
	}
	switch {
	case own == nil && all == nil:
		return Calibration{}, false
	case own == nil:
		return *all, true
	case all == nil:
		return *own, true
	}
	out := *own
	if !own.Conductor.Set && !own.Turns.Set && !own.PitchM.Set {
		out.Conductor, out.Turns, out.PitchM = all.Conductor, all.Turns, all.PitchM
	}
	if !own.Kind.Set {
		out.Kind = all.Kind
	}
	orAll(&out.CurrentA, all.CurrentA)
	orAll(&out.FreqHz, all.FreqHz)
	orAll(&out.TemperatureC, all.TemperatureC)
	orAll(&out.Tol, all.Tol)
	return out, true
}

// orAll puts the number of all in the place of one that is not set.
func orAll(own *Num, all Num) {
	if !own.Set && all.Set {
		*own = all
	}
}
