package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// insulated reports whether all iron of l is such that it may be solved with its complex
// permeability, and nothing but bars conducts along z, each by itself.
func insulated(l *layout.Layout) bool {
	if len(l.Bonded) > 0 || extentOf(l).open {
		return false // currents that bonded pieces exchange are those of the section; open iron has two solutions
	}
	for i := range l.Shields {
		if m := &l.Materials[l.Shields[i].Material]; m.SigmaSPerM.V > 0 && !m.SheetM.Set {
			return false
		}
	}
	for i := range l.Bars {
		b := &l.Bars[i]
		if b.SigmaSPerM > 0 && (len(b.Cuts) > 0 || !(ironClearM(l, b) > 0)) {
			return false // the flow round cuts is none of the section; strands in iron have no potential there
		}
	}
	return true
}

// ironClearM returns the distance of the nearest iron from the box about the section of b; 0
// where they overlap.
func ironClearM(l *layout.Layout, b *layout.Bar) float64 {
	var box geom.Polygon
	in := b.SectionCorners().Box()
	for _, p := range []geom.Point{in.Min, {X: in.Max.X, Y: in.Min.Y}, in.Max, {X: in.Min.X, Y: in.Max.Y}} {
		box = append(box, b.At.Point().Add(p.Rotate(b.TurnRad.V)))
	}
	least := math.Inf(1)
	for i := range l.Shields {
		r := l.Shields[i].Region()
		if !l.Materials[l.Shields[i].Material].Magnetic() {
			continue
		}
		if geom.OverlapRegions(r, geom.Solid(box)) {
			return 0
		}
		for _, p := range box {
			least = math.Min(least, r.DistanceM(p))
		}
		for _, ring := range append([]geom.Polygon{r.Outer}, r.Holes...) {
			for _, p := range ring {
				least = math.Min(least, box.DistanceM(p))
			}
		}
	}
	return least
}
