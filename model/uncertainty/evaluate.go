package uncertainty

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/portable"
)

// Evaluate returns the combined standard uncertainty of the budget, and what
// follows from it:
//
//	u_c² = ΣΣ c_i c_j u_i u_j r_ij
//
// with r_ij = 1 for i = j, the product of the cause coefficients for lines of
// one cause, R for stated pairs and else 0.
//
// The worst case adds the bounds |c_i|·bound_i. Lines of one cause whose
// coefficients are ±1 are one variable, so they add with sign before the
// magnitude is taken; all others add by magnitude, whatever their correlation.
//
// Missing, non-finite and contradictory inputs give NaN and reasons, as the
// package says.
//
// Source: JCGM 100:2008, clause 5.1.2 (equation 10), 5.2.2 (equation 16) and
// 6.2.1. The guide has no worst case; the sum of bounds is common practice.
func (b Budget) Evaluate() Result {
	k, normalSigmas := orDefault(b.CoverageFactor, 2), orDefault(b.NormalBoundSigmas, 3)
	out := Result{Name: b.Name, Unit: b.Unit, Calibration: b.Calibration, CoverageFactor: k}
	var in []input
	in, out.Missing = b.inputs(normalSigmas)
	if b.Unit == "" {
		out.Missing = append(out.Missing, "the unit of the result is missing")
	}
	if !(k > 0) || math.IsInf(k, 1) {
		out.Missing = append(out.Missing, "the coverage factor is not a positive number")
	}
	if !(normalSigmas > 0) || math.IsInf(normalSigmas, 1) {
		out.Missing = append(out.Missing, "the bound of normal inputs is not a positive number")
	}
	c, missing := b.correlate(in)
	out.Missing = append(out.Missing, missing...)
	if len(out.Missing) > 0 {
		return out.undecided()
	}

	var parts []freePart
	for group := range in {
		members := c.members(group)
		if len(members) == 0 {
			continue
		}
		if c.paired[group] && !c.possible(members) {
			out.Missing = append(out.Missing, fmt.Sprintf("%s: the correlations contradict one another", b.nameOf(in, c, members)))
			continue
		}
		one := b.contributor(in, c, members)
		// Hypot, so that squares of small parts do not vanish.
		out.StandardUncertainty = portable.Hypot(out.StandardUncertainty, one.StandardUncertainty)
		out.WorstCase += one.WorstCase
		out.Contributors = append(out.Contributors, one)
		parts = append(parts, freePart{one.StandardUncertainty, leastFreedom(in, members)})
	}
	out.Expanded = k * out.StandardUncertainty
	if !isFinite(out.Expanded) || !isFinite(out.WorstCase) {
		out.Missing = append(out.Missing, "the sum is beyond the range of numbers")
	}
	if len(out.Missing) > 0 {
		return out.undecided()
	}
	out.DegreesOfFreedom = effectiveFreedom(parts, out.StandardUncertainty)
	for i := range out.Contributors {
		if one := &out.Contributors[i]; one.StandardUncertainty > 0 {
			ratio := one.StandardUncertainty / out.StandardUncertainty
			one.Share = ratio * ratio
		}
	}
	slices.SortStableFunc(out.Contributors, func(x, y Contributor) int {
		return cmp.Or(cmp.Compare(y.StandardUncertainty, x.StandardUncertainty), strings.Compare(x.Name, y.Name))
	})
	return out
}

// orDefault returns v, or what stands for an unset field.
func orDefault(v, unset float64) float64 {
	if v == 0 {
		return unset
	}
	return v
}

// undecided returns the result without numbers.
func (r Result) undecided() Result {
	nan := math.NaN()
	r.StandardUncertainty, r.CoverageFactor, r.Expanded = nan, nan, nan
	r.WorstCase, r.DegreesOfFreedom, r.Contributors = nan, nan, nil
	return r
}

// contributor adds up one group.
func (b Budget) contributor(in []input, c correlation, members []int) Contributor {
	out := Contributor{Name: b.nameOf(in, c, members)}
	type shared struct {
		cause string
		sum   float64
	}
	var causes []shared
	variance, scale := 0.0, math.SmallestNonzeroFloat64
	for _, i := range members {
		scale = max(scale, math.Abs(in[i].part))
	}
	for _, i := range members {
		for _, j := range members {
			variance += float64(in[i].part / scale * (in[j].part / scale) * c.r[i][j])
		}
		l := &b.Lines[in[i].line]
		out.Members = append(out.Members, b.member(in[i]))
		if math.Abs(in[i].causeR) != 1 {
			out.WorstCase += math.Abs(in[i].bound)
			continue
		}
		at := slices.IndexFunc(causes, func(s shared) bool { return s.cause == l.Cause })
		if at < 0 {
			at = len(causes)
			causes = append(causes, shared{cause: l.Cause})
		}
		causes[at].sum += float64(in[i].causeR * in[i].bound)
	}
	for _, s := range causes {
		out.WorstCase += math.Abs(s.sum)
	}
	if b.oneVariable(in, members) {
		// The sum itself: opposite parts cancel without the rounding that a sum
		// of squares would leave.
		sum := 0.0
		for _, i := range members {
			sum += float64(in[i].causeR * in[i].part)
		}
		out.StandardUncertainty = math.Abs(sum)
		return out
	}
	out.StandardUncertainty = scale * math.Sqrt(max(variance, 0))
	return out
}

// oneVariable reports whether all members share a cause with coefficients of ±1.
func (b Budget) oneVariable(in []input, members []int) bool {
	cause := b.Lines[in[members[0]].line].Cause
	return !slices.ContainsFunc(members, func(i int) bool {
		return b.Lines[in[i].line].Cause != cause || math.Abs(in[i].causeR) != 1
	})
}

func (b Budget) member(i input) Member {
	l := &b.Lines[i.line]
	share, _ := l.share(b.Calibration)
	return Member{
		Line:                i.line,
		Name:                l.Name,
		Unit:                l.Unit,
		InputUncertainty:    l.Spread.StandardUncertainty() * share,
		Sensitivity:         l.Sensitivity,
		StandardUncertainty: math.Abs(i.part),
		WorstCase:           math.Abs(i.bound),
	}
}

// nameOf names a group: the line, the common cause of several, or the lines.
func (b Budget) nameOf(in []input, c correlation, members []int) string {
	first := &b.Lines[in[members[0]].line]
	if len(members) == 1 {
		return first.Name
	}
	var names []string
	oneCause := first.Cause != ""
	for _, i := range members {
		l := &b.Lines[in[i].line]
		names = append(names, l.Name)
		oneCause = oneCause && l.Cause == first.Cause
	}
	if oneCause {
		return first.Cause
	}
	return strings.Join(names, " with ")
}

func leastFreedom(in []input, members []int) float64 {
	least := math.Inf(1)
	for _, i := range members {
		least = min(least, in[i].freedom)
	}
	return least
}
