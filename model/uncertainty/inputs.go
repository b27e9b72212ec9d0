package uncertainty

import (
	"fmt"
	"math"
	"slices"
)

// input is a line that counts, reduced to numbers.
type input struct {
	line    int
	part    float64 // c·u with the sign of c, in the unit of the result
	bound   float64 // c·bound with the sign of c
	freedom float64 // +Inf where not limited
	causeR  float64 // correlation with the cause, 0 without one
}

// inputs returns the lines that count under the calibration of b, and all
// complaints about them.
func (b Budget) inputs(normalSigmas float64) (in []input, missing []string) {
	complain := func(format string, a ...any) { missing = append(missing, fmt.Sprintf(format, a...)) }
	seen := map[string]bool{}
	for i, l := range b.Lines {
		switch {
		case l.Name == "":
			complain("line %d has no name", i+1)
		case seen[l.Name]:
			complain("%s: the name is used twice", l.Name)
		}
		seen[l.Name] = true
		if len(l.AddedBy) > 0 && !slices.Contains(l.AddedBy, b.Calibration) {
			continue
		}
		if l.Unit == "" {
			complain("%s: the unit is missing", l.Name)
		}
		share, ok := l.share(b.Calibration)
		if !ok {
			complain("%s: what %s leaves of it is unknown", l.Name, b.Calibration)
		}
		u := l.Spread.StandardUncertainty() * share
		if l.Spread.Shape < Normal || l.Spread.Shape > Arcsine {
			complain("%s: the distribution is missing", l.Name)
		} else if ok && !isFinite(u) {
			complain("%s: the spread is unknown", l.Name)
		}
		if !isFinite(l.Sensitivity) {
			complain("%s: the sensitivity is unknown", l.Name)
		}
		freedom := l.DegreesOfFreedom
		if freedom == 0 {
			freedom = math.Inf(1)
		}
		if !(freedom >= 1) {
			complain("%s: the degrees of freedom are below one", l.Name)
		}
		r := 0.0
		if l.Cause != "" {
			r = l.CauseCoefficient
			if r == 0 {
				r = 1
			}
			if !(math.Abs(r) <= 1) {
				complain("%s: its correlation with %s is outside -1 to 1", l.Name, l.Cause)
			}
		}
		in = append(in, input{
			line:    i,
			part:    l.Sensitivity * u,
			bound:   l.Sensitivity * l.Spread.Bound(normalSigmas) * share,
			freedom: freedom,
			causeR:  r,
		})
	}
	if len(in) == 0 {
		complain("no line counts")
	}
	return in, missing
}

// share returns what the calibration leaves of the line; false where that is
// not a number from zero on, or is said twice.
func (l *Line) share(kind Calibration) (float64, bool) {
	share, said := 1.0, false
	if kind == "" {
		return share, true
	}
	for _, left := range l.Left {
		if left.After == kind {
			if said {
				return math.NaN(), false
			}
			share, said = left.Share, true
		}
	}
	return share, share >= 0 && isFinite(share)
}

// correlation is the matrix r_ij of the inputs and the group each belongs to:
// those that are linked by a cause or a pair have one group, named by its
// lowest index.
type correlation struct {
	r     [][]float64
	group []int
	// paired marks groups that hold a stated pair.
	paired []bool
}

// correlate builds the matrix, and all complaints about it.
func (b Budget) correlate(in []input) (c correlation, missing []string) {
	complain := func(format string, a ...any) { missing = append(missing, fmt.Sprintf(format, a...)) }
	n := len(in)
	c = correlation{r: make([][]float64, n), group: make([]int, n), paired: make([]bool, n)}
	index := map[string]int{}
	for i := range in {
		c.r[i] = make([]float64, n)
		c.r[i][i] = 1
		c.group[i] = i
		index[b.Lines[in[i].line].Name] = i
	}
	for i := range in {
		for j := range i {
			if cause := b.Lines[in[i].line].Cause; cause != "" && cause == b.Lines[in[j].line].Cause {
				c.r[i][j] = in[i].causeR * in[j].causeR
				c.r[j][i] = c.r[i][j]
				c.join(i, j)
			}
		}
	}
	var stated [][2]int
	for _, p := range b.Pairs {
		if !b.hasLine(p.A) || !b.hasLine(p.B) || p.A == p.B {
			complain("correlation of %q and %q: not two lines of the budget", p.A, p.B)
			continue
		}
		if !(math.Abs(p.R) <= 1) {
			complain("correlation of %s and %s: outside -1 to 1", p.A, p.B)
		}
		i, iCounts := index[p.A]
		j, jCounts := index[p.B]
		if !iCounts || !jCounts {
			continue // one of them comes in after another calibration
		}
		key := [2]int{min(i, j), max(i, j)}
		cause := b.Lines[in[i].line].Cause
		if slices.Contains(stated, key) || cause != "" && cause == b.Lines[in[j].line].Cause {
			complain("correlation of %s and %s: given twice", p.A, p.B)
		}
		stated = append(stated, key)
		c.r[i][j], c.r[j][i] = p.R, p.R
		if p.R != 0 {
			c.join(i, j)
		}
	}
	for _, key := range stated {
		c.paired[c.group[key[0]]] = true
	}
	return c, missing
}

func (b Budget) hasLine(name string) bool {
	return slices.ContainsFunc(b.Lines, func(l Line) bool { return l.Name == name })
}

// join puts the groups of i and j together under the lower index.
func (c correlation) join(i, j int) {
	from, to := max(c.group[i], c.group[j]), min(c.group[i], c.group[j])
	for k := range c.group {
		if c.group[k] == from {
			c.group[k] = to
		}
	}
}

// members returns the inputs of a group in rising order.
func (c correlation) members(group int) []int {
	var out []int
	for i, g := range c.group {
		if g == group {
			out = append(out, i)
		}
	}
	return out
}

// possible reports whether coefficients so stated can exist together: the
// matrix has no eigenvalue below zero, but for rounding. Causes alone always
// can, their matrix being a product of coefficients with a filled diagonal.
func (c correlation) possible(members []int) bool {
	// A matrix whose eigenvalues are above zero, the diagonal raised, is the product of a triangle and its mirror (Cholesky).
	lower := make([][]float64, len(members))
	for a, i := range members {
		lower[a] = make([]float64, a+1)
		for b, j := range members[:a+1] {
			sum := c.r[i][j]
			for k := range b {
				sum -= float64(lower[a][k] * lower[b][k])
			}
			if a != b {
				lower[a][b] = sum / lower[b][b]
			} else if sum += 1e-9; sum > 0 {
				lower[a][a] = math.Sqrt(sum)
			} else { // or not a number
				return false
			}
		}
	}
	return true
}

func isFinite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
