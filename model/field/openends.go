package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// endWays is how many times its distance from a sensor a bar that declares neither length nor
// run goes on to either side, at least.
const endWays = 10.0

// openEndsB returns what is missing at p, in T/A, if bar b ends endWays times distanceM to
// either side; nothing where it declares a length or a run. With h that distance and r from bar to p
// (closedform.SegmentB less closedform.FilamentB, for r well below h)
//
//	ΔB = −μ0 r / (4π h²)
//
// which at that distance is half a per cent of the field of the bar.
func openEndsB(l *layout.Layout, distanceM float64, p geom.Point, b layout.BarIndex) geom.Point {
	bar := &l.Bars[b]
	if bar.LengthM.Set || len(bar.Run) > 0 {
		return geom.Point{}
	}
	h := endWays * distanceM
	r := p.Sub(bar.Centre())
	if h == 0 {
		return geom.Point{}
	}
	return geom.Point{X: r.Y, Y: -r.X}.Scale(si.Mu0HPerM / (4 * math.Pi * h * h))
}

// OpenEndsT returns what s may read less per ampere of circuit c because bars that declare no length end
// endWays times their distance from s away, in T/A on its axes.
func (f *Field) OpenEndsT(s *layout.Sensor, c layout.CircuitIndex) float64 {
	elements := s.Elements()
	_, axis := f.shares.ends(c, func(b layout.BarIndex) (whole, axis float64) {
		mean := 0.0 // of the elements from the bar
		for _, e := range elements {
			mean += e.At.XY().Sub(f.layout.Bars[b].Centre()).Norm() / float64(len(elements))
		}
		for _, e := range elements {
			m := openEndsB(f.layout, mean, e.At.XY(), b).Scale(e.Weight)
			axis += float64(m.X*e.U.X) + float64(m.Y*e.U.Y)
		}
		return 0, math.Abs(axis)
	})
	return axis
}
