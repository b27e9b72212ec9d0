package uncertainty

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// The divisor of each shape, against the standard deviation of its density by
// Gauss-Legendre quadrature over x = a sin φ, which takes the ends of the arcsine
// density into the smooth range. Densities on ±1: JCGM 101:2008, clauses 6.4.2,
// 6.4.5, 6.4.6 and 6.4.7.
func TestDivisors(t *testing.T) {
	for _, c := range []struct {
		spread  Spread
		density func(x float64) float64
		half    float64 // of the range of integration
	}{
		{Within(1), func(float64) float64 { return 0.5 }, 1},
		{WithinMostlyMiddle(1), func(x float64) float64 { return 1 - math.Abs(x) }, 1},
		{Sinusoid(1), func(x float64) float64 { return 1 / (math.Pi * math.Sqrt(1-x*x)) }, 1},
		{WithinSigmas(1, 3), func(x float64) float64 { return 3 / math.Sqrt(2*math.Pi) * math.Exp(-4.5*x*x) }, 4},
	} {
		moment := func(n int) float64 {
			f := func(phi float64) float64 {
				x := c.half * math.Sin(phi)
				return math.Pow(x, float64(n)) * c.density(x) * c.half * math.Cos(phi)
			}
			// In two halves, for the corner of the triangle.
			return quad.Fixed(f, -math.Pi/2, 0, 200, nil, 0) + quad.Fixed(f, 0, math.Pi/2, 200, nil, 0)
		}
		name := c.spread.Shape.String()
		within(t, name+": area", moment(0), 1, 1e-9)
		within(t, name+": standard uncertainty", c.spread.StandardUncertainty(), math.Sqrt(moment(2)), 1e-9)
		within(t, name+": divisor", c.spread.Divisor(), 1/math.Sqrt(moment(2)), 1e-8)
	}
	within(t, "standard", Standard(0.3).StandardUncertainty(), 0.3, 0)
	within(t, "normal bound", WithinSigmas(6, 2).Bound(3), 9, 1e-12)
	within(t, "rectangular bound", Within(0.1).Bound(3), 0.1, 1e-16)
	within(t, "arcsine bound", Sinusoid(0.1).Bound(3), 0.1, 1e-16)
	for _, s := range []Spread{{}, {Half: 1}, {Shape: Normal, Half: 1}, WithinSigmas(1, -3), WithinSigmas(1, math.Inf(1)),
		Within(-1), Within(math.NaN()), Within(math.Inf(1)), {Shape: 9, Half: 1}} {
		if u := s.StandardUncertainty(); !math.IsNaN(u) {
			t.Errorf("%+v: standard uncertainty %g, want NaN", s, u)
		}
	}
}

// line is a line of standard uncertainty u and sensitivity c.
func line(name string, u, c float64) Line {
	return Line{Name: name, Unit: "1", Spread: Standard(u), Sensitivity: c}
}

// Identities of the law of propagation (JCGM 100:2008, equations 10 and 16, and
// note 1 of clause 5.2.2): 3, 4, 12 in quadrature are 13; 3 and 4 of one cause
// are 7, or 1 against each other.
func TestIdentities(t *testing.T) {
	caused := func(l Line, cause string, r float64) Line {
		l.Cause, l.CauseCoefficient = cause, r
		return l
	}
	u := func(pairs []Pair, lines ...Line) Result {
		r := Budget{Name: "identity", Unit: "A", Lines: lines, Pairs: pairs}.Evaluate()
		if r.Missing != nil {
			t.Helper()
			t.Error(r.Missing)
		}
		return r
	}
	for _, c := range []struct {
		name        string
		got         Result
		want, worst float64
	}{
		{"quadrature", u(nil, line("a", 3, 1), line("b", 2, -2), line("c", 4, 3)), 13, 3 * 19},
		{"one cause", u(nil, caused(line("a", 3, 1), "x", 0), caused(line("b", 2, 2), "x", 1)), 7, 3 * 7},
		{"sign of the sensitivity", u(nil, caused(line("a", 3, 1), "x", 0), caused(line("b", 2, -2), "x", 1)), 1, 3},
		{"sign of the cause", u(nil, caused(line("a", 3, 1), "x", 0), caused(line("b", 2, 2), "x", -1)), 1, 3},
		{"both signs", u(nil, caused(line("a", 3, 1), "x", 0), caused(line("b", 2, -2), "x", -1)), 7, 21},
		{"two causes", u(nil, caused(line("a", 3, 1), "x", 0), caused(line("b", 2, 2), "y", 1)), 5, 21},
		{"pair of +1", u([]Pair{{"a", "b", 1}}, line("a", 3, 1), line("b", 4, 1)), 7, 21},
		{"pair of -1", u([]Pair{{"a", "b", -1}}, line("a", 3, 1), line("b", 4, 1)), 1, 21},
		{"pair of 0", u([]Pair{{"a", "b", 0}}, line("a", 3, 1), line("b", 4, 1)), 5, 21},
		{"pair of 1/2", u([]Pair{{"a", "b", 0.5}}, line("a", 3, 1), line("b", 4, 1)), math.Sqrt(37), 21},
		{"half of a cause", u(nil, caused(line("a", 3, 1), "x", 0.5), caused(line("b", 4, 1), "x", 1)), math.Sqrt(37), 21},
		{"cancelled", u(nil, caused(line("a", 3, 1), "x", 0), caused(line("b", 3, 1), "x", -1)), 0, 0},
	} {
		within(t, c.name, c.got.StandardUncertainty, c.want, 1e-7*(1e-7+c.want))
		within(t, c.name+", expanded", c.got.Expanded, 2*c.want, 1e-7*(1e-7+c.want))
		within(t, c.name+", worst", c.got.WorstCase, c.worst, 1e-12*(1+c.worst))
	}
	// A budget is homogeneous: a thousandfold sensitivity gives a thousandfold
	// result and the same shares. So also far from one.
	for _, scale := range []float64{1e3, 1e-180, 1e150} {
		big := u(nil, line("a", 3, scale), line("b", 2, -2*scale), caused(line("c", 4, 3*scale), "x", 0), caused(line("d", 1, scale), "x", -1))
		one := u(nil, line("a", 3, 1), line("b", 2, -2), caused(line("c", 4, 3), "x", 0), caused(line("d", 1, 1), "x", -1))
		within(t, "scaled", big.StandardUncertainty/scale, one.StandardUncertainty, 1e-12*one.StandardUncertainty)
		within(t, "scaled share", big.Contributors[0].Share, one.Contributors[0].Share, 1e-12)
	}
}

// The order of lines changes nothing but the index; shares add up to one.
func TestOrderDoesNotMatter(t *testing.T) {
	b := endGauge()
	b.Lines[1].Cause, b.Lines[7].Cause, b.Lines[7].CauseCoefficient = "room", "room", -0.4
	b.Pairs = []Pair{{"comparator, random", "comparator, systematic", 0.3}}
	first := b.Evaluate()
	again := b.Evaluate()
	if !reflect.DeepEqual(first, again) {
		t.Error("two evaluations differ")
	}
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, seed))
	for range 20 {
		mixed := b
		mixed.Lines = slices.Clone(b.Lines)
		rng.Shuffle(len(mixed.Lines), func(i, j int) { mixed.Lines[i], mixed.Lines[j] = mixed.Lines[j], mixed.Lines[i] })
		r := mixed.Evaluate()
		within(t, "combined", r.StandardUncertainty, first.StandardUncertainty, 1e-12*first.StandardUncertainty)
		within(t, "worst", r.WorstCase, first.WorstCase, 1e-12*first.WorstCase)
		within(t, "degrees", r.DegreesOfFreedom, first.DegreesOfFreedom, 1e-10*first.DegreesOfFreedom)
		sum := 0.0
		for i, c := range r.Contributors {
			sum += c.Share
			within(t, "contributor", c.StandardUncertainty, first.Contributors[i].StandardUncertainty, 1e-12*(1+c.StandardUncertainty))
			if len(c.Members) != len(first.Contributors[i].Members) {
				t.Errorf("place %d has %d members, was %d", i, len(c.Members), len(first.Contributors[i].Members))
			}
			for _, m := range c.Members {
				if mixed.Lines[m.Line].Name != m.Name {
					t.Errorf("member %q points at line %q", m.Name, mixed.Lines[m.Line].Name)
				}
			}
		}
		within(t, "sum of shares", sum, 1, 1e-12)
	}
}

// The contributors of a budget with a cause: one for the cause with its members,
// then the rest, equal ones by name; shares 49/83, 25/83, 9/83 and nothing.
func TestContributors(t *testing.T) {
	b := Budget{Name: "ranked", Unit: "A", Lines: []Line{
		line("zeta", 3, 1), line("hot gain", 3, 1), line("beta", 5, 1), line("hot offset", 4, -1), line("alpha", 0, 1), line("aleph", 1, 0),
	}}
	b.Lines[1].Cause, b.Lines[3].Cause, b.Lines[3].CauseCoefficient = "temperature", "temperature", -1
	r := b.Evaluate()
	var names []string
	for _, c := range r.Contributors {
		names = append(names, c.Name)
	}
	if want := []string{"temperature", "beta", "zeta", "aleph", "alpha"}; !slices.Equal(names, want) {
		t.Fatalf("order %q, want %q", names, want)
	}
	for i, want := range []float64{49, 25, 9, 0, 0} {
		within(t, names[i], r.Contributors[i].Share, want/83, 1e-14)
	}
	want := []Member{
		{Line: 1, Name: "hot gain", Unit: "1", InputUncertainty: 3, Sensitivity: 1, StandardUncertainty: 3, WorstCase: 9},
		{Line: 3, Name: "hot offset", Unit: "1", InputUncertainty: 4, Sensitivity: -1, StandardUncertainty: 4, WorstCase: 12},
	}
	if got := r.Contributors[0].Members; !reflect.DeepEqual(got, want) {
		t.Errorf("members %+v, want %+v", got, want)
	}
}

// Offset 12 A, gain 5 A, reference of the calibration 3 A, in standard
// uncertainties; offset drift 4 A of one cause with gain drift 3 A.
func TestCalibration(t *testing.T) {
	const zero, onePoint, life = Calibration("zero"), Calibration("one-point"), Calibration("life")
	b := Budget{Name: "phase u", Unit: "A", Lines: []Line{
		{Name: "offset", Unit: "V", Spread: Standard(0.012), Sensitivity: 1000, Left: []Left{{zero, 0}, {onePoint, 0}}},
		{Name: "gain", Unit: "1", Spread: Standard(0.01), Sensitivity: 500, Left: []Left{{onePoint, 0.2}, {life, 2}}},
		{Name: "reference", Unit: "A", Spread: Standard(3), Sensitivity: 1, AddedBy: []Calibration{onePoint}},
	}, Pairs: []Pair{{"gain", "reference", 0.5}}}
	for _, c := range []struct {
		kind Calibration
		want float64
		free int
	}{
		{"", 13, 2},  // 12 and 5
		{zero, 5, 2}, // 5 alone
		{onePoint, math.Sqrt(1 + 9 + 2*0.5*1*3), 2},         // 1 of the gain with 3 of the reference
		{life, math.Sqrt(144 + 100), 2},                     // 12 and 10
		{"a kind that no line knows", math.Hypot(12, 5), 2}, // leaves all
	} {
		r := b.After(c.kind).Evaluate()
		if r.Missing != nil || r.Calibration != c.kind || len(r.Contributors) != c.free {
			t.Errorf("after %q: %+v", c.kind, r)
		}
		within(t, "after "+string(c.kind), r.StandardUncertainty, c.want, 1e-12)
	}
	if b.Calibration != "" {
		t.Error("After changed its budget")
	}
	within(t, "worst case after one-point", b.After(onePoint).Evaluate().WorstCase, 3*1+3*3, 1e-12)
	within(t, "input after one-point", b.After(onePoint).Evaluate().Contributors[0].Members[0].InputUncertainty, 0.002, 1e-15)
}

// Each thing that is missing makes every number NaN and is named.
func TestMissing(t *testing.T) {
	good := func() Budget {
		return Budget{Name: "budget", Unit: "A", Lines: []Line{line("a", 3, 1), line("b", 4, 1), line("c", 5, 1)}}
	}
	if r := good().Evaluate(); r.Missing != nil || !isFinite(r.StandardUncertainty) {
		t.Fatalf("the good budget: %+v", r)
	}
	for _, c := range []struct {
		name  string
		spoil func(b *Budget)
		want  string
	}{
		{"empty", func(b *Budget) { b.Lines = nil }, "no line counts"},
		{"no line left", func(b *Budget) {
			for i := range b.Lines {
				b.Lines[i].AddedBy = []Calibration{"x"}
			}
		}, "no line counts"},
		{"no name", func(b *Budget) { b.Lines[1].Name = "" }, "line 2 has no name"},
		{"twice", func(b *Budget) { b.Lines[1].Name = "a" }, "a: the name is used twice"},
		{"no unit", func(b *Budget) { b.Lines[0].Unit = "" }, "a: the unit is missing"},
		{"no unit of the result", func(b *Budget) { b.Unit = "" }, "the unit of the result is missing"},
		{"no distribution", func(b *Budget) { b.Lines[0].Spread = Spread{Half: 1} }, "a: the distribution is missing"},
		{"no sigmas", func(b *Budget) { b.Lines[0].Spread.Sigmas = 0 }, "a: the spread is unknown"},
		{"NaN spread", func(b *Budget) { b.Lines[2].Spread = Within(math.NaN()) }, "c: the spread is unknown"},
		{"NaN spread without sensitivity", func(b *Budget) { b.Lines[2].Spread, b.Lines[2].Sensitivity = Within(math.NaN()), 0 }, "c: the spread is unknown"},
		{"negative spread", func(b *Budget) { b.Lines[0].Spread.Half = -1 }, "a: the spread is unknown"},
		{"infinite spread", func(b *Budget) { b.Lines[0].Spread = Within(math.Inf(1)) }, "a: the spread is unknown"},
		{"sensitivity", func(b *Budget) { b.Lines[1].Sensitivity = math.NaN() }, "b: the sensitivity is unknown"},
		{"infinite sensitivity", func(b *Budget) { b.Lines[1].Sensitivity = math.Inf(-1) }, "b: the sensitivity is unknown"},
		{"freedom", func(b *Budget) { b.Lines[1].DegreesOfFreedom = 0.5 }, "b: the degrees of freedom are below one"},
		{"NaN freedom", func(b *Budget) { b.Lines[1].DegreesOfFreedom = math.NaN() }, "b: the degrees of freedom are below one"},
		{"cause", func(b *Budget) { b.Lines[1].Cause, b.Lines[1].CauseCoefficient = "x", 1.5 }, "b: its correlation with x is outside -1 to 1"},
		{"NaN cause", func(b *Budget) { b.Lines[1].Cause, b.Lines[1].CauseCoefficient = "x", math.NaN() }, "b: its correlation with x is outside -1 to 1"},
		{"pair of none", func(b *Budget) { b.Pairs = []Pair{{"a", "z", 0.5}} }, `correlation of "a" and "z": not two lines of the budget`},
		{"pair of one", func(b *Budget) { b.Pairs = []Pair{{"a", "a", 1}} }, `correlation of "a" and "a": not two lines of the budget`},
		{"pair outside", func(b *Budget) { b.Pairs = []Pair{{"a", "b", -1.01}} }, "correlation of a and b: outside -1 to 1"},
		{"pair NaN", func(b *Budget) { b.Pairs = []Pair{{"a", "b", math.NaN()}} }, "correlation of a and b: outside -1 to 1"},
		{"pair twice", func(b *Budget) { b.Pairs = []Pair{{"a", "b", 0.1}, {"b", "a", 0.1}} }, "correlation of b and a: given twice"},
		{"pair of one cause", func(b *Budget) {
			b.Lines[0].Cause, b.Lines[1].Cause, b.Pairs = "x", "x", []Pair{{"a", "b", 0.1}}
		}, "correlation of a and b: given twice"},
		// a with b, b with c and a against c: the determinant is 1 − 3·0.81 − 2·0.729 < 0.
		{"impossible", func(b *Budget) { b.Pairs = []Pair{{"a", "b", 0.9}, {"b", "c", 0.9}, {"a", "c", -0.9}} },
			"a with b with c: the correlations contradict one another"},
		{"share", func(b *Budget) { b.Lines[0].Left = []Left{{"zero", math.NaN()}}; b.Calibration = "zero" }, "a: what zero leaves of it is unknown"},
		{"negative share", func(b *Budget) { b.Lines[0].Left = []Left{{"zero", -0.1}}; b.Calibration = "zero" }, "a: what zero leaves of it is unknown"},
		{"share twice", func(b *Budget) { b.Lines[0].Left = []Left{{"zero", 0}, {"zero", 0}}; b.Calibration = "zero" }, "a: what zero leaves of it is unknown"},
		{"factor", func(b *Budget) { b.CoverageFactor = math.NaN() }, "the coverage factor is not a positive number"},
		{"negative factor", func(b *Budget) { b.CoverageFactor = -2 }, "the coverage factor is not a positive number"},
		{"bound", func(b *Budget) { b.NormalBoundSigmas = math.Inf(1) }, "the bound of normal inputs is not a positive number"},
		{"range", func(b *Budget) { b.Lines[0].Sensitivity = 1e308 }, "the sum is beyond the range of numbers"},
	} {
		b := good()
		c.spoil(&b)
		r := b.Evaluate()
		if !slices.Contains(r.Missing, c.want) || len(r.Missing) != 1 {
			t.Errorf("%s: missing %q, want %q alone", c.name, r.Missing, c.want)
		}
		for _, v := range []float64{r.StandardUncertainty, r.CoverageFactor, r.Expanded, r.WorstCase, r.DegreesOfFreedom, r.CoverageFactorFor(0.95)} {
			if !math.IsNaN(v) {
				t.Errorf("%s: %g, want NaN", c.name, v)
			}
		}
		if r.Contributors != nil {
			t.Errorf("%s: contributors of an undecided result", c.name)
		}
	}
	// All complaints at once, in the order of the lines.
	b := good()
	b.Lines[2].Sensitivity, b.Lines[0].Unit = math.NaN(), ""
	if got := strings.Join(b.Evaluate().Missing, "; "); got != "a: the unit is missing; c: the sensitivity is unknown" {
		t.Error(got)
	}
}
