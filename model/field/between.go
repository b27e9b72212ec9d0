package field

import (
	"math"
	"slices"
)

// sampled is a value at a time.
type sampled struct{ timeS, value float64 }

// peaked is the largest of samples of a periodic quantity, and what it may be between
// them.
type peaked struct {
	samples   []sampled
	top, roof float64
}

// between finds the largest value of a periodic quantity from samples at equal steps over
// one period and further ones where it may be larger: see Model.StatePeak. The quantity is
// not negative.
func between(timesS []float64, periodS float64, value func(timeS float64) (float64, error)) (peaked, error) {
	var out peaked
	for _, t := range timesS {
		v, err := value(t)
		if err != nil {
			return out, err
		}
		out.samples = append(out.samples, sampled{t, v})
	}
	for halved := 0; ; halved++ {
		worst := out.review(periodS)
		if !(out.roof > out.top*(1+wallSpare)) || halved == mostHalvings {
			return out, nil
		}
		a, b := out.samples[worst], out.samples[(worst+1)%len(out.samples)]
		at := (a.timeS + b.timeS) / 2
		if worst == len(out.samples)-1 {
			at += periodS / 2
		}
		v, err := value(at)
		if err != nil {
			return out, err
		}
		out.samples = slices.Insert(out.samples, worst+1, sampled{at, v})
	}
}

// review sets top and roof and returns the stretch, by its first sample, whose bound is
// largest.
func (p *peaked) review(periodS float64) (worst int) {
	n := len(p.samples)
	step := func(i int) float64 { // from sample i to the next
		d := p.samples[(i+1)%n].timeS - p.samples[i].timeS
		if i == n-1 {
			d += periodS
		}
		return d
	}
	curve := make([]float64, n)
	p.top = 0
	for i := range p.samples {
		before, after := p.samples[(i+n-1)%n].value, p.samples[(i+1)%n].value
		h, k := step((i+n-1)%n), step(i)
		v := p.samples[i].value
		curve[i] = 2 * math.Abs((after-v)/k-(v-before)/h) / (h + k)
		p.top = math.Max(p.top, v)
	}
	p.roof = p.top
	for i := range p.samples {
		j := (i + 1) % n
		c := math.Max(math.Max(curve[i], curve[j]), math.Max(curve[(i+n-1)%n], curve[(j+1)%n]))
		h := step(i)
		if roof := math.Max(p.samples[i].value, p.samples[j].value) + 2*c*h*h/8; roof > p.roof {
			p.roof, worst = roof, i
		}
	}
	return worst
}
