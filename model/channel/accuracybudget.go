package channel

import (
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/portable"
	"busgauss/model/uncertainty"
)

// Outcome is an accuracy at one current after one kind of calibration, in amperes.
// All numbers are NaN where Missing is not empty, but for AtLeastA.
type Outcome struct {
	After    After
	CurrentA float64
	// KnownA is the largest value at any moment of the sum of the errors that are computed
	// and not corrected, with the sign of its part in phase with the own current.
	KnownA float64
	// ExpandedA is k u_c, with k = 2.
	ExpandedA float64
	// TotalA is |KnownA| + ExpandedA.
	TotalA float64
	// WorstA is |KnownA| and the sum of all bounds.
	WorstA float64
	// AtLeastA is the total of what is known, whatever is missing.
	AtLeastA float64
	// Ranked are the contributors in falling order of what they add to TotalA.
	Ranked []Contributor
	// Missing are the keys without which there is no answer, each once.
	Missing []string
}

// Contributor is a line of an outcome, or lines that one cause moves.
type Contributor struct {
	Name    string
	Known   bool
	AmountA float64 // k times its standard uncertainty; the error itself where it is known, signed
	WorstA  float64
	Share   float64 // of the variance; 0 where it is known
	Lines   []int   // index in Accuracy.Lines
}

// coverage is k of the expanded uncertainty, about 95 % of a normal distribution
// (JCGM 100:2008, 6.3.3).
const coverage = 2

// At returns the outcome at a current after a kind of calibration, for the worse
// direction of the current.
func (a *Accuracy) At(currentA float64, after After) Outcome {
	return worseOf(a.directed(currentA, after, 1, nil), a.directed(currentA, after, -1, nil))
}

// AtOf is At for the lines alone that count says yes to.
func (a *Accuracy) AtOf(currentA float64, after After, count func(*AccuracyLine) bool) Outcome {
	return worseOf(a.directed(currentA, after, 1, count), a.directed(currentA, after, -1, count))
}

// Gain returns the part of the accuracy that is a share of the own current: At one
// ampere tells the share.
func (a *Accuracy) Gain() *Accuracy {
	out := *a
	out.Lines = slices.Clone(a.Lines)
	for i := range out.Lines {
		out.Lines[i].LeftZero, out.Lines[i].LeftQuad = Left{}, Left{}
	}
	return &out
}

// InGroups counts the lines of some groups, for AtOf.
func InGroups(groups ...Group) func(*AccuracyLine) bool {
	return func(n *AccuracyLine) bool { return slices.Contains(groups, n.Group) }
}

func worseOf(a, b Outcome) Outcome {
	if b.AtLeastA > a.AtLeastA {
		return b
	}
	return a
}

// Budget returns the budget at a current, zeros with the sign given, and the sum of
// the known errors in amperes; index holds the line of Accuracy.Lines for each of the
// budget's. What the calibration has taken out altogether is not in it. Lines
// that miss data are left out and named.
func (a *Accuracy) Budget(currentA float64, after After, zeroSign float64) (b uncertainty.Budget, knownA float64, missing []string) {
	b, _, known, missing := a.budget(currentA, after, zeroSign, nil)
	return b, known.largestA(), missing
}

// knownErrors is the sum of known errors: a phasor against the own current, and of what
// does not follow it, which is constant.
type knownErrors struct {
	turningA  complex128
	constantA float64
	turns     bool // the own current alternates
}

// largestA returns the largest value of the sum at any moment, with the sign of its part
// in step with the own current: of a phasor I e^{jθ} and a constant C it is |I| + |C|. With
// direct current they add with their signs.
func (k *knownErrors) largestA() float64 {
	in := real(k.turningA) + k.constantA
	if !k.turns {
		return in
	}
	return math.Copysign(portable.Abs(k.turningA)+math.Abs(k.constantA), in)
}

// of returns what one error adds to the sum, with its sign against it.
func (k *knownErrors) of(e complex128, constant bool) float64 {
	if constant || imag(k.turningA) == 0 {
		return real(e)
	}
	unit := portable.Quotient(k.turningA, complex(portable.Abs(k.turningA), 0))
	if real(unit) < 0 {
		unit = -unit
	}
	return real(portable.Times(e, cmplx.Conj(unit)))
}

func (a *Accuracy) budget(currentA float64, after After, zeroSign float64,
	count func(*AccuracyLine) bool) (b uncertainty.Budget, index []int, known knownErrors, missing []string) {
	b = uncertainty.Budget{Name: a.Sensor, Unit: "A", CoverageFactor: coverage}
	known.turns = a.FreqHz > 0
	for i := range a.Lines {
		n := &a.Lines[i]
		if count != nil && !count(n) {
			continue
		}
		c := n.perUnit(currentA, after, zeroSign)
		if c == 0 && n.LeftQuad[after] == 0 {
			continue
		}
		if len(n.Missing) > 0 {
			missing = append(missing, n.Missing...)
			continue
		}
		if math.IsNaN(c) || math.IsNaN(n.Spread.Half) {
			missing = append(missing, n.Name)
			continue
		}
		if n.Known {
			if e := n.errorA(currentA, after, zeroSign); n.Fixed {
				known.constantA += real(e)
			} else {
				known.turningA += e
			}
			continue
		}
		b.Lines = append(b.Lines, uncertainty.Line{Name: n.Name, Unit: n.Unit, Spread: n.Spread, Sensitivity: c, Cause: n.Cause})
		index = append(index, i)
	}
	return b, index, known, compact(missing)
}

func (a *Accuracy) directed(currentA float64, after After, zeroSign float64, count func(*AccuracyLine) bool) Outcome {
	b, index, known, missing := a.budget(currentA, after, zeroSign, count)
	knownA := known.largestA()
	out := Outcome{After: after, CurrentA: currentA, KnownA: knownA, Missing: missing}
	if len(b.Lines) > 0 {
		r := b.Evaluate()
		out.Missing = append(out.Missing, r.Missing...)
		out.ExpandedA, out.WorstA = r.Expanded, r.WorstCase
		for _, one := range r.Contributors {
			k := Contributor{Name: one.Name, AmountA: coverage * one.StandardUncertainty, WorstA: one.WorstCase, Share: one.Share}
			for _, m := range one.Members {
				k.Lines = append(k.Lines, index[m.Line])
			}
			out.Ranked = append(out.Ranked, k)
		}
	}
	for i := range a.Lines {
		n := &a.Lines[i]
		if !n.Known || count != nil && !count(n) {
			continue
		}
		if e := known.of(n.errorA(currentA, after, zeroSign), n.Fixed); e != 0 && !math.IsNaN(e) {
			out.Ranked = append(out.Ranked, Contributor{Name: n.Name, Known: true, AmountA: e, WorstA: math.Abs(e), Lines: []int{i}})
		}
	}
	bounded.Rank(out.Ranked, func(c Contributor) float64 { return math.Abs(c.AmountA) }, func(c Contributor) string { return c.Name })
	out.WorstA += math.Abs(knownA)
	out.TotalA = math.Abs(knownA) + out.ExpandedA
	out.AtLeastA = out.TotalA
	if len(out.Missing) > 0 {
		nan := math.NaN()
		out.KnownA, out.ExpandedA, out.TotalA, out.WorstA = nan, nan, nan, nan
	}
	return out
}
