package channel

import (
	"math"

	"busgauss/model/portable"
)

// Drift is how far the part strays from itself. NaN is not known, 0 is none.
type Drift struct {
	SensitivityPerK float64 // share per kelvin
	SensitivityLife float64 // share
	ZeroVPerK       float64
	ZeroLifeV       float64
	HysteresisT     float64
	NonLinearity    float64 // share of the linear range, end to end
	// SpanK is the largest step from the temperature of calibration, in kelvin.
	SpanK float64
}

// Shape is the distribution of a source in the sense of JCGM 100:2008, 4.3 and 4.4.
type Shape uint8

// The shapes.
const (
	Rectangular Shape = iota + 1 // Source gives half widths
	Normal                       // Source gives one standard deviation
)

// Calibration is the first kind of calibration, each with those before it, that
// takes a source away.
type Calibration uint8

// The kinds, in the order in which they are done.
const (
	ByNothing  Calibration = iota
	ByZero                 // the zero is taken without current
	ByOnePoint             // the gain is set at one known current
	ByTwoPoint             // gain and zero are set at two known currents
	ByMatrix               // crosstalk is taken out by the inverse of the coupling matrix
)

// Source is one cause of error of the channel itself, as the controller would
// tell it with nominal conversion.
type Source struct {
	Name string
	// Cause is what moves several sources of one channel at once, see causes;
	// empty: stands alone. The zero and the sensitivity follow one
	// temperature; which way each goes only a sign in the layout can say, so look at
	// both directions of current.
	Cause   string
	ZeroA   float64 // at no current
	Share   float64 // of the reading
	Shape   Shape
	Removed Calibration
}

// ErrorA returns the signed error in amperes at a signed current for the upward
// deviation, zero + share · I: what goes into a budget.
func (s *Source) ErrorA(currentA float64) float64 { return s.ZeroA + float64(s.Share*currentA) }

// WorstA returns the size of the error in amperes at the worse of both directions
// of a current, |zero| + |share · I|.
func (s *Source) WorstA(currentA float64) float64 {
	return math.Abs(s.ZeroA) + math.Abs(s.Share*currentA)
}

// Sources returns what the chain itself adds to the error of a reading, in the
// order of the signal. Each is computed by moving one datum by its half width and
// reading the change off the line of the last known stage:
//
//	zero   (q0' − q0)/k      share   k'/k − 1
//
// so the sensitivity coefficients are those of the chain. Sizes carry the sign of
// the upward deviation. What is not known is NaN. Field of other bars, ambient
// field and response are not in it.
//
// Source: JCGM 100:2008, 5.1.3, note 2 (change of the result by moving one input,
// evaluated numerically).
func (c *Chain) Sources() []Source {
	var out []Source
	zero, perA := c.last(off{})
	add := func(name string, removed Calibration, o off) {
		z, k := c.last(o)
		out = append(out, Source{Name: name, Cause: causeOf(name), ZeroA: (z - zero) / perA, Share: k/perA - 1,
			Shape: Rectangular, Removed: removed})
	}
	plain := func(name string, removed Calibration, shape Shape, zeroA, share float64) {
		out = append(out, Source{Name: name, Cause: causeOf(name), ZeroA: zeroA, Share: share, Shape: shape,
			Removed: removed})
	}
	e, d := c.Element, c.Drift
	plain("field per ampere", ByOnePoint, Rectangular, 0, e.SlopeTol)
	slope := math.Abs(e.SlopeTPerA)
	plain("hysteresis", ByNothing, Rectangular, d.HysteresisT/slope, 0)
	plain("non-linearity", ByNothing, Rectangular, d.NonLinearity*(e.HighT-e.LowT)/slope, 0)
	p := c.Output
	if p == nil {
		return out
	}
	add("sensitivity", ByOnePoint, off{sensitivity: p.SensitivityTol})
	add("sensitivity over temperature", ByNothing, off{sensitivity: d.SensitivityPerK * d.SpanK})
	add("sensitivity over life", ByNothing, off{sensitivity: d.SensitivityLife})
	add("offset", ByZero, off{zeroV: p.ZeroTolV})
	add("offset over temperature", ByNothing, off{zeroV: d.ZeroVPerK * d.SpanK})
	add("offset over life", ByNothing, off{zeroV: d.ZeroLifeV})
	if p.Ratiometric || c.Converter != nil && c.Converter.Ratiometric {
		add("supply", ByNothing, off{supply: p.SupplyTol})
	}
	if a := c.Amplifier; a != nil {
		add("amplifier gain", ByOnePoint, off{gain: a.GainTol})
		add("amplifier offset", ByZero, off{inputV: a.InputTolV})
	}
	if r := c.Divider; r != nil {
		// The zero behind the divider moves with its ratio: zero takes that part away
		// and one point the rest.
		add("divider", ByOnePoint, off{top: -r.Tol, bottom: r.Tol})
	}
	if a := c.Converter; a != nil {
		if !a.Ratiometric {
			add("converter reference", ByOnePoint, off{reference: a.Tol})
		}
		step := 1 / math.Abs(perA)
		plain("converter step", ByNothing, Rectangular, step/2, 0)
	}
	if c.Number != nil {
		plain("step of the number", ByNothing, Rectangular, math.Abs(c.Number.PerCountA)/2, 0)
	}
	r := c.Loudest()
	plain("noise", ByNothing, Normal, portable.Hypot(r.PartNoiseA, r.AnalogNoiseA), 0)
	return out
}

// last returns the line of the last analogue stage, in counts when there is a
// converter.
func (c *Chain) last(o off) (zero, perA float64) {
	lines := c.lines(o)
	s := lines[len(lines)-1]
	if s.Name == NumberStage {
		s = lines[len(lines)-2]
	}
	if s.Name == ConverterStage {
		return c.Converter.counts(s)
	}
	return s.Zero, s.PerA
}
