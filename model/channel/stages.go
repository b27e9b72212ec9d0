package channel

import (
	"math"

	"busgauss/model/portable"
)

// Stage is one stage as a straight line over the current of the bar, and where
// that line leaves what the stage can carry.
type Stage struct {
	Name string
	Unit string  // of Zero, Low, High and, per ampere, of PerA
	Zero float64 // at no current
	PerA float64 // change per ampere
	Low  float64 // ends; infinite where a stage has none, NaN where they are not known
	High float64
	// PositiveA and NegativeA are the currents at which the stage clips, with
	// nominal data; LeastPositiveA and LeastNegativeA with every tolerance at its
	// worst (nearer to zero). PositiveA <= 0 or NegativeA >= 0 means that the
	// stage clips at no current already.
	PositiveA, NegativeA           float64
	LeastPositiveA, LeastNegativeA float64
}

// Names of the stages.
const (
	ElementStage   = "element"
	OutputStage    = "output"
	AmplifierStage = "amplifier"
	DividerStage   = "divider"
	ConverterStage = "converter"
	NumberStage    = "number"
)

// off is one set of deviations from nominal; each field is one that stands
// alone, so that a worst case is a corner of all of them.
type off struct {
	slope, supply, sensitivity, zeroV float64
	gain, inputV                      float64
	top, bottom, reference            float64
}

// Stages returns the stages of the chain in order of the signal, as far as they
// are known. The line of each follows from the line before it:
//
//	element    B = S_B I                          LowT .. HighT
//	output     v = Z + S B                        LowV .. HighV
//	amplifier  v = Z_a + G (v' − V_ref)           LowV .. HighV
//	divider    v = V_f + r (v' − V_f)             no end
//	converter  v = v' − V_minus                   LowV .. HighV
//	number     n = I_told/a + n0                  its width
//
// and clips where q0 + k I reaches an end: I = (end − q0)/k. The larger of the
// two currents is the positive limit. A ratiometric output multiplies zero,
// sensitivity and swing by supply over nominal supply, a ratiometric converter
// its ends. Each limit is monotone in every single tolerance, so the worst case
// lies on a corner of them; all corners are tried.
//
// Stages are taken to be straight up to their ends (common practice). Not seen:
// stray and ambient fields, which fill the range as well.
func (c *Chain) Stages() []Stage {
	nominal := c.lines(off{})
	for i := range nominal {
		s := &nominal[i]
		s.PositiveA, s.NegativeA = c.limits(s, 0)
		s.LeastPositiveA, s.LeastNegativeA = s.PositiveA, s.NegativeA
	}
	for _, o := range c.corners() {
		for i, s := range c.lines(o) {
			p, n := c.limits(&s, o.slope)
			nominal[i].LeastPositiveA = min(nominal[i].LeastPositiveA, p)
			nominal[i].LeastNegativeA = max(nominal[i].LeastNegativeA, n)
		}
	}
	return nominal
}

// corners returns every combination of the tolerances that are not zero.
func (c *Chain) corners() []off {
	all := []off{{}}
	spread := func(size float64, set func(*off, float64)) {
		if size == 0 {
			return
		}
		next := make([]off, 0, 2*len(all))
		for _, o := range all {
			for _, sign := range []float64{-1, 1} {
				set(&o, sign*size)
				next = append(next, o)
			}
		}
		all = next
	}
	spread(c.Element.SlopeTol, func(o *off, v float64) { o.slope = v })
	if p := c.Output; p != nil {
		if p.Ratiometric || c.Converter != nil && c.Converter.Ratiometric {
			spread(p.SupplyTol, func(o *off, v float64) { o.supply = v })
		}
		spread(p.SensitivityTol, func(o *off, v float64) { o.sensitivity = v })
		spread(p.ZeroTolV, func(o *off, v float64) { o.zeroV = v })
	}
	if a := c.Amplifier; a != nil {
		spread(a.GainTol, func(o *off, v float64) { o.gain = v })
		spread(a.InputTolV, func(o *off, v float64) { o.inputV = v })
	}
	if d := c.Divider; d != nil {
		spread(d.Tol, func(o *off, v float64) { o.top, o.bottom = v, -v })
	}
	if a := c.Converter; a != nil && !a.Ratiometric {
		spread(a.Tol, func(o *off, v float64) { o.reference = v })
	}
	return all
}

// lines returns the straight line and the ends of each stage.
func (c *Chain) lines(o off) []Stage {
	s := []Stage{{Name: ElementStage, Unit: "T", PerA: c.Element.SlopeTPerA * (1 + o.slope), Low: c.Element.LowT, High: c.Element.HighT}}
	p := c.Output
	if p == nil {
		return s
	}
	follow := 1.0
	if p.Ratiometric {
		follow += o.supply
	}
	zero := float64(follow*p.ZeroV) + o.zeroV
	perA := follow * p.SensitivityVPerT * (1 + o.sensitivity) * s[0].PerA
	s = append(s, Stage{Name: OutputStage, Unit: "V", Zero: zero, PerA: perA, Low: follow * p.LowV, High: follow * p.HighV})
	for _, step := range c.between() {
		switch step {
		case AmplifierStage:
			a := c.Amplifier
			g := a.Gain * (1 + o.gain)
			zero, perA = a.ZeroV+float64(g*(zero+o.inputV-a.ReferenceV)), g*perA
			s = append(s, Stage{Name: step, Unit: "V", Zero: zero, PerA: perA, Low: a.LowV, High: a.HighV})
		case DividerStage:
			d := c.Divider
			r := d.Ratio(o.top, o.bottom)
			zero, perA = d.FootV+float64(r*(zero-d.FootV)), r*perA
			s = append(s, Stage{Name: step, Unit: "V", Zero: zero, PerA: perA, Low: math.Inf(-1), High: math.Inf(1)})
		}
	}
	a := c.Converter
	if a == nil {
		return s
	}
	follow = 1 + o.reference
	if a.Ratiometric {
		follow = 1 + o.supply
	}
	s = append(s, Stage{Name: ConverterStage, Unit: "V", Zero: zero - a.MinusV, PerA: perA, Low: follow * a.LowV, High: follow * a.HighV})
	if c.Number != nil {
		s = append(s, c.numberLine(s[len(s)-1]))
	}
	return s
}

// between returns the stages between output and converter in their order.
func (c *Chain) between() []string {
	var out []string
	if c.Divider != nil && c.DividerFirst {
		out = append(out, DividerStage)
	}
	if c.Amplifier != nil {
		out = append(out, AmplifierStage)
	}
	if c.Divider != nil && !c.DividerFirst {
		out = append(out, DividerStage)
	}
	return out
}

// numberLine returns the number over the current. Firmware that is declared
// tells slope (counts − zero) amperes; a zero that it does not declare is taken to
// be right, and so is the whole of firmware that is not declared.
func (c *Chain) numberLine(in Stage) Stage {
	n := c.Number
	low, high := n.Ends()
	told := Stage{Zero: 0, PerA: 1}
	if f := c.Firmware; f != nil {
		zero, perA := c.Converter.counts(in)
		told.PerA = f.SlopeAPerCount * perA
		if !math.IsNaN(f.ZeroCounts) {
			told.Zero = f.SlopeAPerCount * (zero - f.ZeroCounts)
		}
	}
	return Stage{Name: NumberStage, Unit: "counts", Zero: told.Zero/n.PerCountA + n.ZeroCount, PerA: told.PerA / n.PerCountA, Low: low, High: high}
}

// limits returns the currents at which a stage clips. The element of a pair
// clips by the field on the single element, not by the difference.
func (c *Chain) limits(s *Stage, slopeOff float64) (positiveA, negativeA float64) {
	if s.Name != ElementStage || c.Element.EachTPerA == nil {
		return s.ends(s.PerA)
	}
	positiveA, negativeA = math.Inf(1), math.Inf(-1)
	for _, k := range c.Element.EachTPerA {
		p, n := s.ends(k * (1 + slopeOff))
		positiveA, negativeA = min(positiveA, p), max(negativeA, n)
	}
	return positiveA, negativeA
}

// ends returns (end − zero)/perA on the positive and on the negative side; NaN
// for a line that does not rise or fall. An end that is not known leaves the
// other side as it is.
func (s *Stage) ends(perA float64) (positiveA, negativeA float64) {
	a, b := (s.High-s.Zero)/perA, (s.Low-s.Zero)/perA
	switch {
	case perA > 0:
		return a, b
	case perA < 0:
		return b, a
	}
	return math.NaN(), math.NaN()
}

// pow2 returns 2^n.
func pow2(n float64) float64 { return portable.Exp2(n) }
