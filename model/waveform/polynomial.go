package waveform

import (
	"math"
	"sort"

	"busgauss/model/portable"
)

// polynomial is Σ Re(c_i·e^{j·order_i·θ}), orders rising from 1, none twice.
type polynomial struct {
	order []int
	c     []complex128
}

// newPolynomial adds up coefficients of the same order.
func newPolynomial(orders []int, c []complex128) *polynomial {
	place := make([]int, len(orders))
	for i := range place {
		place[i] = i
	}
	sort.SliceStable(place, func(a, b int) bool { return orders[place[a]] < orders[place[b]] })
	p := &polynomial{}
	for _, i := range place {
		if n := len(p.order); n > 0 && p.order[n-1] == orders[i] {
			p.c[n-1] += c[i]
			continue
		}
		p.order, p.c = append(p.order, orders[i]), append(p.c, c[i])
	}
	return p
}

// bound is an extreme of a polynomial: the value reached at angleRad, and a limit that
// the polynomial does not pass anywhere.
type bound struct {
	value, limit, angleRad float64
}

const (
	// samplesAnOrder is how many samples the highest order has in a period.
	samplesAnOrder = 8
	// The first pass computes at most mostSampled values of single lines at no more than
	// mostSamples instants, the refinement at most mostSplit values: some ten milliseconds
	// each. Past a cap the limit is what has been proven so far, at worst Σ|c|, which
	// a group of an order so high comes near to as its lines drift past each other.
	mostSampled = 1 << 22
	mostSamples = 1 << 17
	mostSplit   = 1 << 19
	// closeEnough is the distance of limit and value, relative to half the swing.
	closeEnough = 1e-8
	// rounding, and as much for every roundingOrder of the highest order, is the error of a
	// sum of turned phasors, relative to Σ|c|. Turns are multiplied at most reseed times,
	// about 2⁻⁵² each, before they are computed afresh; an angle of 2πn has an error of
	// 2πn·2⁻⁵³.
	rounding      = 1e-12
	roundingOrder = 1000
	reseed        = 512
)

// extremes returns the smallest and the largest value over a period. With one order they
// are exact, ∓|c|. With more, p and p' are sampled at N points, N = 8n of the
// highest order n. Then two bounds hold between samples:
//
//	|p − m| ≤ s/cos(πn/N)               N > 2n; m the middle, s half the swing of the samples
//	|p⁗| ≤ n⁴·max|p − m|, Σ k⁴|c_k|
//
// The first is for a polynomial with a constant term, so that subtracting m, which makes
// it tightest, is allowed. From the second, p differs on an interval of width h from the cubic
// through values and slopes at its ends by at most h⁴/384·max|p⁗|. Intervals whose
// cubic plus that stays below the largest value known are dropped, the others are split
// where the cubic is largest.
//
// Sources: H. Ehlich, K. Zeller, Math. Z. 86 (1964) 41, see K. Jetter, G. Pfander,
// G. Zimmermann, Rev. Anal. Numér. Théor. Approx. 30 (2001) 179; S. Bernstein's
// inequality: A. Zygmund, Trigonometric Series, X.3.13 (from memory); J. Stoer,
// R. Bulirsch, Introduction to Numerical Analysis, 2.1.5 (from memory).
func (p *polynomial) extremes() (least, most bound) {
	sum, fourth := 0.0, 0.0
	for i, c := range p.c {
		sum += portable.Abs(c)
		fourth += float64(portable.Pow(float64(p.order[i]), 4) * portable.Abs(c))
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		none := bound{value: math.NaN(), limit: math.NaN()}
		return none, none
	}
	if len(p.c) == 0 || sum == 0 {
		return bound{}, bound{}
	}
	if len(p.c) == 1 {
		k, phase := float64(p.order[0]), portable.Phase(p.c[0])
		return bound{-sum, -sum, (math.Pi - phase) / k}, bound{sum, sum, math.Mod(2*math.Pi-phase, 2*math.Pi) / k}
	}
	n := p.order[len(p.order)-1]
	count := max(min(samplesAnOrder*n, mostSampled/len(p.c), mostSamples), 16)
	v, slope := p.sample(count)
	least, most = bound{value: v[0], limit: -sum}, bound{value: v[0], limit: sum}
	for j, x := range v {
		angle := 2 * math.Pi * float64(j) / float64(count)
		if x < least.value {
			least.value, least.angleRad = x, angle
		}
		if x > most.value {
			most.value, most.angleRad = x, angle
		}
	}
	if count <= 2*n {
		return least, most // too few samples to say more than Σ|c|
	}
	slack := float64(rounding * (1 + float64(n)/roundingOrder) * sum)
	middle := (most.value + least.value) / 2
	reach := (most.value-least.value)/2/portable.Cos(math.Pi*float64(n)/float64(count)) + slack
	swing := min(reach, sum)
	fourth = min(fourth, portable.Pow(float64(n), 4)*swing)
	h := &hunt{p: p, fourth: fourth, close: closeEnough * swing, slack: slack, splits: mostSplit / len(p.c)}
	most = h.largest(v, slope, most)
	most.limit = min(most.limit, middle+reach, sum)
	for i := range v {
		v[i], slope[i] = -v[i], -slope[i]
	}
	h.negative = true
	least = h.largest(v, slope, bound{value: -least.value, angleRad: least.angleRad})
	least.value, least.limit = -least.value, max(-least.limit, middle-reach, -sum)
	return least, most
}

// sample returns the values and the slopes at count equal steps, and again at the end of
// the period. Phasors are turned by multiplying, not by a sine a sample.
func (p *polynomial) sample(count int) (v, slope []float64) {
	v, slope = make([]float64, count+1), make([]float64, count+1)
	for i, c := range p.c {
		k := float64(p.order[i])
		step := 2 * math.Pi / float64(count)
		turn := portable.Rect(1, k*step)
		var z complex128
		for j := range count {
			if j%reseed == 0 {
				whole := (p.order[i] % count) * j % count // the angle without its whole turns
				z = portable.Times(c, portable.Rect(1, float64(whole)*step))
			}
			v[j] += real(z)
			slope[j] -= float64(k * imag(z))
			z = portable.Times(z, turn)
		}
	}
	v[count], slope[count] = v[0], slope[0]
	return v, slope
}

// at returns value and slope at one angle.
func (p *polynomial) at(angleRad float64) (v, slope float64) {
	for i, c := range p.c {
		k := float64(p.order[i])
		sin, cos := portable.Sincos(k * angleRad)
		v += float64(real(c)*cos) - float64(imag(c)*sin)
		slope -= float64(k * (float64(real(c)*sin) + float64(imag(c)*cos)))
	}
	return v, slope
}
