// Package bounded has numbers and phasors with the bounds between which the truth
// lies.
package bounded

import "math"

// Estimate is a number with its bounds: the true value of the model lies
// between Low and High. A number that could not be computed has NaN bounds and
// compares as nothing.
type Estimate struct {
	Value, Low, High float64
}

// Exact returns v as an estimate without spread.
func Exact(v float64) Estimate { return Estimate{v, v, v} }

// Certainty returns the half width of the bound relative to the value; 0 for an
// exact zero, NaN when a bound is not a number.
func (e Estimate) Certainty() float64 {
	w := math.Max(e.High-e.Value, e.Value-e.Low)
	if w == 0 {
		return 0
	}
	return w / math.Abs(e.Value)
}

// Scale returns e times a factor that is exact.
func (e Estimate) Scale(f float64) Estimate {
	if f < 0 {
		return Estimate{float64(e.Value * f), float64(e.High * f), float64(e.Low * f)}
	}
	return Estimate{float64(e.Value * f), float64(e.Low * f), float64(e.High * f)}
}

// Over returns e divided by d; both must not be negative. NaN bounds when d may
// be zero.
func (e Estimate) Over(d Estimate) Estimate {
	if !(d.Low > 0) {
		return Estimate{e.Value / d.Value, math.NaN(), math.NaN()}
	}
	return Estimate{e.Value / d.Value, e.Low / d.High, e.High / d.Low}
}

// Plus returns the sum of e and f with their bounds added.
func (e Estimate) Plus(f Estimate) Estimate {
	return Estimate{e.Value + f.Value, e.Low + f.Low, e.High + f.High}
}

// LargerOf returns the one with the larger value.
func LargerOf(e, f Estimate) Estimate {
	if f.Value > e.Value {
		return f
	}
	return e
}

// Most returns the larger of two numbers that are known to within bounds: its
// bounds are the larger of theirs. NaN in one of them spreads.
func Most(e, f Estimate) Estimate {
	return Estimate{math.Max(e.Value, f.Value), math.Max(e.Low, f.Low), math.Max(e.High, f.High)}
}

// Around returns v with a bound on each side; magnitudes are not negative.
func Around(v, bound float64) Estimate {
	bound = float64(bound) // as a product it would be fused with the sums
	return Estimate{v, math.Max(0, v-bound), v + bound}
}

// Spanning returns the middle of two estimates, with bounds that hold both.
func Spanning(a, b Estimate) Estimate {
	return Estimate{(a.Value + b.Value) / 2, math.Min(a.Low, b.Low), math.Max(a.High, b.High)}
}

// Magnitude returns the estimate of |e|.
func (e Estimate) Magnitude() Estimate {
	switch {
	case e.Low >= 0:
		return e
	case e.High <= 0:
		return Estimate{-e.Value, -e.High, -e.Low}
	}
	// Written so that NaN bounds stay NaN.
	if math.IsNaN(e.Low) || math.IsNaN(e.High) {
		return Estimate{math.Abs(e.Value), math.NaN(), math.NaN()}
	}
	return Estimate{math.Abs(e.Value), 0, math.Max(e.High, -e.Low)}
}

// Between returns the estimate a share x on the way from e to f, with half of what their
// values differ in the bounds.
func (e Estimate) Between(f Estimate, x float64) Estimate {
	slack := math.Abs(f.Value-e.Value) / 2
	return Estimate{
		Value: float64((1-x)*e.Value) + float64(x*f.Value),
		Low:   float64((1-x)*e.Low) + float64(x*f.Low) - slack,
		High:  float64((1-x)*e.High) + float64(x*f.High) + slack,
	}
}
