package channel

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func TestTwoMeasuredPhases(t *testing.T) {
	for k := range 2 { // the gain of either measured phase
		p := Phases{Derived: 2}
		p.Gain[k][k] = Mismatch(0.02, 0)
		near(t, "ripple at twice, %", p.Ripple(1).TwiceA*100, 1.155, 5e-4) // 2 %/√3
		p = Phases{Derived: 2}
		p.OffsetA[k] = 1
		near(t, "ripple at once, A", p.Ripple(1).OnceA, 1.155, 5e-4) // 2/√3
	}
	// A lag of ψ on one: |e^{−jψ} − 1|/√3 = 2 sin(ψ/2)/√3.
	p := Phases{Derived: 2}
	p.Gain[0][0] = Mismatch(0, 0.02)
	near(t, "lag", p.Ripple(1).TwiceA, 2*math.Sin(0.01)/math.Sqrt(3), 1e-12)
}

func TestThreeMeasuredPhases(t *testing.T) {
	p := Phases{Derived: -1}
	p.Gain[1][1] = 0.03
	p.OffsetA[2] = 1
	r := p.Ripple(200)
	near(t, "twice, A", r.TwiceA, 2, 1e-12) // ε I/3
	near(t, "once, A", r.OnceA, 2./3, 1e-12)
	near(t, "amplitude, A", real(r.StandingA), 2, 1e-12)
	s := p.FalseSum(200)
	near(t, "false sum, A", s.AmplitudeA, 6, 1e-12)
	near(t, "offset, A", s.OffsetA, 1, 1e-12)
	near(t, "peak, A", s.PeakA, 7, 1e-12)

	// A gain that all share leaves no ripple and no false sum; crosstalk alike in
	// all does neither: the neighbours of each sum to minus its own.
	p = Phases{Derived: -1}
	for k := range 3 {
		for j := range 3 {
			p.Gain[k][j] = 0.01
			if k == j {
				p.Gain[k][j] = 0.05
			}
		}
	}
	r = p.Ripple(1)
	near(t, "twice of alike", r.TwiceA, 0, 1e-15)
	near(t, "standing of alike", real(r.StandingA), 0.05-0.01, 1e-15)
	near(t, "false sum of alike", p.FalseSum(1).AmplitudeA, 0, 1e-15)
	// Only the middle bar reaches its neighbours (bars in a row): δ_a = δ_c = κ i_b,
	// false sum 2 κ I.
	p = Phases{Derived: -1}
	p.Gain[0][1], p.Gain[2][1] = 0.01, 0.01
	near(t, "unequal crosstalk", p.FalseSum(1).AmplitudeA, 0.02, 1e-15)
	near(t, "its ripple", p.Ripple(1).TwiceA, 0.01/3, 1e-12) // |e^{j120°}(1 + e^{j240°})|/3
}

// TestAgainstInstants walks through one period, turns the space vector of what
// three channels tell into the frame of the current, and reads the harmonics off by
// their Fourier sums.
func TestAgainstInstants(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	for range 20 {
		p := Phases{Derived: rng.IntN(4) - 1}
		for k := range 3 {
			p.OffsetA[k] = rng.NormFloat64()
			for j := range 3 {
				p.Gain[k][j] = complex(0.1*rng.NormFloat64(), 0.1*rng.NormFloat64())
			}
		}
		const amplitudeA, n = 50.0, 720
		var harmonic [3]complex128 // e^{−j k θ}, k = 0, 1, 2
		peak, first := 0.0, complex128(0)
		for i := range n {
			theta := 2 * math.Pi * float64(i) / n
			var told [3]float64
			for k := range 3 {
				told[k] = amplitudeA*math.Cos(theta-2*math.Pi/3*float64(k)) + p.OffsetA[k]
				for j := range 3 {
					told[k] += real(p.Gain[k][j] * cmplx.Rect(amplitudeA, theta-2*math.Pi/3*float64(j)))
				}
			}
			if d := p.Derived; d >= 0 {
				told[d] = -told[(d+1)%3] - told[(d+2)%3]
			}
			alpha := (2*told[0] - told[1] - told[2]) / 3 // Clarke, amplitude-invariant
			beta := (told[1] - told[2]) / math.Sqrt(3)
			turned := complex(alpha, beta) * cmplx.Rect(1, -theta)
			for k := range harmonic {
				harmonic[k] += turned * cmplx.Rect(1./n, float64(k)*theta)
			}
			sum := told[0] + told[1] + told[2]
			peak = max(peak, math.Abs(sum))
			first += complex(sum*2/n, 0) * cmplx.Rect(1, -theta)
		}
		r, s := p.Ripple(amplitudeA), p.FalseSum(amplitudeA)
		near(t, "standing", cmplx.Abs(harmonic[0]-amplitudeA-r.StandingA), 0, 1e-9)
		near(t, "once", cmplx.Abs(harmonic[1]), r.OnceA, 1e-9)
		near(t, "twice", cmplx.Abs(harmonic[2]), r.TwiceA, 1e-9)
		near(t, "false sum", cmplx.Abs(first), s.AmplitudeA, 1e-9)
		near(t, "peak", peak, s.PeakA, 1e-9+1e-3*s.PeakA) // the walk may step over the crest
	}
}

// TestWorstByChance throws errors inside the tolerances: none may exceed the worst,
// and the worst at the corners must come near.
func TestWorstByChance(t *testing.T) {
	near(t, "gain alone", WorstFalseSumA(100, Tolerances{GainShare: 0.01}), 2, 1e-9) // 2 ε I
	near(t, "offsets alone", WorstFalseSumA(100, Tolerances{OffsetA: 0.5}), 1.5, 1e-12)
	near(t, "crosstalk alone", WorstFalseSumA(100, Tolerances{CrossShare: 0.01}), 4, 1e-9)
	tol := Tolerances{GainShare: 0.01, LagRad: 0.02, OffsetA: 0.3, CrossShare: 0.004}
	rng := rand.New(rand.NewPCG(11, 3))
	u := func() float64 { // mostly at the ends, where the worst is
		if rng.IntN(4) > 0 {
			return float64(2*rng.IntN(2) - 1)
		}
		return 2*rng.Float64() - 1
	}
	for _, derived := range []int{-1, 2} {
		var most Ripple
		mostSum := 0.0
		for range 50000 {
			p := Phases{Derived: derived}
			for k := range 3 {
				for j := range 3 {
					p.Gain[k][j] = complex(tol.CrossShare*u(), 0)
				}
				p.Gain[k][k] = Mismatch(tol.GainShare*u(), tol.LagRad*u())
				p.OffsetA[k] = tol.OffsetA * u()
			}
			r := p.Ripple(100)
			most.OnceA, most.TwiceA = max(most.OnceA, r.OnceA), max(most.TwiceA, r.TwiceA)
			mostSum = max(mostSum, p.FalseSum(100).PeakA)
		}
		w := WorstRipple(100, tol, derived)
		within := func(what string, seen, worst, share float64) {
			if !(seen <= worst*(1+1e-9) && seen >= share*worst) {
				t.Errorf("derived %d: %s seen %g, worst %g", derived, what, seen, worst)
			}
		}
		within("once", most.OnceA, w.OnceA, 0.99)
		within("twice", most.TwiceA, w.TwiceA, 0.8) // gain and crosstalk need not be worst together
		if derived < 0 {
			within("false sum", mostSum, WorstFalseSumA(100, tol), 0.9)
		}
	}
	near(t, "least threshold, A", LeastImbalanceA(2, 0.1), 2+6*math.Sqrt(3)*0.1, 1e-12)
}
