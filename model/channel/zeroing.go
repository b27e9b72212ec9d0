package channel

import "math"

// Zeroing is a zero that the controller takes for itself when it believes that
// no current flows.
type Zeroing struct {
	WindowA  float64 // readings within ± this of nominal are taken for zero
	OffsetA  float64 // largest offset of the channel, ±, stray field and Earth included
	NoiseA   float64 // rms of the mean that is taken
	CurrentA float64 // largest current that really flows while zero is taken
}

// SwallowedA returns the largest real current in amperes that the window takes for
// zero, and that every later reading then lacks. A reading I + o passes when
// |I + o| <= W, and an offset of the other sign hides as much of the current:
//
//	I = W + |o|
//
// Common practice.
func (z Zeroing) SwallowedA() float64 { return z.WindowA + math.Abs(z.OffsetA) }

// LeastWindowA returns the least window in amperes that always finds its zero:
// offset, current that is known to flow, and NoiseCrest times the rms noise. A
// window below it may refuse a sound channel.
func (z Zeroing) LeastWindowA() float64 {
	return math.Abs(z.OffsetA) + math.Abs(z.CurrentA) + float64(NoiseCrest*z.NoiseA)
}

// LeftA returns the error in amperes that stays after zeroing: the current that
// flowed, never more than what the window could take for zero, and the noise of the mean at
// NoiseCrest times its rms.
func (z Zeroing) LeftA() float64 {
	return min(math.Abs(z.CurrentA), z.SwallowedA()) + float64(NoiseCrest*z.NoiseA)
}
