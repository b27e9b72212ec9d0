package field

import (
	"math"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/space"
	"busgauss/model/space/iron"
)

// profile says along a bar how much of what endless iron does to the field in its metal the iron in
// space does, for each bar as a source. At steady current, S in space and P in the section the
// field that iron adds at places of the metal,
//
//	w(z) = S(z)·P / P·P
//
// Eddy currents answer to that field. Where it changes along z over lengths like the width 2a of the bar they have to
// turn round sooner: a thin strip under cos κz answers by 3/(κa)² (1 − tanh(κa)/κa), nearly 1/(1+(ℓκ)²) with
// ℓ = a √(2/5), which is w smoothed by exp(−|z|/ℓ)/2ℓ (exact while the currents do not hinder the field; P. Hammond,
// Proc. IEE C 109 (1962) 508, eddy currents in plates, from memory).
type profile struct {
	midM   float64
	edgeM  []float64 // half heights of boxes about midM, each in the next
	w      [][]float64
	smooth [][]float64 // w smoothed; both of each source, box by box, such that they add up
	rest   []float64   // what of S is not along P, over P, for each source
}

// edgeSteps are where the boxes end, in half the width of the iron from its end.
var edgeSteps = []float64{-2, -1.2, -0.6, -0.2, 0.2, 0.6, 1.2, 2}

// fitAt are the places of the metal along the longer side, over its half.
var fitAt = []float64{-0.6, 0, 0.6}

// newProfile fits the profile of bar k; still is the section at steady current.
func newProfile(l *layout.Layout, in *spaceField, still *fem.Solution, k int) *profile {
	b := &l.Bars[k]
	var near *layout.Shield
	least := math.Inf(1)
	for i := range l.Shields {
		if in.piece[i] < 0 {
			continue
		}
		if d := l.Shields[i].Region().DistanceM(b.Centre()); d < least {
			near, least = &l.Shields[i], d
		}
	}
	p := &profile{midM: near.At.Z.V}
	for _, s := range edgeSteps {
		if e := near.DepthM.V/2 + s*outerM(near)/2; e > 0.15*near.DepthM.V/2 {
			p.edgeM = append(p.edgeM, e)
		}
	}
	box := b.SectionCorners().Box()
	side := geom.Point{X: box.Size().X / 2}
	if box.Size().Y > box.Size().X {
		side = geom.Point{Y: box.Size().Y / 2}
	}
	for src := range l.Bars {
		w, rest := p.fit(in, still, b, src, side)
		s := p.smoothed(w, side.Norm()*math.Sqrt(0.4))
		p.w, p.smooth, p.rest = append(p.w, nested(w)), append(p.smooth, nested(s)), append(p.rest, rest)
	}
	return p
}

// fit returns w in each shell between two boxes.
func (p *profile) fit(in *spaceField, still *fem.Solution, b *layout.Bar, src int, side geom.Point) (w []float64, rest float64) {
	w = make([]float64, len(p.edgeM))
	centre := b.SectionCorners().Box().Min.Add(b.SectionCorners().Box().Max).Scale(0.5)
	var at, plane []geom.Point
	square := 0.0
	for _, f := range fitAt {
		q := b.At.Point().Add(centre.Add(side.Scale(f)).Rotate(b.TurnRad.V))
		x, y := still.RoughReaction(q, src)
		at, plane = append(at, q), append(plane, geom.Point{X: x, Y: y})
		square += x*x + y*y
	}
	if square == 0 {
		return w, 0
	}
	left, count := 0.0, 0.0
	for j := range w {
		z := p.edgeM[j] / 2
		if j > 0 {
			z = (p.edgeM[j-1] + p.edgeM[j]) / 2
		}
		var s []geom.Point
		for i, q := range at {
			for _, sign := range []float64{-1, 1} {
				r := geom.Point3{X: q.X, Y: q.Y, Z: p.midM + sign*z}
				v, _ := in.iron.B(r, src)
				air, _ := in.bars[src].B(r)
				s = append(s, v.Sub(air).XY())
				w[j] += s[len(s)-1].Dot(plane[i]) / (2 * square)
			}
		}
		for i := range s {
			d := s[i].Sub(plane[i/2].Scale(w[j]))
			left += d.Dot(d) / (2 * square)
		}
		count++
	}
	return w, math.Sqrt(left / count)
}

// smoothed returns w smoothed over a length, w going straight from shell to shell and to
// nothing at the last edge.
func (p *profile) smoothed(w []float64, lengthM float64) []float64 {
	last := p.edgeM[len(p.edgeM)-1]
	at := func(z float64) float64 { // w at a height over the middle
		z = math.Abs(z)
		low, from := p.edgeM[0]/2, w[0]
		if z <= low {
			return from
		}
		for j := 1; j <= len(w); j++ {
			high, to := last, 0.0
			if j < len(w) {
				high, to = (p.edgeM[j-1]+p.edgeM[j])/2, w[j]
			}
			if z <= high {
				return from + (to-from)*(z-low)/(high-low)
			}
			low, from = high, to
		}
		return 0
	}
	out := make([]float64, len(w))
	low := 0.0
	for j := range out {
		const steps, reach = 60, 6
		z := (low + p.edgeM[j]) / 2
		sum := 0.0
		for i := range steps { // over x = z'−z in units of the length, by the middle of each step
			x := reach * (float64(i) + 0.5) / steps
			sum += math.Exp(-x) * (at(z+x*lengthM) + at(z-x*lengthM)) / 2 * reach / steps
		}
		out[j] = sum
		low = p.edgeM[j]
	}
	return out
}

// nested turns values of shells into weights of boxes that add up to them.
func nested(w []float64) []float64 {
	out := make([]float64, len(w))
	for j := range w {
		out[j] = w[j]
		if j+1 < len(w) {
			out[j] -= w[j+1]
		}
	}
	return out
}

// between returns the boxes of source b where late of its eddy currents is in phase with the
// drive: smoothed where none is, as it is where the currents shut the field out and need not turn round.
func (p *profile) between(b int, late float64) []float64 {
	out := make([]float64, len(p.edgeM))
	for j := range out {
		out[j] = p.smooth[b][j] + late*(p.w[b][j]-p.smooth[b][j])
	}
	return out
}

// step returns the boxes of what smoothing takes from source b.
func (p *profile) step(b int) []float64 {
	out := make([]float64, len(p.edgeM))
	for j := range out {
		out[j] = p.w[b][j] - p.smooth[b][j]
	}
	return out
}

// value returns the sum of box weights at height zM.
func (p *profile) value(boxes []float64, zM float64) float64 {
	sum := 0.0
	for j, e := range p.edgeM {
		if math.Abs(zM-p.midM) < e {
			sum += boxes[j]
		}
	}
	return sum
}

// stretches returns the loops of strands in each box.
func (p *profile) stretches(c *space.Conductor, s *strands) (out []iron.Loop) {
	for _, e := range p.edgeM {
		for _, at := range s.at {
			g := c.Stretch(at, s.centre, p.midM-e, p.midM+e)
			out = append(out, iron.Loop{B: g.B, PotentialA: g.PotentialA})
		}
	}
	return out
}
