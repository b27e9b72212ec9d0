package laws

import (
	"maps"
	"math"
	"math/cmplx"
	"slices"
)

// only keeps the tones of which want is true; shapes go.
func (f *stream) only(want func(t tone) bool) *stream {
	out := &stream{direct: f.direct, kappa: 1}
	for _, g := range f.groups {
		kept := group{ripple: g.ripple}
		for _, t := range g.tones {
			if want(t) {
				kept.tones = append(kept.tones, t)
			}
		}
		if len(kept.tones) > 0 {
			out.groups = append(out.groups, kept)
		}
	}
	return out
}

// plain says that phasors tell all of it.
func (f *stream) plain() bool {
	for _, g := range f.groups {
		if len(g.shapes) > 0 {
			return false
		}
	}
	return true
}

// sum of carriers, each times a factor, over the angle of the group.
func (g *group) sum(per map[string]float64) func(rad float64) float64 {
	phasors := make([]complex128, len(g.tones))
	for i, t := range g.tones {
		for _, id := range sortedIDs(t.amps) {
			phasors[i] += t.amps[id] * complex(per[id], 0)
		}
	}
	ids := sortedIDs(g.shapes)
	return func(rad float64) float64 {
		b := 0.0
		for i, v := range phasors {
			sin, cos := math.Sincos(g.tones[i].order * rad)
			b += real(v)*cos - imag(v)*sin
		}
		for _, id := range ids {
			b += per[id] * g.shapes[id](rad)
		}
		return b
	}
}

// amplitude of the first tone of such a sum.
func (g *group) amplitude(per map[string]float64) float64 {
	var v complex128
	for _, id := range sortedIDs(g.tones[0].amps) {
		v += g.tones[0].amps[id] * complex(per[id], 0)
	}
	return cmplx.Abs(v)
}

// highest is the largest value, times sign, that a sum of carriers takes at any time, each times a factor. The decaying
// offset of a fault starts as the negative of what the alternating current would have been then, so that a half wave
// rides on an offset of up to the crest of the other.
func (f *stream) highest(per map[string]float64, sign float64) float64 {
	total := 0.0
	for _, id := range sortedIDs(f.direct) {
		total += sign * f.direct[id] * per[id]
	}
	for i := range f.groups {
		g := &f.groups[i]
		tops, bottoms, mean, at := math.Inf(-1), math.Inf(-1), 0.0, g.sum(per)
		instants := 2000
		if len(g.shapes) == 0 && len(g.tones) == 1 && g.tones[0].order > 0 {
			tops, bottoms, instants = g.amplitude(per), g.amplitude(per), 0
		}
		for k := range instants {
			v := sign * at(2*math.Pi*float64(k)/float64(instants))
			tops, bottoms, mean = math.Max(tops, v), math.Max(bottoms, -v), mean+v/float64(instants)
		}
		if !g.ripple {
			tops += (f.kappa - 1) * math.Max(tops-mean, bottoms+mean)
		}
		total += tops
	}
	return total
}

// crest is the largest magnitude.
func (f *stream) crest(per map[string]float64) float64 {
	return math.Max(f.highest(per, 1), f.highest(per, -1))
}

// meanSquare of a sum of carriers over all time; an offset that decays does not count.
func (f *stream) meanSquare(per map[string]float64) float64 {
	direct := 0.0
	for _, id := range sortedIDs(f.direct) {
		direct += f.direct[id] * per[id]
	}
	squares := direct * direct
	for i := range f.groups {
		const instants = 2000
		mean, square, at := 0.0, 0.0, f.groups[i].sum(per)
		for k := range instants {
			b := at(2 * math.Pi * (float64(k) + 0.5) / instants)
			mean, square = mean+b/instants, square+b*b/instants
		}
		squares += square + 2*direct*mean
	}
	return squares
}

// lines are all tones, the direct one first.
func (f *stream) lines() []tone {
	direct := tone{amps: map[string]complex128{}}
	for id, a := range f.direct {
		direct.amps[id] = complex(a, 0)
	}
	out := []tone{direct}
	for _, g := range f.groups {
		out = append(out, g.tones...)
	}
	return out
}

func sortedIDs[V any](m map[string]V) []string {
	return slices.Sorted(maps.Keys(m))
}
