package waveform

import (
	"fmt"
	"math"
	"testing"

	"busgauss/model/layout"
)

// The peak factor of IEC 60909-0:2016, 8.1, by its formula, and against the current
// of a path with R and X switched onto a sinusoidal voltage at angle ψ:
//
//	i/(√2·I) = sin(ωt + ψ − φ) − sin(ψ − φ)·e^(−ωt·R/X),  tan φ = X/R
//
// (A. Greenwood, Electrical Transients in Power Systems, section 3.1; from memory),
// maximised over ψ and t. The formula fits that within 2 %, from above where R is large:
// it tends to 1.02 and the truth to 1.
func TestPeakFactorOfTheStandard(t *testing.T) {
	for _, c := range []struct{ rOverX, formula float64 }{
		{0.05, 1.8635}, {0.1, 1.7460}, {0.3, 1.4184}, {1, 1.0688},
	} {
		got := PeakFactor(c.rOverX)
		near(t, fmt.Sprintf("κ of R/X %g", c.rOverX), got, c.formula, 1e-4)
		near(t, fmt.Sprintf("κ of R/X %g in time", c.rOverX), got, switched(c.rOverX), 0.02)
	}
	near(t, "κ without resistance", PeakFactor(0), 2, 1e-12)
	near(t, "in time without resistance", switched(0), 2, 1e-4)
}

func switched(rOverX float64) float64 {
	const steps = 720
	phi := math.Atan2(1, rOverX)
	peak := 0.0
	for i := range steps {
		psi := 2 * math.Pi * float64(i) / steps
		for j := range steps {
			wt := 2 * math.Pi * float64(j) / steps
			peak = max(peak, math.Abs(math.Sin(wt+psi-phi)-math.Sin(psi-phi)*math.Exp(-wt*rOverX)))
		}
	}
	return peak
}

// The first peak of a fully offset fault is 2·√2·I (half-wave asymmetry: κ = 2 of IEC
// 60909-0 at R = 0), in each phase, with either sign, and as direct current it
// is symmetrical: rms does not count what decays.
func TestFirstPeakOfAFault(t *testing.T) {
	l := &layout.Layout{Circuits: make([]layout.Circuit, 3)}
	d := &layout.Duty{Kind: layout.Fault, Set: layout.Set{FreqHz: num(50), ThreePhase: balanced(1000)}}
	peak := 1000 * math.Sqrt2
	for _, c := range []struct {
		asymmetry *layout.Asymmetry
		factor    float64
	}{
		{nil, 1},
		{&layout.Asymmetry{PeakFactor: num(2)}, 2},
		{&layout.Asymmetry{ROverX: num(0)}, 2},
		{&layout.Asymmetry{ROverX: num(0.1)}, 1.7460},
	} {
		d.Asymmetry = c.asymmetry
		currents := Of(l, d)
		near(t, "κ", currents.PeakFactor, c.factor, 1e-4)
		for i := range l.Circuits {
			s := currents.Current(layout.CircuitIndex(i))
			low, high := s.Extremes()
			near(t, "first peak", high.Value, c.factor*peak, 0.2)
			near(t, "other sign", low.Value, -c.factor*peak, 0.2)
			near(t, "magnitude", s.PeakAbs().High, c.factor*peak, 0.2)
			rms, _ := s.RMS()
			near(t, "rms", rms, 1000, 1e-9)
		}
	}
}

// The offset of circuits adds at one common angle: of a balanced set it cancels.
func TestOffsetHasOneAngle(t *testing.T) {
	l := &layout.Layout{Circuits: make([]layout.Circuit, 3)}
	c := Of(l, &layout.Duty{Kind: layout.Fault, Asymmetry: &layout.Asymmetry{PeakFactor: num(1.8)},
		Set: layout.Set{FreqHz: num(50), ThreePhase: balanced(1000)}})
	var sum complex128
	for _, a := range c.Offsets[0].PeakA {
		sum += a
	}
	s := &Signal{Offset: []Line{{FreqHz: 50, V: sum}}}
	value, _ := s.OffsetPeak()
	near(t, "offset of the sum", value, 0, 1e-9)
}
