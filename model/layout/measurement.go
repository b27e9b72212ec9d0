package layout

import "busgauss/model/span"

// Measurement is what sensors read on a bench or a machine. The currents flowing were
// those of a duty, or one current: that of the circuit of each sensor that has a reading,
// with nothing in the others. A current that alternates and its readings are both rms
// values or both peak values: only their ratio counts.
type Measurement struct {
	Span        span.Span
	Date        string // year-month-day
	DateSpan    span.Span
	Instrument  string
	Duty        int // in Layout.Duties; None where CurrentA is given
	DutySpan    span.Span
	CurrentA    Num
	FreqHz      Num // of CurrentA; 0 where the file does not say
	Readings    []SensorReading
	Uncertainty Num // relative
}

// SensorReading is what one sensor read: the flux density on its axis or the voltage of its
// output, exactly one of which is set.
type SensorReading struct {
	Sensor       SensorIndex
	FluxDensityT Num
	OutputV      Num
	Span         span.Span
}
