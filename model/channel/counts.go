package channel

import "math"

// counts returns the counts at no current and per ampere for the line at the
// converter's input:
//
//	n = (v − V_low)/(V_high − V_low) · 2^bits, less 2^(bits−1) for a signed code
func (a *Converter) counts(in Stage) (zero, perA float64) {
	perV := pow2(a.Bits) / (in.High - in.Low)
	zero = float64((in.Zero - in.Low) * perV)
	if a.SignedCode {
		zero -= pow2(a.Bits - 1)
	}
	return zero, in.PerA * perV
}

// Counts returns the counts of the converter at no current and per ampere, both
// signed, with nominal data; NaN where the chain is not known so far.
func (c *Chain) Counts() (zeroCounts, countsPerA float64) {
	in, ok := c.line(ConverterStage, off{})
	if !ok {
		return math.NaN(), math.NaN()
	}
	return c.Converter.counts(in)
}

// Line returns the nominal straight line of one stage, and false when the chain
// does not have it.
func (c *Chain) Line(name string) (Stage, bool) { return c.line(name, off{}) }

func (c *Chain) line(name string, o off) (Stage, bool) {
	for _, s := range c.lines(o) {
		if s.Name == name {
			return s, true
		}
	}
	return Stage{}, false
}

// At returns what the stage holds at a current of the bar, in its Unit.
func (s *Stage) At(currentA float64) float64 { return s.Zero + float64(s.PerA*currentA) }

// Declared compares the conversion that firmware declares with the one that the
// chain gives.
type Declared struct {
	ComputedAPerCount float64 // 1/(counts per ampere)
	ComputedZero      float64 // counts at no current
	// Relative is the error of every reading, as a share: slope declared over
	// slope computed, less one. −2 and beyond means that the sign is turned round.
	Relative float64
	// ZeroErrorA is what firmware tells at no current.
	ZeroErrorA float64
}

// CheckFirmware returns how the declared slope and zero stand against the chain:
//
//	relative error = a_declared · (counts per ampere) − 1
//	at no current  = a_declared · (n0 − n_declared)
//
// A zero that is not declared is NaN and so is ZeroErrorA. False without
// declared firmware or converter.
func (c *Chain) CheckFirmware() (Declared, bool) {
	if c.Firmware == nil || c.Converter == nil {
		return Declared{}, false
	}
	zero, perA := c.Counts()
	f := c.Firmware
	return Declared{
		ComputedAPerCount: 1 / perA,
		ComputedZero:      zero,
		Relative:          float64(f.SlopeAPerCount*perA) - 1,
		ZeroErrorA:        f.SlopeAPerCount * (zero - f.ZeroCounts),
	}, true
}

// DeclaredOffA returns by how much a declared conversion is off at a current, in amperes: in its slope, and in its zero
// where one is declared. What a calibration of the kind given takes out is left out of both, NaN where the chain is not
// known so far; 0 without declared firmware.
func (c *Chain) DeclaredOffA(currentA float64, by Calibration) (slopeA, zeroA float64) {
	d, ok := c.CheckFirmware()
	if !ok {
		return 0, 0
	}
	if by < ByOnePoint {
		slopeA = math.Abs(d.Relative * currentA)
	}
	if by < ByZero && !math.IsNaN(c.Firmware.ZeroCounts) {
		zeroA = math.Abs(d.ZeroErrorA)
	}
	return slopeA, zeroA
}

// Polarity returns +1 when the last known stage rises with a positive current,
// −1 when it falls, 0 when that is not known. It follows the field on the axis,
// the signs of sensitivity and gain and, when declared, of the firmware's slope
// and of the number's step.
func (c *Chain) Polarity() int {
	s := c.lines(off{})
	perA := s[len(s)-1].PerA
	if c.Number == nil && c.Firmware != nil && c.Converter != nil {
		_, perA = c.Converter.counts(s[len(s)-1])
		perA *= c.Firmware.SlopeAPerCount
	}
	switch {
	case perA > 0:
		return 1
	case perA < 0:
		return -1
	}
	return 0
}
