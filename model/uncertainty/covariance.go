package uncertainty

import (
	"fmt"
	"math"
	"slices"
)

// Covariance returns the covariance of two results that come from the same
// inputs, in the product of their units:
//
//	u(y, z) = ΣΣ c_i d_j u_i u_j r_ij
//
// Two channels that share causes have it: their sum has the variance
// u²(y) + u²(z) + 2 u(y, z). Divided by both standard uncertainties it is the
// correlation coefficient of the results.
//
// Both budgets hold the same lines and pairs under the same calibration, and
// differ in sensitivities only; a line that has no part in one has the
// sensitivity zero there. Otherwise, and where either is undecided, the result
// is NaN with the reasons.
//
// Source: JCGM 100:2008, annex H.2.3, equation H.9 (and F.1.2.3, equation F.2).
func Covariance(y, z Budget) (float64, []string) {
	missing := slices.Concat(y.Evaluate().Missing, z.Evaluate().Missing)
	if y.Calibration != z.Calibration || !slices.Equal(y.Pairs, z.Pairs) || len(y.Lines) != len(z.Lines) {
		return math.NaN(), append(missing, "the budgets do not have the same lines, pairs and calibration")
	}
	for i := range y.Lines {
		if a, b := &y.Lines[i], &z.Lines[i]; !a.sameInput(b) {
			missing = append(missing, fmt.Sprintf("%s: differs between the budgets", a.Name))
		}
	}
	if len(missing) > 0 {
		return math.NaN(), missing
	}
	iny, _ := y.inputs(1)
	inz, _ := z.inputs(1)
	c, _ := y.correlate(iny)
	sum := 0.0
	for i := range iny {
		for j := range inz {
			sum += iny[i].part * inz[j].part * c.r[i][j]
		}
	}
	return sum, nil
}

// sameInput reports whether two lines differ in their sensitivity at most.
func (l *Line) sameInput(m *Line) bool {
	return l.Name == m.Name && l.Unit == m.Unit && l.Spread == m.Spread && l.Cause == m.Cause &&
		l.CauseCoefficient == m.CauseCoefficient && slices.Equal(l.Left, m.Left) && slices.Equal(l.AddedBy, m.AddedBy)
}
