package field

import (
	"math"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space"
	"busgauss/model/space/iron"
)

// profile says along a bar what field iron in space adds in its metal, for each bar as a source, in shapes whose
// answer of eddy currents is known from the section: what endless iron adds, and a uniform field across and along the
// section. At steady current, S(z) in space and P_k the shapes at places of the metal, Σ w_k(z) P_k is nearest to S(z).
//
// Eddy currents answer to that field. Where it changes along z over lengths like the width 2a of the bar they have to
// turn round sooner: a thin strip under cos κz answers by 3/(κa)² (1 − tanh(κa)/κa), nearly 1/(1+(ℓκ)²) with
// ℓ = a √(2/5), which is w smoothed by exp(−|z|/ℓ)/2ℓ (from ∇²ψ = jωσB, ψ = 0 at the edges, while the currents do
// not hinder the field; P. Hammond, Proc. IEE C 109 (1962) 508, eddy currents in plates, from memory).
type profile struct {
	midM   float64   // of the iron that is nearest to the bar
	depthM float64   // of it
	edgeM  []float64 // half heights of boxes about midM, each in the next
	w      []boxes   // of each source
	smooth []boxes   // w smoothed
	rest   []float64 // what of S is in no shape, over what endless iron adds, for each source
}

// Shapes of the field that iron adds.
const (
	asEndless = iota // what it adds in the section
	alongX           // uniform
	alongY
	shapes
)

// boxes are weights of each shape in each box, such that those of boxes that hold a place add up.
type boxes [shapes][]float64

// edgeSteps are where the boxes end, in half the width of the iron from its end.
var edgeSteps = []float64{-2, -1.2, -0.6, -0.2, 0.2, 0.6, 1.2, 2}

// fitAt are the places of the metal along the longer side, over its half.
var fitAt = []float64{-0.8, -0.4, 0, 0.4, 0.8}

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
	p := &profile{midM: near.At.Z.V, depthM: near.DepthM.V}
	for _, s := range edgeSteps {
		if e := near.DepthM.V/2 + s*outerM(near)/2; e > 0.15*near.DepthM.V/2 {
			p.edgeM = append(p.edgeM, e)
		}
	}
	half := b.SectionCorners().Box().Size().Scale(0.5)
	for src := range l.Bars {
		w, rest := p.fit(in, still, b, src)
		var raw, smooth boxes
		for k := range w {
			raw[k] = nested(w[k])
			smooth[k] = nested(p.smoothed(w[k], math.Max(half.X, half.Y)*math.Sqrt(0.4)))
		}
		p.w, p.smooth, p.rest = append(p.w, raw), append(p.smooth, smooth), append(p.rest, rest)
	}
	return p
}

// fit returns w of each shape in each shell. A part of the field drives loops that are as wide as the
// section across it: it counts by that width.
func (p *profile) fit(in *spaceField, still *fem.Solution, b *layout.Bar, src int) (w boxes, rest float64) {
	box := b.SectionCorners().Box()
	half, centre := box.Size().Scale(0.5), box.Min.Add(box.Max).Scale(0.5)
	side := geom.Point{X: half.X}
	if half.Y > half.X {
		side = geom.Point{Y: half.Y}
	}
	driving := func(v geom.Point) geom.Point {
		v = v.Rotate(-b.TurnRad.V)
		return geom.Point{X: v.X * half.Y, Y: v.Y * half.X}
	}
	var at []geom.Point
	var shape [shapes][]geom.Point
	square := 0.0
	for _, f := range fitAt {
		q := b.At.Point().Add(centre.Add(side.Scale(f)).Rotate(b.TurnRad.V))
		x, y := still.RoughReaction(q, src)
		at = append(at, q)
		for k, v := range [shapes]geom.Point{asEndless: {X: x, Y: y}, alongX: {X: 1}, alongY: {Y: 1}} {
			shape[k] = append(shape[k], driving(v))
		}
		v := shape[asEndless][len(at)-1]
		square += v.Dot(v)
	}
	for k := range w {
		w[k] = make([]float64, len(p.edgeM))
	}
	if square == 0 {
		return w, 0
	}
	left := 0.0
	for j := range p.edgeM {
		z := p.edgeM[j] / 2
		if j > 0 {
			z = (p.edgeM[j-1] + p.edgeM[j]) / 2
		}
		s := make([]geom.Point, len(at)) // the mean of both sides
		for i, q := range at {
			for _, sign := range []float64{-1, 1} {
				r := geom.Point3{X: q.X, Y: q.Y, Z: p.midM + float64(sign*z)}
				v, _ := in.iron.B(r, src)
				air, _ := in.bars[src].B(r)
				s[i] = s[i].Add(driving(v.Sub(air).XY()).Scale(0.5))
			}
		}
		for k, f := range nearest(&shape, s) {
			w[k][j] = f
			for i := range s {
				s[i] = s[i].Sub(shape[k][i].Scale(f))
			}
		}
		for _, v := range s {
			left += v.Dot(v) / square
		}
	}
	return w, math.Sqrt(left / float64(len(p.edgeM)))
}

// nearest returns the weights of shapes whose sum is nearest to s, by orthogonal parts; a shape that is
// nearly made of those before it gets nothing.
func nearest(shape *[shapes][]geom.Point, s []geom.Point) (w [shapes]float64) {
	dot := func(a, b []geom.Point) (sum float64) {
		for i := range a {
			sum += a[i].Dot(b[i])
		}
		return sum
	}
	var base [shapes][]geom.Point
	var of [shapes][shapes]float64 // base in shapes
	for k := range shape {
		base[k] = append([]geom.Point(nil), shape[k]...)
		of[k][k] = 1
		for j := range k {
			n := dot(base[j], base[j])
			if n == 0 {
				continue
			}
			f := dot(base[j], base[k]) / n
			for i := range base[k] {
				base[k][i] = base[k][i].Sub(base[j][i].Scale(f))
			}
			for m := range of[k] {
				of[k][m] -= float64(f * of[j][m])
			}
		}
		if n := dot(base[k], base[k]); n < 1e-3*dot(shape[k], shape[k]) {
			clear(base[k])
			continue
		}
		f := dot(base[k], s) / dot(base[k], base[k])
		for m := range w {
			w[m] += float64(f * of[k][m])
		}
	}
	return w
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
			sum += portable.Exp(-x) * (at(z+float64(x*lengthM)) + at(z-float64(x*lengthM))) / 2 * reach / steps
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
func (p *profile) between(b int, late float64) (out boxes) {
	step := p.step(b)
	for k := range out {
		for j, v := range p.smooth[b][k] {
			out[k] = append(out[k], v+float64(late*step[k][j]))
		}
	}
	return out
}

// step returns the boxes of what smoothing takes from source b.
func (p *profile) step(b int) (out boxes) {
	for k := range out {
		for j, v := range p.w[b][k] {
			out[k] = append(out[k], v-p.smooth[b][k][j])
		}
	}
	return out
}

// whole returns the boxes of all that endless iron adds, along the depth of the iron.
func (p *profile) whole() (out boxes) {
	for k := range out {
		out[k] = make([]float64, len(p.edgeM))
	}
	for j, e := range p.edgeM {
		if e <= p.depthM/2 || j == 0 {
			clear(out[asEndless])
			out[asEndless][j] = 1
		}
	}
	return out
}

// value returns the sum of box weights at height zM.
func (p *profile) value(of []float64, zM float64) float64 {
	sum := 0.0
	for j, e := range p.edgeM {
		if math.Abs(zM-p.midM) < e {
			sum += of[j]
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
