package uncertainty

import "math"

// Shape is the form of the distribution that stands for what is known of an
// input. The zero value is none, which makes a line incomplete.
type Shape int

const (
	// Normal is the Gauss distribution, with limits given as a multiple of its
	// standard deviation.
	Normal Shape = iota + 1
	// Rectangular holds every value within its limits for equally likely: a
	// tolerance of which no more is said, a quantisation step.
	Rectangular
	// Triangular falls in straight lines from the middle to its limits: the sum
	// or difference of two rectangular inputs of half that width.
	Triangular
	// Arcsine is the U-shaped distribution of a sinusoid of known amplitude and
	// unknown phase.
	Arcsine
)

// String returns the name of the distribution in lower case.
func (s Shape) String() string {
	switch s {
	case Normal:
		return "normal"
	case Rectangular:
		return "rectangular"
	case Triangular:
		return "triangular"
	case Arcsine:
		return "arcsine"
	default:
		return "no distribution"
	}
}

// Spread says how far an input may lie from its estimate, to either side.
type Spread struct {
	Shape Shape
	// Half is half the distance between the limits, in the unit of the input;
	// for Arcsine the amplitude of the sinusoid. Zero means exactly known.
	Half float64
	// Sigmas is how many standard uncertainties Half stands for; for Normal
	// only, and it has no default.
	Sigmas float64
}

// Standard returns the spread of an input whose standard uncertainty u is known,
// from observations or a certificate (JCGM 100:2008, clauses 4.2 and 4.3.3).
func Standard(u float64) Spread { return Spread{Shape: Normal, Half: u, Sigmas: 1} }

// WithinSigmas returns the normal spread whose limits ±half hold sigmas standard
// uncertainties: a maker's "±3 sigma" (JCGM 100:2008, clause 4.3.3).
func WithinSigmas(half, sigmas float64) Spread {
	return Spread{Shape: Normal, Half: half, Sigmas: sigmas}
}

// Within returns the rectangular spread between ±half (JCGM 100:2008, clause
// 4.3.7).
func Within(half float64) Spread { return Spread{Shape: Rectangular, Half: half} }

// WithinMostlyMiddle returns the triangular spread between ±half (JCGM 100:2008,
// clause 4.3.9).
func WithinMostlyMiddle(half float64) Spread { return Spread{Shape: Triangular, Half: half} }

// Sinusoid returns the spread of a sinusoid of that amplitude looked at in an
// unknown moment (JCGM 101:2008, clause 6.4.6).
func Sinusoid(amplitude float64) Spread { return Spread{Shape: Arcsine, Half: amplitude} }

// Divisor returns the pure number by which Half is divided to get the standard
// uncertainty: the stated number of sigmas for Normal, √3 for Rectangular, √6
// for Triangular, √2 for Arcsine; NaN for no shape, and where sigmas is not
// positive and finite.
//
// Source: JCGM 100:2008, clauses 4.3.3, 4.3.7 and 4.3.9; JCGM 101:2008, clauses
// 6.4.2, 6.4.5 and 6.4.6.
func (s Spread) Divisor() float64 {
	switch {
	case s.Shape == Normal && s.Sigmas > 0 && !math.IsInf(s.Sigmas, 1):
		return s.Sigmas
	case s.Shape == Rectangular:
		return math.Sqrt(3)
	case s.Shape == Triangular:
		return math.Sqrt(6)
	case s.Shape == Arcsine:
		return math.Sqrt2
	default:
		return math.NaN()
	}
}

// StandardUncertainty returns u = Half / Divisor, in the unit of the input; NaN
// where Half is negative or not finite, or Divisor is NaN.
//
// Source: JCGM 100:2008, clause 4.3.
func (s Spread) StandardUncertainty() float64 {
	if !(s.Half >= 0) || math.IsInf(s.Half, 1) {
		return math.NaN()
	}
	return s.Half / s.Divisor()
}

// Bound returns how far the input may lie from its estimate in the worst case,
// in the unit of the input: Half for the shapes with limits, normalSigmas
// standard uncertainties for Normal, which has none. NaN as
// StandardUncertainty.
func (s Spread) Bound(normalSigmas float64) float64 {
	u := s.StandardUncertainty()
	if s.Shape == Normal {
		return normalSigmas * u
	}
	return u * s.Divisor()
}
