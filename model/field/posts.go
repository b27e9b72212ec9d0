package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// posts are the places in the section of a bar between which eddy currents of the bar are
// shared out, so that a few lines along the bar have the field of many: see newPosts.
type posts struct {
	at     []geom.Point
	shares func(p geom.Point) []float64 // of a line at p: one a post, they add up to 1
}

const (
	postsError = 1e-2 // of the field of the eddy currents of a bar, at its nearest point of interest
	mostPosts  = 24   // along one side, or round
)

// newPosts returns the posts of bar b for the given points of interest.
//
// The field of a line beside a point is an analytic function of its place in the section.
// In a rectangle, or the box about an outline, it is interpolated between Chebyshev points along both sides,
// n of which err as ϱ⁻ⁿ, ϱ of the ellipse through the nearest place where the function is singular. Outside
// a round bar it hangs on the moments Σ I (x + jy)^m alone, which n lines on its rim have for m < n/2.
//
// Source: L. N. Trefethen, Approximation Theory and Approximation Practice, SIAM 2013, theorem 8.2
// (from memory).
func newPosts(b *layout.Bar, nearM float64) posts {
	if b.Section.Kind == layout.Round {
		return rimPosts(b, nearM)
	}
	return gridPosts(b, nearM)
}

// coverOf returns what the posts of b stand in: its section, or the box about an outline, in the
// frame of the section.
func coverOf(b *layout.Bar) geom.Polygon {
	if b.Section.Kind != layout.Outline {
		return b.SectionCorners()
	}
	box := b.Section.Corners.Box()
	return geom.Polygon{box.Min, {X: box.Max.X, Y: box.Min.Y}, box.Max, {X: box.Min.X, Y: box.Max.Y}}
}

func gridPosts(b *layout.Bar, nearM float64) posts {
	box := coverOf(b).Box()
	half, centre := box.Size().Scale(0.5), box.Centre()
	u, v := postRoots(nearM/half.X), postRoots(nearM/half.Y)
	out := posts{}
	for _, y := range v {
		for _, x := range u {
			p := geom.Point{X: x * half.X, Y: y * half.Y}.Add(centre)
			out.at = append(out.at, p.Rotate(b.TurnRad.V).Add(b.At.Point()))
		}
	}
	out.shares = func(p geom.Point) []float64 {
		l := p.Sub(b.At.Point()).Rotate(-b.TurnRad.V).Sub(centre)
		wu, wv := lagrange(u, l.X/half.X), lagrange(v, l.Y/half.Y)
		s := make([]float64, 0, len(out.at))
		for _, y := range wv {
			for _, x := range wu {
				s = append(s, x*y)
			}
		}
		return s
	}
	return out
}

// postRoots returns the roots of the Chebyshev polynomial of as many points as a singularity
// at the imaginary distance asks for, in half widths.
func postRoots(distance float64) []float64 {
	rho := distance + portable.Hypot(1, distance)
	n := min(max(3, int(math.Ceil(-portable.Log(postsError)/portable.Log(rho)))), mostPosts)
	out := make([]float64, n)
	for i := range out {
		out[i] = portable.Cos(math.Pi * (float64(i) + 0.5) / float64(n))
	}
	return out
}

// lagrange returns the values at x of the polynomials that are 1 at one node and 0 at the
// others.
func lagrange(nodes []float64, x float64) []float64 {
	out := make([]float64, len(nodes))
	for i := range nodes {
		out[i] = 1
		for j := range nodes {
			if j != i {
				out[i] *= (x - nodes[j]) / (nodes[i] - nodes[j])
			}
		}
	}
	return out
}

func rimPosts(b *layout.Bar, nearM float64) posts {
	a := b.Section.DiameterM.V / 2
	n := 2*min(max(3, int(math.Ceil(-portable.Log(postsError)/portable.Log1p(nearM/a)))), mostPosts) + 1
	out := posts{}
	for i := range n {
		s, c := portable.Sincos(2 * math.Pi * float64(i) / float64(n))
		out.at = append(out.at, b.At.Point().Add(geom.Point{X: a * c, Y: a * s}))
	}
	out.shares = func(p geom.Point) []float64 {
		d := p.Sub(b.At.Point())
		r, angle := d.Norm()/a, portable.Atan2(d.Y, d.X)
		s := make([]float64, n)
		for i := range s {
			turn := angle - 2*math.Pi*float64(i)/float64(n)
			sum, power := 1.0, 1.0
			for m := 1; m <= n/2; m++ {
				power = float64(power * r)
				sum += float64(2 * power * portable.Cos(float64(m)*turn))
			}
			s[i] = sum / float64(n)
		}
		return s
	}
	return out
}
