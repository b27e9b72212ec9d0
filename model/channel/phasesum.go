package channel

import (
	"math"
	"math/cmplx"

	"busgauss/model/portable"
)

// Phases are the three channels of a three-phase set and how they depart from
// what they should tell. Gain[k][j] is what channel k tells per ampere in phase j
// beside the truth: the relative error of its own gain on the diagonal (complex: a
// lag of ψ gives e^{−jψ} − 1), crosstalk off it. OffsetA is told at no current.
type Phases struct {
	Gain    [3][3]complex128
	OffsetA [3]float64
	// Derived is the index of a phase that is not measured but taken as minus the
	// sum of the other two; −1 when all three are measured.
	Derived int
}

// Mismatch returns the error of a gain that is off by share and late by lagRad:
// (1 + share) e^{−j lag} − 1.
func Mismatch(share, lagRad float64) complex128 {
	return portable.Rect(1+share, -lagRad) - 1
}

// phasors returns the error phasor that each channel adds per ampere of amplitude
// of a balanced set i_k = cos(θ − k·120°), and the offsets as the controller sees
// them.
func (p *Phases) phasors() (errors [3]complex128, offsetA [3]float64) {
	offsetA = p.OffsetA
	for k := range errors {
		for j := range 3 {
			errors[k] += portable.Times(p.Gain[k][j], turn(-j))
		}
	}
	if d := p.Derived; d >= 0 {
		a, b := (d+1)%3, (d+2)%3
		errors[d] = -errors[a] - errors[b]
		offsetA[d] = -offsetA[a] - offsetA[b]
	}
	return errors, offsetA
}

// turn returns e^{jk 120°}.
func turn(k int) complex128 { return portable.Rect(1, 2*math.Pi/3*float64(k)) }

// FalseSum is what the sum of three channels tells when the true sum is nothing.
type FalseSum struct {
	AmplitudeA float64 // at the electrical frequency
	OffsetA    float64 // constant, with its sign
	PeakA      float64 // largest instantaneous value: amplitude and |offset|
}

// FalseSum returns the false sum at a balanced set of amplitudeA:
//
//	Σ_k δ_k = Re[(Σ_k Σ_j G_kj e^{−jj·120°}) I e^{jθ}] + Σ_k o_k
//
// With two measured phases the sum is nothing by construction and tells nothing.
// Exact for the errors given.
func (p *Phases) FalseSum(amplitudeA float64) FalseSum {
	e, o := p.phasors()
	s := FalseSum{AmplitudeA: float64(amplitudeA * portable.Abs(e[0]+e[1]+e[2])), OffsetA: o[0] + o[1] + o[2]}
	s.PeakA = s.AmplitudeA + math.Abs(s.OffsetA)
	return s
}

// Ripple is what errors of the channels do to the current as seen in the frame
// that turns with the electrical angle, where a balanced set stands still.
type Ripple struct {
	OnceA  float64 // amplitude at the electrical frequency, from offsets
	TwiceA float64 // amplitude at twice the electrical frequency, from mismatch
	// StandingA is the constant error of amplitude (real part) and of angle times
	// amplitude (imaginary part), which all three share.
	StandingA complex128
}

// Ripple returns the ripple in amperes at a balanced set of amplitudeA. The space
// vector of the errors δ_k(θ) is, amplitude-invariant,
//
//	δ = (2/3)(δ_a + e^{j120°} δ_b + e^{j240°} δ_c),   seen from the turning frame: δ e^{−jθ}
//
// A constant error o_k stands still and turns backwards there: once,
//
//	(2/3) |Σ_k o_k e^{jk120°}|
//
// An error Re(D_k e^{jθ}) = (D_k e^{jθ} + D_k* e^{−jθ})/2 leaves the standing
// (1/3) Σ D_k e^{jk120°} and, from the second term, e^{−2jθ}: twice,
//
//	(1/3) |Σ_k D_k* e^{jk120°}|
//
// Two measured phases, gain of one off by ε (say b, and c = −a − b): D_b =
// ε I e^{−j120°}, D_c = −D_b. D_b* e^{j120°} + D_c* e^{j240°} =
// ε I e^{j120°}(e^{j120°} − e^{j240°}) has the size √3 ε I, a third of it ε I/√3:
// 2 % give 1.155 %. An offset of 1 A on b: (2/3)|e^{j120°} − e^{j240°}| =
// 2/√3 = 1.155 A. With all three measured, ε on one gives ε I/3 and 1 A gives
// 0.667 A.
//
// Source: W. Leonhard, Control of Electrical Drives, 3rd ed., chapter 10 (space
// vectors; from memory); the rest is worked out here.
func (p *Phases) Ripple(amplitudeA float64) Ripple {
	e, o := p.phasors()
	var once, twice, standing complex128
	for k := range 3 {
		once += portable.Times(complex(o[k], 0), turn(k))
		twice += portable.Times(cmplx.Conj(e[k]), turn(k))
		standing += portable.Times(e[k], turn(k))
	}
	third := complex(amplitudeA/3, 0)
	return Ripple{OnceA: 2. / 3 * portable.Abs(once), TwiceA: portable.Abs(portable.Times(twice, third)), StandingA: portable.Times(standing, third)}
}

// Tolerances are half widths, alike for each of the three channels.
type Tolerances struct {
	GainShare  float64
	LagRad     float64
	OffsetA    float64
	CrossShare float64 // of each phase's current into each other channel, beside what is known
}

// WorstFalseSumA returns the largest instantaneous false sum in amperes that
// tolerances allow at amplitudeA, all three phases measured. Every channel's own
// error and every crosstalk may have either sign; the sum is convex in each (in
// lags to second order), so the worst lies on a corner. Seen from phase j the current I cos(θ − j·120°) meets
// the sum of one gain error and two crosstalks, ε + 2κ at most:
//
//	|Σ_j s_j (ε + 2κ) e^{−jj120°}| with signs s_j, and lags likewise at right angles
//
// For gain alone that is 2 ε I: the third phase's error points half way against
// the other two. Offsets add 3 o.
func WorstFalseSumA(amplitudeA float64, t Tolerances) float64 {
	worst := 0.0
	for corner := range 64 {
		var sum complex128
		for j := range 3 {
			sum += portable.Times(Mismatch(sign(corner>>j)*t.GainShare, sign(corner>>(3+j))*t.LagRad)+
				complex(float64(sign(corner>>j)*2*t.CrossShare), 0), turn(-j))
		}
		if s := portable.Abs(sum); !(s <= worst) {
			worst = s
		}
	}
	return float64(amplitudeA*worst) + float64(3*t.OffsetA)
}

// WorstRipple returns the largest ripple in amperes that tolerances of gain, lag
// and offset allow, with all three phases measured or with one derived. Each
// amplitude is the size of a sum that is convex in every error (in lags to second
// order), so the worst lies on a corner; once and twice each have their own.
// StandingA is left at nothing. Crosstalk of either sign is
// taken as a further gain error: it meets each channel with two currents, κ each.
func WorstRipple(amplitudeA float64, t Tolerances, derived int) Ripple {
	var worst Ripple
	for corner := range 512 {
		p := Phases{Derived: derived}
		for k := range 3 {
			gain := sign(corner >> k)
			p.Gain[k][k] = Mismatch(gain*t.GainShare, sign(corner>>(3+k))*t.LagRad)
			p.OffsetA[k] = sign(corner>>(6+k)) * t.OffsetA
		}
		r := p.Ripple(amplitudeA)
		worst.OnceA, worst.TwiceA = max(worst.OnceA, r.OnceA), max(worst.TwiceA, r.TwiceA)
	}
	worst.TwiceA += float64(amplitudeA * t.CrossShare * crossWeight(derived))
	return worst
}

// crossWeight is the largest (1/3)|Σ_k Σ_j≠k s_kj e^{jj120°} e^{jk120°}| over
// signs s, with the derived row put together from the others.
func crossWeight(derived int) float64 {
	worst := 0.0
	for corner := range 64 {
		p := Phases{Derived: derived}
		bit := 0
		for k := range 3 {
			for j := range 3 {
				if j != k {
					p.Gain[k][j] = complex(sign(corner>>bit), 0)
					bit++
				}
			}
		}
		worst = max(worst, p.Ripple(1).TwiceA)
	}
	return worst
}

// sign reads the lowest bit as a sign.
func sign(bits int) float64 { return float64(1 - 2*(bits&1)) }

// LeastImbalanceA returns the least threshold in amperes on the sum of three
// channels that normal use does not trip: false sum plus NoiseCrest times the rms
// noise of the sum, √3 that of one channel.
func LeastImbalanceA(falseSumA, noiseRMSA float64) float64 {
	return falseSumA + float64(NoiseCrest*math.Sqrt(3)*noiseRMSA)
}
