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
	NoiseV             Num // rms
	NoiseVPerRtHz      Num
	BandwidthHz        Num
	Order              Num // of the low-pass that BandwidthHz belongs to
	DelayS             Num
	HysteresisT        Num
	NonLinearity       Num // share of full range
	TemperatureFromC   Num
	TemperatureToC     Num
	BodyWidthM         Num
	BodyHeightM        Num
	BodyElementHeightM Num // of the element above the side that faces the bar
}

// Readout is what stands between the part's output and the number.
type Readout struct {
	Given     bool
	Span      span.Span
	Converter struct {
		LowV, HighV, Bits Num
	}
	Divider struct {
		TopOhm, BottomOhm Num
	}
	Amplifier struct {
		Gain, ZeroV Num
	}
	Filter struct {
		CornerHz, Order Num
	}
	Sampling struct {
		RateHz, DelayS Num
	}
	Number struct {
		Signed    bool
		SignedSet bool
		Width     Num
		PerCountA Num
	}
	Firmware struct {
		SlopeAPerCount Num
		ZeroCounts     Num
	}
}
