package channel

// Chain is one channel from element to number. A nil stage is one that the
// channel does not have; Converter, Number and Firmware may be nil because they
// are not known, and then nothing behind them can be said. Tolerances are half
// widths; their zero value means exact.
type Chain struct {
	Element   Element
	Output    *Output
	Amplifier *Amplifier
	Divider   *Divider
	Converter *Converter
	Number    *Number
	Firmware  *Firmware
	Timing    Timing
	Noise     Noise
	Drift     Drift
	// DividerFirst puts the divider before the amplifier; otherwise the signal
	// passes the amplifier first.
	DividerFirst bool
}

// Element is the sensing element in its place.
type Element struct {
	SlopeTPerA float64 // reading per ampere of what the sensor reads, on the axis
	SlopeTol   float64 // share of it: placement and certainty of the field
	LowT       float64 // ends of the linear range
	HighT      float64
	// EachTPerA is the own field per ampere on each single element of a pair,
	// which is what fills its range; nil for a single element.
	EachTPerA []float64
}

// Output is the output of the part.
type Output struct {
	SensitivityVPerT float64
	SensitivityTol   float64 // share
	FromVPerT        float64 // range that can be programmed; NaN: fixed or not known
	ToVPerT          float64
	ZeroV            float64
	ZeroTolV         float64 // offset as delivered
	LowV             float64 // swing
	HighV            float64
	Ratiometric      bool    // zero, sensitivity and swing follow the supply
	SupplyTol        float64 // share, to each side
}

// Amplifier gives v = ZeroV + Gain (v' − ReferenceV).
type Amplifier struct {
	Gain       float64
	GainTol    float64 // share
	ReferenceV float64 // input at which the output is ZeroV
	ZeroV      float64
	InputTolV  float64 // input offset
	LowV       float64 // swing
	HighV      float64
}

// Divider gives v = FootV + r (v' − FootV) with r = bottom/(top + bottom).
type Divider struct {
	TopOhm    float64
	BottomOhm float64
	Tol       float64 // share, of each resistor
	FootV     float64 // to which the lower resistor goes
}

// Ratio returns the output of the divider over its input, a pure number, with
// the upper and the lower resistor off by the shares given:
//
//	r = R_bottom (1+b) / (R_top (1+t) + R_bottom (1+b))
//
// No load on the tap. Resistors that are not positive in sum give NaN.
func (d *Divider) Ratio(topOff, bottomOff float64) float64 {
	t, b := float64(d.TopOhm*(1+topOff)), float64(d.BottomOhm*(1+bottomOff))
	return b / (t + b)
}

// Converter turns a voltage into 2^Bits counts between LowV and HighV. A
// differential one reads against MinusV. With SignedCode the counts run from
// −2^(Bits−1), otherwise from 0.
type Converter struct {
	LowV        float64
	HighV       float64
	Bits        float64
	MinusV      float64
	SignedCode  bool
	Ratiometric bool    // its reference is the supply of the part
	Tol         float64 // share, of a reference of its own
}

// Firmware is the conversion that is declared: amperes = slope (counts − zero).
type Firmware struct {
	SlopeAPerCount float64
	ZeroCounts     float64
}

// Number is the form in which the current leaves the controller:
// number = current/PerCountA + ZeroCount, held to its width.
type Number struct {
	Signed    bool
	Width     float64
	PerCountA float64
	ZeroCount float64
}

// Ends returns the lowest and the highest number: −2^(w−1) and 2^(w−1) − 1 in
// two's complement, 0 and 2^w − 1 without sign.
func (n *Number) Ends() (low, high float64) {
	if n.Signed {
		return -pow2(n.Width - 1), pow2(n.Width-1) - 1
	}
	return 0, pow2(n.Width) - 1
}
