package plan

import (
	"math"
	"slices"
)

// narrowest returns the least conducting width of all sections across the bar, and
// a z that has it. Between the places where a cut begins or ends, what the cuts
// take away is a concave function of z, so its largest value is found by halving.
func (d *Drawing) narrowest(p *parts) (widthM, alongM float64) {
	var marks []float64
	mark := func(z float64) {
		if z >= d.FromM && z <= d.ToM {
			marks = append(marks, z)
		}
	}
	for _, side := range [][]step{p.left, p.right} {
		for _, s := range side {
			mark(s.fromM)
			mark(s.toM)
		}
	}
	for _, h := range p.rounds {
		mark(h.fromM - h.radius)
		mark(h.fromM)
		mark(h.toM)
		mark(h.toM + h.radius)
	}
	mark(d.FromM)
	mark(d.ToM)
	slices.Sort(marks)
	widthM, alongM = d.WidthM, max(d.FromM, min(d.ToM, 0))
	try := func(z, w float64) {
		if w < widthM*(1-1e-12) {
			widthM, alongM = w, z
		}
	}
	for i := 1; i < len(marks); i++ {
		lo, hi := marks[i-1], marks[i]
		if !(hi > lo) {
			continue
		}
		edge := p.stepsTake((lo + hi) / 2)
		left := func(z float64) float64 {
			w := d.WidthM - edge
			for _, h := range p.rounds {
				w -= h.chordM(z)
			}
			return w
		}
		// The middle first, so that a neck is named by its middle.
		try((lo+hi)/2, left((lo+hi)/2))
		try(lo, left(lo))
		try(hi, left(hi))
		// Golden section (J. Kiefer, Proc. Amer. Math. Soc. 4 (1953) 502; from memory).
		g := (math.Sqrt(5) - 1) / 2
		a, b := lo, hi
		for range 60 {
			u, v := b-float64(g*(b-a)), a+float64(g*(b-a))
			if left(u) <= left(v) {
				b = v
			} else {
				a = u
			}
		}
		try((a+b)/2, left((a+b)/2))
	}
	return widthM, alongM
}

// stepsTake returns what necks and notches take from the section at z.
func (p *parts) stepsTake(z float64) float64 {
	sum := 0.0
	for _, side := range [][]step{p.left, p.right} {
		for _, s := range side {
			if z >= s.fromM && z <= s.toM {
				sum += s.depthM
			}
		}
	}
	return sum
}
