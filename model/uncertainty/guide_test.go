package uncertainty

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// within fails where got is not within tol of want.
func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.9g, want %.9g within %.3g", what, got, want, tol)
	}
}

// endGauge is the calibration of an end gauge, JCGM 100:2008, annex H.1, table
// H.1: y = l_s + d − l_s (δα θ + α_s δθ), in nanometres, at θ = −0.1 °C,
// α_s = 11.5e-6 /°C and δα = δθ = 0.
func endGauge() Budget {
	const lengthNM, alphaPerK, thetaK = 50.000623e6, 11.5e-6, -0.1
	return Budget{
		Name: "length of the end gauge", Unit: "nm",
		Lines: []Line{
			{Name: "length of the standard", Unit: "nm", Spread: WithinSigmas(75, 3), Sensitivity: 1, DegreesOfFreedom: 18},
			{Name: "repeated observations", Unit: "nm", Spread: Standard(13 / math.Sqrt(5)), Sensitivity: 1, DegreesOfFreedom: 24},
			{Name: "comparator, random", Unit: "nm", Spread: Standard(3.9), Sensitivity: 1, DegreesOfFreedom: 5},
			{Name: "comparator, systematic", Unit: "nm", Spread: Standard(6.7), Sensitivity: 1, DegreesOfFreedom: 8},
			{Name: "expansion of the standard", Unit: "1/K", Spread: Within(2e-6), Sensitivity: 0},
			{Name: "mean temperature of the bed", Unit: "K", Spread: Standard(0.2), Sensitivity: 0},
			{Name: "cycle of the temperature", Unit: "K", Spread: Sinusoid(0.5), Sensitivity: 0},
			{Name: "difference of expansion", Unit: "1/K", Spread: Within(1e-6), Sensitivity: -lengthNM * thetaK, DegreesOfFreedom: 50},
			{Name: "difference of temperature", Unit: "K", Spread: Within(0.05), Sensitivity: -lengthNM * alphaPerK, DegreesOfFreedom: 2},
		},
	}
}

// Numbers of JCGM 100:2008, annex H.1 and table H.1, whose data several public
// texts agree on. Tolerances are half of the last digit printed there.
func TestEndGaugeOfTheGuide(t *testing.T) {
	r := endGauge().Evaluate()
	if r.Missing != nil {
		t.Fatal(r.Missing)
	}
	within(t, "combined standard uncertainty, nm", r.StandardUncertainty, 32, 0.5)
	// u_c² = 1002 nm² (H.1.4), from contributions rounded to 0.1 nm of which the
	// largest moves it by 2·25·0.05 = 2.5.
	within(t, "variance, nm²", r.StandardUncertainty*r.StandardUncertainty, 1002, 2.5)
	within(t, "effective degrees of freedom", r.DegreesOfFreedom, 16.7, 0.1)
	within(t, "99 % factor", r.CoverageFactorFor(0.99), 2.92, 0.005)
	// The guide takes u_c rounded to 32 nm: 2.92 · 32 = 93 (H.1.6); unrounded it
	// is 92.5.
	within(t, "99 % expanded uncertainty, nm", r.CoverageFactorFor(0.99)*math.Round(r.StandardUncertainty), 93, 0.5)

	// The last column of table H.1, in falling order; the three parts of d,
	// 9.7 nm together, stand alone here. The three zeros go by name.
	want := []struct {
		name string
		u    float64
	}{
		{"length of the standard", 25}, {"difference of temperature", 16.6}, {"comparator, systematic", 6.7},
		{"repeated observations", 5.8}, {"comparator, random", 3.9}, {"difference of expansion", 2.9},
		{"cycle of the temperature", 0}, {"expansion of the standard", 0}, {"mean temperature of the bed", 0},
	}
	for i, w := range want {
		c := r.Contributors[i]
		if c.Name != w.name {
			t.Errorf("place %d is %q, want %q", i+1, c.Name, w.name)
		}
		within(t, w.name, c.StandardUncertainty, w.u, 0.05)
	}
	// Table H.1: u(α_s) = 1.2e-6, u(δα) = 0.58e-6, u(δθ) = 0.029, u(Δ) = 0.35.
	for name, want := range map[string]float64{
		"expansion of the standard": 1.2e-6, "difference of expansion": 0.58e-6,
		"difference of temperature": 0.029, "cycle of the temperature": 0.35,
	} {
		for _, c := range r.Contributors {
			if c.Name == name {
				within(t, "input uncertainty of "+name, c.Members[0].InputUncertainty, want, 0.05*want)
			}
		}
	}
}

// impedance is the observations of JCGM 100:2008, table H.2: voltage in volts,
// current in milliamperes, phase in radians.
var impedance = [3][5]float64{
	{5.007, 4.994, 5.005, 4.990, 4.999},
	{19.663, 19.639, 19.640, 19.685, 19.678},
	{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
}

// meanOf returns the mean of v, and the covariance of the means of v and w
// (JCGM 100:2008, clauses 4.2.1, 4.2.3 and 5.2.3, equation 17).
func meanOf(v, w [5]float64) (mean, covariance float64) {
	var mw float64
	for i := range v {
		mean += v[i] / 5
		mw += w[i] / 5
	}
	for i := range v {
		covariance += (v[i] - mean) * (w[i] - mw) / (5 * 4)
	}
	return mean, covariance
}

// Resistance, reactance and impedance from simultaneous observations, JCGM
// 100:2008, annex H.2, tables H.2 to H.4; the data stand in several public texts,
// the correlations of the results (table H.3) are from memory. The guide prints
// three digits and says that it carried rounding; a unit of the last digit is
// allowed.
func TestImpedanceOfTheGuide(t *testing.T) {
	var mean, u [3]float64
	for i := range 3 {
		m, v := meanOf(impedance[i], impedance[i])
		mean[i], u[i] = m, math.Sqrt(v)
	}
	pair := func(i, j int) float64 {
		_, c := meanOf(impedance[i], impedance[j])
		return c / (u[i] * u[j])
	}
	within(t, "correlation of V and I", pair(0, 1), -0.36, 0.005)
	within(t, "correlation of V and phase", pair(0, 2), 0.86, 0.005)
	within(t, "correlation of I and phase", pair(1, 2), -0.65, 0.005)

	v, i, phi := mean[0], mean[1]*1e-3, mean[2]
	z := v / i
	cos, sin := math.Cos(phi), math.Sin(phi)
	budget := func(name string, cV, cI, cPhi float64) Budget {
		return Budget{
			Name: name, Unit: "ohm",
			Lines: []Line{
				{Name: "voltage", Unit: "V", Spread: Standard(u[0]), Sensitivity: cV},
				{Name: "current", Unit: "A", Spread: Standard(u[1] * 1e-3), Sensitivity: cI},
				{Name: "phase", Unit: "rad", Spread: Standard(u[2]), Sensitivity: cPhi},
			},
			Pairs: []Pair{{"voltage", "current", pair(0, 1)}, {"phase", "voltage", pair(0, 2)}, {"current", "phase", pair(1, 2)}},
		}
	}
	quantities := []Budget{
		budget("resistance", cos/i, -z*cos/i, -z*sin),
		budget("reactance", sin/i, -z*sin/i, z*cos),
		budget("impedance", 1/i, -z/i, 0),
	}
	within(t, "resistance", z*cos, 127.732, 0.0005)
	within(t, "reactance", z*sin, 219.847, 0.0005)
	within(t, "impedance", z, 254.260, 0.0005)
	published := []float64{0.071, 0.295, 0.236}
	for q, b := range quantities {
		r := b.Evaluate()
		within(t, "standard uncertainty of "+b.Name, r.StandardUncertainty, published[q], 0.001)
		if len(r.Contributors) != 1 || r.Contributors[0].Name != "voltage with current with phase" {
			t.Errorf("%s: contributors %v, want one group of three", b.Name, r.Contributors)
		}
	}
}

// Student factors: the table of NIST/SEMATECH e-Handbook of Statistical
// Methods, section 1.3.6.7.2 (as reprinted in public texts), the closed forms of
// one and two degrees of freedom (t = tan(πp/2), t = p √(2/(1−p²)); M. G.
// Kendall, A. Stuart, The Advanced Theory of Statistics, on Student's
// distribution), and table G.2 of JCGM 100:2008 for 95.45 %, from memory.
func TestStudentFactor(t *testing.T) {
	for _, c := range []struct{ p, freedom, want, tol float64 }{
		{0.95, 1, 12.706, 5e-4}, {0.95, 5, 2.571, 5e-4}, {0.95, 16, 2.120, 5e-4}, {0.99, 16, 2.921, 5e-4},
		{0.99, 40, 2.704, 5e-4}, {0.95, 100, 1.984, 5e-4}, {0.998, 3, 10.215, 1e-3},
		{0.95, math.Inf(1), 1.959964, 1e-6}, {0.95, 1e9, 1.959964, 1e-6}, {0.95, 9e7, 1.959964, 1e-6},
		{0.9545, 10, 2.28, 0.005}, {0.9545, 50, 2.05, 0.005}, {0.9973, 20, 3.42, 0.005},
	} {
		within(t, "factor", StudentFactor(c.p, c.freedom), c.want, c.tol)
	}
	for _, p := range []float64{0.1, 0.5, 0.9, 0.95, 0.999} {
		one, two := math.Tan(math.Pi*p/2), p*math.Sqrt(2/(1-p*p))
		within(t, "factor at one degree", StudentFactor(p, 1), one, 1e-10*one)
		within(t, "factor at two degrees", StudentFactor(p, 2), two, 1e-10*two)
	}
	// Where the sums end and the series begins, both are right: against another library's incomplete beta function.
	for _, p := range []float64{0.5, 0.6827, 0.95, 0.9973, 0.999} {
		for _, freedom := range []float64{3, 4, 11, 30, 199, 200, 201, 350, 5000, 1e6} {
			x := mathext.InvRegIncBeta(freedom/2, 0.5, 1-p)
			want := math.Sqrt(freedom * (1 - x) / x)
			within(t, fmt.Sprintf("factor for %g at %g degrees", p, freedom), StudentFactor(p, freedom), want, 1e-8*want)
		}
	}
	for _, c := range [][2]float64{{0, 5}, {1, 5}, {-1, 5}, {math.NaN(), 5}, {0.95, 0}, {0.95, 0.5}, {0.95, math.NaN()}} {
		if got := StudentFactor(c[0], c[1]); !math.IsNaN(got) {
			t.Errorf("factor for %v is %g, want NaN", c, got)
		}
	}
}
