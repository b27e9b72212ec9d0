package waveform

import (
	"math"

	"busgauss/model/portable"
)

// Line is one frequency of a quantity: its peak phasor, e^{+jωt}, real at 0 Hz, and a
// bound of the error of that phasor in the unit of the quantity.
type Line struct {
	FreqHz   float64
	Group    int // as Component.Group
	V        complex128
	BoundAbs float64
}

// Signal is a quantity that follows the currents linearly: a field along an axis, the
// flux of a wall, a voltage.
type Signal struct {
	Lines []Line
	// Offset holds what Currents.Offsets make of the quantity, each driven as direct
	// current. It adds its largest size, with either sign.
	Offset []Line
	// LeftOver bounds the part of the quantity that no line says.
	LeftOver float64
	// Exact is the smallest and the largest value, where points say them; nil elsewhere.
	Exact *[2]float64
}

// Extreme is the largest or the smallest value of a signal over all time. Value is
// reached by the lines at TimesS, one time a group, and by the offset at its worst angle. The
// true extreme lies between Low and High, which count what lies between samples, the
// bounds of the lines and the left-over.
type Extreme struct {
	Value, Low, High float64
	TimesS           []float64
}

// Extremes returns the smallest and the largest value of s. Groups stand at any phase
// against each other, so that their extremes add; the offset adds its largest size to
// both ends. A single frequency is exact; for a group of several see polynomial.extremes.
func (s *Signal) Extremes() (low, high Extreme) {
	slack := s.LeftOver
	direct := 0.0
	for i := range s.Lines {
		slack += s.Lines[i].BoundAbs
		if s.Lines[i].FreqHz == 0 {
			direct += real(s.Lines[i].V)
		}
	}
	low.Value, low.Low, low.High = direct, direct, direct
	high.Value, high.Low, high.High = direct, direct, direct
	groups := groupsOf(s.Lines)
	low.TimesS, high.TimesS = make([]float64, groups), make([]float64, groups)
	for g := range groups {
		least, most, baseHz := extremesOf(s.Lines, g)
		low.Value, low.High = low.Value+least.value, low.High+least.value
		low.Low += least.limit
		high.Value, high.Low = high.Value+most.value, high.Low+most.value
		high.High += most.limit
		if baseHz > 0 {
			low.TimesS[g] = least.angleRad / (2 * math.Pi * baseHz)
			high.TimesS[g] = most.angleRad / (2 * math.Pi * baseHz)
		}
	}
	value, limit := s.OffsetPeak()
	low.Value, low.Low, low.High = low.Value-value, low.Low-limit, low.High-value
	high.Value, high.Low, high.High = high.Value+value, high.Low+value, high.High+limit
	for i := range s.Offset {
		slack += s.Offset[i].BoundAbs
	}
	low.Low, low.High = low.Low-slack, low.High+slack
	high.Low, high.High = high.Low-slack, high.High+slack
	if e := s.Exact; e != nil {
		low.Value, low.Low, low.High = e[0], e[0], e[0]
		high.Value, high.Low, high.High = e[1], e[1], e[1]
	}
	return low, high
}

// OffsetPeak returns the largest size of the decaying direct part at the first peak of
// the fault, and what it is at most between samples.
func (s *Signal) OffsetPeak() (value, limit float64) {
	for g := range groupsOf(s.Offset) {
		least, most, _ := extremesOf(s.Offset, g)
		value += max(-least.value, most.value)
		limit += max(-least.limit, most.limit)
	}
	return value, limit
}

// PeakAbs returns the largest magnitude of s, bounded as Extremes is.
func (s *Signal) PeakAbs() Extreme {
	low, high := s.Extremes()
	out := Extreme{
		Value: max(-low.Value, high.Value), Low: max(-low.High, high.Low, 0), High: max(-low.Low, high.High),
		TimesS: high.TimesS,
	}
	if -low.Value > high.Value {
		out.TimesS = low.TimesS
	}
	return out
}

// Scaled returns s times a real factor.
func (s *Signal) Scaled(by float64) *Signal {
	scaled := func(list []Line) []Line {
		var out []Line
		for _, a := range list {
			a.V = portable.Times(a.V, complex(by, 0))
			a.BoundAbs *= math.Abs(by)
			out = append(out, a)
		}
		return out
	}
	out := &Signal{Lines: scaled(s.Lines), Offset: scaled(s.Offset), LeftOver: s.LeftOver * math.Abs(by)}
	if e := s.Exact; e != nil {
		out.Exact = &[2]float64{min(e[0]*by, e[1]*by), max(e[0]*by, e[1]*by)}
	}
	return out
}

// RMS returns the root mean square of s and a bound of its error. The offset, which
// decays, is not in it. Groups that share a frequency may stand in phase, which is
// what counts here:
//
//	rms² = dc² + Σ_f (Σ_groups |V|)²/2
//
// The bound is the rms of the bounds of the lines plus the left-over (triangle
// inequality of the mean square).
func (s *Signal) RMS() (rms, bound float64) {
	var direct, directBound, sum, sumBound float64
	for i := range s.Lines {
		a := &s.Lines[i]
		if a.FreqHz == 0 {
			direct, directBound = direct+real(a.V), directBound+a.BoundAbs
			continue
		}
		if size, bound, first := s.sizeAt(i); first {
			sum, sumBound = sum+size*size/2, sumBound+bound*bound/2
		}
	}
	return math.Sqrt(float64(direct*direct) + sum), math.Sqrt(float64(directBound*directBound)+sumBound) + s.LeftOver
}

// sizeAt returns the sum of magnitudes, over groups, of all lines at the frequency of
// line i, and whether i is the first of them.
func (s *Signal) sizeAt(i int) (size, bound float64, first bool) {
	f := s.Lines[i].FreqHz
	var done []int
	for k := range s.Lines {
		if !sameHz(s.Lines[k].FreqHz, f) {
			continue
		}
		if k < i {
			return 0, 0, false
		}
		bound += s.Lines[k].BoundAbs
		if contains(done, s.Lines[k].Group) {
			continue
		}
		done = append(done, s.Lines[k].Group)
		var v complex128
		for _, b := range s.Lines[k:] {
			if b.Group == s.Lines[k].Group && sameHz(b.FreqHz, f) {
				v += b.V
			}
		}
		size += portable.Abs(v)
	}
	return size, bound, true
}

func contains(list []int, x int) bool {
	for _, y := range list {
		if x == y {
			return true
		}
	}
	return false
}

func sameHz(a, b float64) bool {
	return math.Abs(a-b) <= sameFrequency*max(a, b)
}

// At returns the value of s at a time of each group: direct part and the groups that have
// a time. Groups without one are left out, and so is the offset.
func (s *Signal) At(timesS ...float64) float64 {
	sum := 0.0
	for i := range s.Lines {
		a := &s.Lines[i]
		if turn, flows := turnAt(a.FreqHz, a.Group, timesS); flows {
			sum += real(portable.Times(a.V, turn))
		}
	}
	return sum
}

func groupsOf(lines []Line) int {
	n := 0
	for i := range lines {
		n = max(n, lines[i].Group+1)
	}
	return n
}

// extremesOf returns the extremes of one group of lines and its base frequency. Lines
// without a common base take any phase: their magnitudes add, and baseHz is 0.
func extremesOf(lines []Line, group int) (least, most bound, baseHz float64) {
	var freqHz []float64
	var phasors []complex128
	sum := 0.0
	for i := range lines {
		a := &lines[i]
		if a.Group != group || a.FreqHz == 0 || a.V == 0 {
			continue
		}
		freqHz, phasors = append(freqHz, a.FreqHz), append(phasors, a.V)
		sum += portable.Abs(a.V)
	}
	if len(freqHz) == 0 {
		return bound{}, bound{}, 0
	}
	baseHz, orders, ok := commonBase(freqHz)
	if !ok {
		return bound{value: -sum, limit: -sum}, bound{value: sum, limit: sum}, 0
	}
	p := newPolynomial(orders, phasors)
	least, most = p.extremes()
	return least, most, baseHz
}
