package layout

import "busgauss/model/span"

// Part is the data of a sensor type. A number that the file leaves open is NaN
// and not set. LinearLowT and LinearHighT are the ends of the linear range of
// flux density on the axis; a symmetric range has LinearLowT = -LinearHighT.
type Part struct {
	ID                 string
	Span               span.Span
	LinearLowT         Num
	LinearHighT        Num
	SensitivityVPerT   Num // as set
	SensitivityFromVPT Num // lowest that can be set
	SensitivityToVPT   Num // highest that can be set
	SensitivityTol     Num // share
	SensitivityPerK    Num // share per kelvin
	SensitivityLife    Num // share over life
	ZeroV              Num
	LowV               Num
	HighV              Num
	Ratiometric        bool
	RatiometricSet     bool
	SupplyV            Num
	SupplyTol          Num
	OffsetV            Num
	OffsetVPerK        Num
	OffsetLifeV        Num // change over life, to each side
	NoiseV             Num // rms
	NoiseVPerRtHz      Num
	BandwidthHz        Num
	Order              Num // of the low-pass that BandwidthHz belongs to
	Shape              Choice[Shape]
	DelayS             Num
	HysteresisT        Num
	NonLinearity       Num // to each side, as a share of the whole range from LinearLowT to LinearHighT
	TemperatureFromC   Num
	TemperatureToC     Num
	BodyWidthM         Num
	BodyHeightM        Num
	BodyElementHeightM Num // of the element above the side that faces the bar
}

// Shape is the form of a low-pass of an order above one.
type Shape string

// The two forms of a low-pass.
const (
	Butterworth Shape = "butterworth"
	EqualPoles  Shape = "equal-poles" // stages of resistor and capacitor behind buffers
)
