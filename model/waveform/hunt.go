package waveform

import "math"

// hunt looks for the largest value of a polynomial, or of its negative, by branch and
// bound.
type hunt struct {
	p                    *polynomial
	negative             bool
	fourth, close, slack float64 // bound of |p⁗|; when to stop; rounding
	splits               int     // at most
}

// stretch is an interval of angle with value and slope at its ends, the largest value
// that the polynomial can have on it, and where its cubic is largest (0 to 1).
type stretch struct {
	from, width float64
	va, vb      float64
	sa, sb      float64
	top, where  float64
}

// largest starts from samples over a whole period, the first again at the end, and the
// largest of them.
func (h *hunt) largest(v, slope []float64, best bound) bound {
	count := len(v) - 1
	step := 2 * math.Pi / float64(count)
	var alive []stretch
	passed := best.value // the highest top of what is dropped
	keep := func(list []stretch, s stretch) []stretch {
		if s.top = h.roof(&s); s.top > best.value+h.close {
			h.rate(&s)
		}
		if s.top > best.value+h.close {
			return append(list, s)
		}
		passed = max(passed, s.top)
		return list
	}
	for j := range count {
		alive = keep(alive, stretch{from: float64(j) * step, width: step,
			va: v[j], vb: v[j+1], sa: slope[j], sb: slope[j+1]})
	}
	for left := h.splits; len(alive) > 0; {
		if left -= len(alive); left < 0 {
			break
		}
		var next []stretch
		for _, s := range alive {
			if s.top <= best.value+h.close {
				passed = max(passed, s.top)
				continue
			}
			middle := s.from + float64(s.where*s.width)
			vm, sm := h.p.at(middle)
			if h.negative {
				vm, sm = -vm, -sm
			}
			if vm > best.value {
				best.value, best.angleRad = vm, middle
			}
			next = keep(next, stretch{from: s.from, width: s.where * s.width, va: s.va, vb: vm, sa: s.sa, sb: sm})
			next = keep(next, stretch{from: middle, width: s.width - float64(s.where*s.width), va: vm, vb: s.vb, sa: sm,
				sb: s.sb})
		}
		alive = next
	}
	best.limit = max(best.value, passed)
	for i := range alive {
		best.limit = max(best.limit, alive[i].top)
	}
	best.limit += h.slack
	return best
}

// spare is what the polynomial can differ from the cubic of s.
func (h *hunt) spare(s *stretch) float64 {
	w2 := s.width * s.width
	return h.fourth * w2 * w2 / 384
}

// roof bounds the polynomial on s without a root: a cubic lies below the highest of its
// four control points (convex hull of a Bézier curve).
func (h *hunt) roof(s *stretch) float64 {
	return max(s.va, s.vb, s.va+s.sa*s.width/3, s.vb-s.sb*s.width/3) + h.spare(s)
}

// rate finds the largest value of the cubic through the ends of s and adds what the
// polynomial can differ from it.
func (h *hunt) rate(s *stretch) {
	a, b, end := s.va, float64(s.sa*s.width), float64(s.sb*s.width)
	c := float64(3*(s.vb-s.va)) - 2*b - end
	d := 2*(s.va-s.vb) + b + end
	top, where := s.va, 0.0
	if s.vb > top {
		top, where = s.vb, 1
	}
	// b + 2cx + 3dx² = 0, the roots without cancellation.
	if disc := float64(c*c) - float64(3*d*b); disc >= 0 {
		q := -(c + math.Copysign(math.Sqrt(disc), c))
		for _, x := range [2]float64{q / (3 * d), b / q} {
			if x > 0 && x < 1 {
				if y := a + float64(x*(b+float64(x*(c+float64(x*d))))); y > top {
					top, where = y, x
				}
			}
		}
	}
	s.top = top + h.spare(s)
	// Never a sliver: each part keeps a tenth of the width at least.
	s.where = min(max(where, 0.1), 0.9)
}
