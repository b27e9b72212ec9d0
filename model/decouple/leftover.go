package decouple

import (
	"math"

	"busgauss/model/portable"
)

// Leftover is the error that an inverse leaves: E[j][k] is what channel j reads
// too much, in amperes for each ampere of bar k, as a complex share.
type Leftover struct {
	E [][]complex128
}

// roundOff is the share of the terms of a sum below which the sum is none: far above
// the rounding of an inverse that Invert gives, far below any error of a channel.
const roundOff = 1e-12

func beyond(v, terms float64) float64 {
	if math.Abs(v) <= roundOff*terms && !math.IsInf(terms, 1) {
		return 0
	}
	return v
}

// LeftoverOf returns what is left where the inverse made for one matrix is used
// while a holds, such as the inverse at direct current at a frequency:
//
//	E = inverse · a − 1
//
// Currents i then read (1 + E) i. inverse has a row for each bar and a column for
// each sensor, a the other way round, of any two numbers; otherwise it panics. Entries
// that are not finite go into E. A part of an entry within roundOff of the terms that
// it is the difference of is nothing, so that equal matrices leave 0; where the
// inverse rests on sums of currents, the method of Fit is the one that does.
func LeftoverOf(inverse, a [][]complex128) Leftover {
	n, sensors := shape(inverse)
	if rows, columns := shape(a); n == 0 || rows != sensors || columns != n {
		panic("decouple: inverse and matrix do not fit")
	}
	e := make([][]complex128, n)
	for j := range e {
		e[j] = make([]complex128, n)
		for k := range n {
			sum, terms := complex128(0), 0.0
			for i := range sensors {
				term := portable.Times(inverse[j][i], a[i][k])
				sum += term
				terms += portable.Abs(term)
			}
			if j == k {
				sum--
			}
			e[j][k] = complex(beyond(real(sum), terms), beyond(imag(sum), terms))
		}
	}
	return Leftover{E: e}
}

// OwnAmplitude returns by which share channel j reads the amplitude of its own
// bar too high, |1 + E_jj| − 1, a pure number.
func (l Leftover) OwnAmplitude(j int) float64 { return portable.Abs(1+l.E[j][j]) - 1 }

// OwnPhaseRad returns by which angle channel j leads its own current,
// arg(1 + E_jj), in radians from −π to π; negative where it lags.
func (l Leftover) OwnPhaseRad(j int) float64 { return portable.Phase(1 + l.E[j][j]) }

// CrosstalkSum returns Σ|E_jk| over k ≠ j, a pure number: the amperes that
// channel j reads where every other bar carries one ampere in the worst phase.
func (l Leftover) CrosstalkSum(j int) float64 {
	sum := 0.0
	for k := range l.E[j] {
		if k != j {
			sum += portable.Abs(l.E[j][k])
		}
	}
	return sum
}

// Extreme is a value with its sign and the index of the matrix that gives it.
type Extreme struct {
	Value  float64
	Matrix int
}

// ChannelExtremes is the worst of one channel over several matrices, each
// quantity by itself. The units are those of the methods of Leftover.
type ChannelExtremes struct {
	OwnAmplitude Extreme
	OwnPhaseRad  Extreme
	CrosstalkSum Extreme
}

// Worst returns, for each channel, the largest leftover in magnitude over the
// matrices, such as those of a board moved within its tolerance; of equal ones
// the first. A value that is not a number is the largest. No matrices give NaN
// with the index −1.
func Worst(inverse [][]complex128, matrices [][][]complex128) []ChannelExtremes {
	return worst(len(inverse), matrices, func(a [][]complex128) Leftover { return LeftoverOf(inverse, a) })
}

// worst takes the leftovers of n channels.
func worst(n int, matrices [][][]complex128, leftoverOf func(a [][]complex128) Leftover) []ChannelExtremes {
	none := Extreme{Value: math.NaN(), Matrix: -1}
	out := make([]ChannelExtremes, n)
	for j := range out {
		out[j] = ChannelExtremes{none, none, none}
	}
	for m, a := range matrices {
		l := leftoverOf(a)
		for j := range out {
			out[j].OwnAmplitude.take(l.OwnAmplitude(j), m)
			out[j].OwnPhaseRad.take(l.OwnPhaseRad(j), m)
			out[j].CrosstalkSum.take(l.CrosstalkSum(j), m)
		}
	}
	return out
}

// take keeps the larger in magnitude.
func (x *Extreme) take(v float64, matrix int) {
	if x.Matrix < 0 || math.IsNaN(v) && !math.IsNaN(x.Value) || math.Abs(v) > math.Abs(x.Value) {
		*x = Extreme{Value: v, Matrix: matrix}
	}
}
