package channel

import "math"

// LargestSensitivityVPerT returns the largest sensitivity, with the sign of the
// present one, at which no stage behind the element clips between −negativeA and
// +positiveA with every tolerance at its worst. All lines behind the element rise
// in proportion to it and their zeros stay, so the limits of present data scale:
//
//	S_max = S · min over stages of (least limit / current needed)
//
// The number is left out: firmware follows the sensitivity. A zero that clips at no
// current, or a limit that is not known, gives NaN. The caller holds the answer to
// the range that can be programmed (Settable).
func (c *Chain) LargestSensitivityVPerT(positiveA, negativeA float64) float64 {
	share := math.Inf(1)
	for _, s := range c.Stages() {
		if s.Name == ElementStage || s.Name == NumberStage {
			continue
		}
		share = min(share, s.LeastPositiveA/positiveA, -s.LeastNegativeA/negativeA)
	}
	if c.Output == nil || !(share > 0) || math.IsInf(share, 1) {
		return math.NaN()
	}
	return c.Output.SensitivityVPerT * share
}

// Settable reports whether a sensitivity lies in the range that can be
// programmed; false where that range is not known.
func (p *Output) Settable(sensitivityVPerT float64) bool {
	size := math.Abs(sensitivityVPerT)
	return size >= math.Abs(p.FromVPerT) && size <= math.Abs(p.ToVPerT) && sensitivityVPerT*p.FromVPerT > 0
}

// LargestDividerRatio returns the largest ratio of a divider directly before the
// converter, foot at FootV, that keeps the currents from −negativeA to +positiveA
// inside the converter:
//
//	r ≤ (V_end + V_minus − V_foot)/(v(I) − V_foot) at both ends
//
// with nominal data; the present divider is taken away first. It can be above one,
// which means that none is needed. NaN where the converter is not known, where the
// divider stands before an amplifier, or where no ratio helps because a voltage
// lies on the wrong side of the foot.
func (c *Chain) LargestDividerRatio(positiveA, negativeA float64) float64 {
	bare := *c
	foot := 0.0
	if c.Divider != nil {
		foot, bare.Divider = c.Divider.FootV, nil
	}
	in, ok := bare.Line(ConverterStage)
	if !ok || c.Divider != nil && c.DividerFirst && c.Amplifier != nil {
		return math.NaN()
	}
	shift := c.Converter.MinusV - foot
	low, high := in.Low+shift, in.High+shift
	ends := []float64{in.At(positiveA) + shift, in.At(-negativeA) + shift}
	ratio := math.Inf(1)
	for _, v := range ends {
		if v > 0 {
			ratio = min(ratio, high/v)
		}
		if v < 0 {
			ratio = min(ratio, low/v)
		}
	}
	if !(ratio > 0) || math.IsInf(ratio, 1) {
		return math.NaN()
	}
	for _, v := range ends {
		slack := float64(1e-12 * (math.Abs(low) + math.Abs(high)))
		if !(ratio*v >= low-slack && ratio*v <= high+slack) {
			return math.NaN()
		}
	}
	return ratio
}

// LeastCornerHz returns the least corner in hertz of the filter, of its present
// order and form (order 1 if there is none), at which the chain is no more than
// lagRad late at freqHz; NaN when it is too late without any filter or not known.
func (t *Timing) LeastCornerHz(freqHz, lagRad float64, field complex128) float64 {
	with := *t
	with.Filter = LowPass{}
	spare := lagRad - with.At(freqHz, field).LagRad
	if !(spare > 0) {
		return math.NaN()
	}
	f := t.Filter
	if f.passesAll() {
		f.Order = 1
	}
	// The lag falls with the corner, from N·90° at a corner of nothing.
	lag := func(cornerHz float64) float64 {
		f.CornerHz = cornerHz
		_, l := f.Lag(freqHz)
		return l
	}
	low, high := freqHz*1e-9, freqHz*1e9
	if lag(low) <= spare {
		return low
	}
	if lag(high) > spare {
		return math.NaN()
	}
	for range 200 {
		if mid := math.Sqrt(low * high); lag(mid) > spare {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}
