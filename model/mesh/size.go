package mesh

import (
	"math"

	"busgauss/model/geom"
)

// SizeSource asks for small triangles near the straight line from A to B (a point when they are equal).
type SizeSource struct {
	A, B   geom.Point
	SizeM  float64 // longest edge at the line
	Growth float64 // metres of edge gained per metre of distance; 0.3 grades gently
}

// GradedSize returns a size field for Options: the smallest of what the sources ask for,
//
//	h(p) = min over sources of SizeM + Growth·distance,
//
// and of farM, in metres, where farM above zero is the size far from all. Regions make no difference.
func GradedSize(sources []SizeSource, farM float64) func(geom.Point, RegionID) float64 {
	return func(p geom.Point, _ RegionID) float64 {
		h := math.Inf(1)
		if farM > 0 {
			h = farM
		}
		for i := range sources {
			s := &sources[i]
			if s.SizeM >= h {
				continue
			}
			u, v := s.B.Sub(s.A), p.Sub(s.A)
			f := 0.0
			if l2 := u.Dot(u); l2 > 0 {
				f = math.Min(math.Max(v.Dot(u)/l2, 0), 1)
			}
			dx, dy := v.X-float64(f*u.X), v.Y-float64(f*u.Y)
			h = math.Min(h, s.SizeM+float64(s.Growth*math.Sqrt(float64(dx*dx)+float64(dy*dy))))
		}
		return h
	}
}
