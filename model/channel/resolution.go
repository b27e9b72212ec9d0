package channel

import (
	"math"

	"busgauss/model/portable"
)

// Noise is what is known of noise. A NaN is not known; 0 is none.
type Noise struct {
	OutputVPerRtHz    float64 // density at the part's output
	OutputRMSV        float64 // rms at the part's output over its own bandwidth
	AmplifierVPerRtHz float64 // density at the amplifier's input
	ConverterRMSCount float64 // of the converter itself, in counts
}

// Resolution is how finely the channel tells a current, in amperes of the bar.
type Resolution struct {
	StepA         float64 // one count of the converter; 0 without one
	NumberStepA   float64 // one count of the number; 0 without one
	PartNoiseA    float64 // rms
	AnalogNoiseA  float64 // rms, of amplifier and converter
	QuantisationA float64 // rms, both steps
	NoiseA        float64 // rms of everything
	BandwidthHz   float64 // noise bandwidth at the converter
	PartFiltered  bool    // the part's rms was taken down by the filter
}

// Resolution returns step and noise of the channel:
//
//	step           1/|counts per ampere|, and the number's amperes per count
//	part noise     density √B / |volts per ampere at the output|, B the noise bandwidth
//	               of part and filter; or the rms given, times √(B/B_part) with a filter
//	               behind it (white noise)
//	quantisation   step/√12 for each step
//	rms            root of the sum of squares
//
// Sampling folds noise above half the rate back into the band, so it does not
// lower the rms (an averaging converter does; its window is not counted here). A
// datum that is not known makes what hangs on it NaN.
//
// Source: W. R. Bennett, Bell System Technical Journal 27 (1948) 446 (step/√12);
// bandwidth as NoiseBandwidthHz.
func (c *Chain) Resolution() Resolution {
	var r Resolution
	part := []LowPass{c.Timing.Part}
	all := append(part, c.Timing.Filter)
	r.BandwidthHz = NoiseBandwidthHz(all...)
	out, ok := c.Line(OutputStage)
	voltsPerA := math.Abs(out.PerA)
	if !ok {
		voltsPerA = math.NaN()
	}
	switch n := c.Noise; {
	case !math.IsNaN(n.OutputVPerRtHz):
		r.PartNoiseA = n.OutputVPerRtHz * math.Sqrt(r.BandwidthHz) / voltsPerA
	default:
		r.PartNoiseA = n.OutputRMSV / voltsPerA
		if share := r.BandwidthHz / NoiseBandwidthHz(part...); share < 1 {
			r.PartNoiseA *= math.Sqrt(share)
			r.PartFiltered = true
		}
	}
	if c.Amplifier != nil {
		in := math.Abs(c.ampInputPerA())
		r.AnalogNoiseA = times(c.Noise.AmplifierVPerRtHz, math.Sqrt(NoiseBandwidthHz(c.Timing.Filter))) / in
	}
	if c.Converter != nil {
		_, perA := c.Counts()
		r.StepA = 1 / math.Abs(perA)
		r.AnalogNoiseA = portable.Hypot(r.AnalogNoiseA, c.Noise.ConverterRMSCount*r.StepA)
		r.QuantisationA = r.StepA / math.Sqrt(12)
	}
	if c.Number != nil {
		r.NumberStepA = math.Abs(c.Number.PerCountA)
		r.QuantisationA = portable.Hypot(r.QuantisationA, r.NumberStepA/math.Sqrt(12))
	}
	r.NoiseA = portable.Hypot(portable.Hypot(r.PartNoiseA, r.AnalogNoiseA), r.QuantisationA)
	return r
}

// times is a product in which nothing of everything is nothing.
func times(a, b float64) float64 {
	if a == 0 {
		return 0
	}
	return a * b
}

// ampInputPerA returns volts per ampere at the amplifier's input.
func (c *Chain) ampInputPerA() float64 {
	before := OutputStage
	if c.Divider != nil && c.DividerFirst {
		before = DividerStage
	}
	s, ok := c.Line(before)
	if !ok {
		return math.NaN()
	}
	return s.PerA
}

// NoiseFactor is how many times its rms a current must be to be told from none by one reading: three times from
// nothing up to the threshold and three times from the threshold up to the current, so that noise is taken for the
// current, and the current for noise, in 0.13 % of readings each. A current of three times the rms alone stands at the
// threshold, and every other reading of it is missed.
//
// Source: L. A. Currie, Analytical Chemistry 40 (1968) 586, L_D = k_α σ + k_β σ (detection limit; from memory), with
// k = 3 for both, common practice.
const NoiseFactor = 6

// Loudest is the resolution with the filter's corner at its upper end, where most noise passes.
func (c *Chain) Loudest() Resolution {
	quick := *c
	quick.Timing = c.Timing.Quickest()
	return quick.Resolution()
}

// SmallestA returns the smallest current in amperes that one reading tells from none: factor times the rms of the
// noise of part, amplifier and converter, and on top the step of the converter or of the number, whichever is
// larger, by which a reading may stand off either way.
func (r Resolution) SmallestA(factor float64) float64 {
	return float64(factor*portable.Hypot(r.PartNoiseA, r.AnalogNoiseA)) + max(r.StepA, r.NumberStepA)
}
