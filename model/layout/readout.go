package layout

import "busgauss/model/span"

// Readout is what stands between the part's output and the number: what holds for
// every channel, and what single channels have instead. Given says that the file
// has something for every channel.
type Readout struct {
	Given bool
	Span  span.Span
	Stages
	Channels []ChannelReadout
}

// ChannelReadout is the readout of one channel where it differs: a stage that it
// gives stands in place of the whole of the common one.
type ChannelReadout struct {
	Channel string // name of a sensor
	Span    span.Span
	Stages
}

// Stages are the stages of a readout, in order of the signal.
type Stages struct {
	Amplifier Amplifier
	Divider   Divider
	Filter    Filter
	Converter Converter
	Sampling  Sampling
	Number    NumberFormat
	Firmware  Firmware
	Zeroing   Zeroing
}

// Stage is what every stage has. OfChannel says that it stands among the stages of
// one channel, not among the common ones.
type Stage struct {
	Given     bool
	OfChannel bool
	Span      span.Span
}

// Amplifier gives ZeroV + Gain (input − ReferenceV).
type Amplifier struct {
	Stage
	Gain, ZeroV   Num
	ReferenceV    Num // input at which the output is ZeroV
	LowV, HighV   Num // swing
	GainTol       Num // share
	OffsetV       Num // at the input, to each side
	NoiseVPerRtHz Num // density at the input, V/√Hz
}

// Divider stands across the signal; its lower resistor ends at FootV.
type Divider struct {
	Stage
	TopOhm, BottomOhm Num
	Tol               Num // share, of each resistor
	FootV             Num
	Place             Choice[DividerPlace]
}

// DividerPlace is where a divider stands beside an amplifier.
type DividerPlace string

// The two places of a divider.
const (
	AfterAmplifier  DividerPlace = "after-amplifier"
	BeforeAmplifier DividerPlace = "before-amplifier"
)

// Filter is the low-pass before the converter.
type Filter struct {
	Stage
	CornerHz, Order Num
	Shape           Choice[Shape]
	Tol             Num // share, of the corner
}

// Converter turns a voltage into counts.
type Converter struct {
	Stage
	LowV, HighV, Bits Num
	Tol               Num // share, of its reference
	Ratiometric       Choice[bool]
	MinusV            Num // negative input of a differential one
	Code              Choice[Code]
	NoiseCounts       Num // rms
}

// Code is the form of a converter's counts.
type Code string

// The two codes: counts from 0, and counts from −2^(bits−1).
const (
	StraightCode Code = "straight"
	SignedCode   Code = "signed"
)

// Sampling is when the converter looks and how late its number is.
type Sampling struct {
	Stage
	RateHz, DelayS Num
	Hold           Choice[bool] // the number is a staircase between samples
	ApertureS      Num          // window over which the converter averages
	CarrierHz      Num          // sampling keeps step with it
	ShiftS         Num          // how late of the middle of a slope of the carrier's ripple
}

// NumberFormat is the form in which the current leaves the controller.
type NumberFormat struct {
	Stage
	Signed    bool
	SignedSet bool
	Width     Num
	PerCountA Num
	Zero      Num // number at no current
}

// Firmware is the conversion that firmware declares.
type Firmware struct {
	Stage
	SlopeAPerCount Num
	ZeroCounts     Num
}

// Zeroing is a zero that the controller takes for itself.
type Zeroing struct {
	Stage
	WindowA  Num // a reading within it, to each side, is taken for zero
	CurrentA Num // largest that flows while zero is taken
	NoiseA   Num // rms of the mean that is taken
}

// ReadoutOf returns the readout of sensor s: the stages that its channel gives,
// and the common ones for the rest. The result has no channels of its own.
func (l *Layout) ReadoutOf(s *Sensor) Readout {
	out := l.Readout
	out.Channels = nil
	for i := range l.Readout.Channels {
		o := &l.Readout.Channels[i]
		if o.Channel != s.ID {
			continue
		}
		out.Given, out.Span = true, o.Span
		override(&out.Amplifier, o.Amplifier, o.Amplifier.Stage)
		override(&out.Divider, o.Divider, o.Divider.Stage)
		override(&out.Filter, o.Filter, o.Filter.Stage)
		override(&out.Converter, o.Converter, o.Converter.Stage)
		override(&out.Sampling, o.Sampling, o.Sampling.Stage)
		override(&out.Number, o.Number, o.Number.Stage)
		override(&out.Firmware, o.Firmware, o.Firmware.Stage)
		override(&out.Zeroing, o.Zeroing, o.Zeroing.Stage)
	}
	return out
}

func override[T any](common *T, own T, head Stage) {
	if head.Given {
		*common = own
	}
}

// WithStages returns a copy of l in which the readout of sensor s is what change makes of it. A stage that
// the channel does not give itself is the common one, and changes for every channel that shares it.
func (l *Layout) WithStages(s *Sensor, change func(*Stages)) *Layout {
	c := *l
	c.Readout.Channels = append([]ChannelReadout(nil), l.Readout.Channels...)
	r := l.ReadoutOf(s).Stages
	change(&r)
	own := &c.Readout.Stages
	for i := range c.Readout.Channels {
		if c.Readout.Channels[i].Channel == s.ID {
			own = &c.Readout.Channels[i].Stages
		}
	}
	common := &c.Readout.Stages
	putBack(&common.Amplifier, &own.Amplifier, r.Amplifier, r.Amplifier.Stage)
	putBack(&common.Divider, &own.Divider, r.Divider, r.Divider.Stage)
	putBack(&common.Filter, &own.Filter, r.Filter, r.Filter.Stage)
	putBack(&common.Converter, &own.Converter, r.Converter, r.Converter.Stage)
	putBack(&common.Sampling, &own.Sampling, r.Sampling, r.Sampling.Stage)
	putBack(&common.Number, &own.Number, r.Number, r.Number.Stage)
	putBack(&common.Firmware, &own.Firmware, r.Firmware, r.Firmware.Stage)
	putBack(&common.Zeroing, &own.Zeroing, r.Zeroing, r.Zeroing.Stage)
	return &c
}

// putBack puts a stage where it stands.
func putBack[T any](common, own *T, stage T, head Stage) {
	if head.OfChannel {
		*own = stage
	} else {
		*common = stage
	}
}
