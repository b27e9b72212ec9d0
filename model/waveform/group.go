package waveform

import "math"

const (
	// Within a group multiples are looked for up to longestMultiple.
	longestMultiple = 1_000_000
	// sameFrequency is the relative difference that counts as none.
	sameFrequency = 1e-9
)

// ratio returns whole numbers p and q, each at most limit, with x = p/q within
// sameFrequency: the first convergent of the continued fraction that is near enough.
//
// Source: A. Ya. Khinchin, Continued Fractions, section 6: convergents are the best
// approximations (from memory).
func ratio(x float64, limit int) (p, q int, ok bool) {
	if !(x > 0 && x <= float64(limit)) {
		return 0, 0, false
	}
	p0, q0, p1, q1 := 0, 1, 1, 0
	rest := x
	for {
		whole := math.Floor(rest)
		if !(whole <= float64(limit)) {
			return 0, 0, false
		}
		p0, p1 = p1, int(whole)*p1+p0
		q0, q1 = q1, int(whole)*q1+q0
		if p1 > limit || q1 > limit {
			return 0, 0, false
		}
		if p1 > 0 && math.Abs(float64(p1)-float64(x*float64(q1))) <= sameFrequency*float64(p1) {
			return p1, q1, true
		}
		rest = 1 / (rest - whole)
	}
}

// commonBase returns the largest frequency of which every given one is a whole
// multiple, and the multiples; not ok when there is none.
func commonBase(freqHz []float64) (baseHz float64, orders []int, ok bool) {
	if len(freqHz) == 0 {
		return 0, nil, false
	}
	lowest := freqHz[0]
	for _, f := range freqHz {
		lowest = min(lowest, f)
	}
	ps, qs := make([]int, len(freqHz)), make([]int, len(freqHz))
	common := 1
	for i, f := range freqHz {
		p, q, ok := ratio(f/lowest, longestMultiple)
		if !ok {
			return 0, nil, false
		}
		ps[i], qs[i] = p, q
		if common = common / gcd(common, q) * q; common > longestMultiple {
			return 0, nil, false
		}
	}
	shared := 0
	for i := range ps {
		ps[i] *= common / qs[i]
		shared = gcd(shared, ps[i])
	}
	for i := range ps {
		ps[i] /= shared
	}
	return lowest * float64(shared) / float64(common), ps, true
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
