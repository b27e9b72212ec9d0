package uncertainty

// Calibration names a kind of calibration. The caller chooses the words; the
// empty one means before any.
type Calibration string

// Budget is what the uncertainty of one result at one value comes from.
type Budget struct {
	// Name says which result at which value: "thruster phase u at 400 A".
	Name string
	// Unit is the unit of the result, as text.
	Unit  string
	Lines []Line
	// Pairs states correlation coefficients; pairs not named, and of no common
	// cause, are independent.
	Pairs []Pair
	// Calibration is the kind after which the budget is evaluated; default none.
	Calibration Calibration
	// CoverageFactor is k of the expanded uncertainty; default 2, about 95 % of
	// a normal distribution (JCGM 100:2008, clause 6.3.3).
	CoverageFactor float64
	// NormalBoundSigmas is how many standard uncertainties of a normal input
	// count as its bound in the worst case; default 3, beyond which lie 0.27 %.
	NormalBoundSigmas float64
}

// Line is one input quantity.
type Line struct {
	// Name is unique within the budget.
	Name string
	// Unit is the unit of the input, as text; "1" for a pure number.
	Unit string
	// Spread is what is known of the input before calibration.
	Spread Spread
	// Sensitivity is ∂y/∂x with its sign, in the unit of the result per unit of
	// the input. Zero is a sensitivity of none; an unknown one is NaN.
	Sensitivity float64
	// DegreesOfFreedom of the standard uncertainty; default infinite. Below one
	// it is refused.
	DegreesOfFreedom float64
	// Cause names what moves this input together with others; default nothing.
	Cause string
	// CauseCoefficient is the correlation coefficient of the input and its
	// Cause, −1 to 1; default 1. Two lines of one cause have the product of
	// their coefficients. −1 is an input that falls when the cause rises.
	CauseCoefficient float64
	// Left says which share of the spread is left after a kind of calibration;
	// a kind not named leaves all.
	Left []Left
	// AddedBy names the kinds of calibration that bring this line in: it counts
	// after those alone. Default: it counts always.
	AddedBy []Calibration
}

// Left is the share of a spread, a pure number, that a calibration leaves: 0
// where it removes the line, more than 1 where it makes the line worse.
type Left struct {
	After Calibration
	Share float64
}

// Pair is the correlation coefficient R, −1 to 1, of the lines named A and B.
type Pair struct {
	A, B string
	R    float64
}

// After returns the budget after a kind of calibration; b stays as it is. A
// second kind takes the place of the first, so a kind that includes others says
// so in the shares of the lines.
func (b Budget) After(kind Calibration) Budget {
	b.Calibration = kind
	return b
}

// Result is an evaluated budget. All numbers are in Unit where not said
// otherwise; all are NaN where Missing is not empty.
type Result struct {
	Name        string
	Unit        string
	Calibration Calibration
	// StandardUncertainty is the combined standard uncertainty u_c.
	StandardUncertainty float64
	// CoverageFactor is k, a pure number, and Expanded is U = k u_c. For a
	// budget that one rectangular line rules, U at k = 2 lies beyond the limits
	// of that line: the true value is then within WorstCase as well.
	CoverageFactor float64
	Expanded       float64
	// WorstCase is the sum of the bounds: Σ|c|·bound, in which lines fully
	// correlated by one cause add with sign first.
	WorstCase float64
	// DegreesOfFreedom is the effective number, a pure number; +Inf where every
	// line has infinite ones.
	DegreesOfFreedom float64
	// Contributors in falling order of Share, equal ones by name.
	Contributors []Contributor
	// Missing lists why there is no result, in the order of the lines.
	Missing []string
}

// Contributor is a line, or lines that are correlated and so have one variance.
type Contributor struct {
	// Name is that of the line, of the common cause, or of the lines joined by
	// " with ".
	Name string
	// StandardUncertainty is the contribution √(ΣΣ c_i c_j u_i u_j r_ij) over its
	// members.
	StandardUncertainty float64
	WorstCase           float64
	// Share is its part of the variance of the result, a pure number; the shares
	// add up to one. Zero where the result has no uncertainty at all.
	Share   float64
	Members []Member
}

// Member is a line as it went into the result.
type Member struct {
	// Line is its index in Budget.Lines.
	Line int
	Name string
	// Unit is that of the input; InputUncertainty is u_i after calibration in
	// that unit, Sensitivity c_i.
	Unit             string
	InputUncertainty float64
	Sensitivity      float64
	// StandardUncertainty is |c_i| u_i and WorstCase is |c_i|·bound, in the unit
	// of the result, as if the member stood alone.
	StandardUncertainty float64
	WorstCase           float64
}
