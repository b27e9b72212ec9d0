package field

import (
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// middleOf returns the middle of the bars in use: those that a duty gives a current and those at which a
// sensor stands. A bar that does nothing says nothing of where the surroundings are. Where nothing is in
// use, all count.
func middleOf(l *layout.Layout) geom.Point {
	used := make([]bool, len(l.Bars))
	for i := range l.Duties {
		for _, b := range l.CarryingBars(&l.Duties[i]) {
			used[b] = true
		}
	}
	for i := range l.Sensors {
		used[l.Sensors[i].Reads] = true
	}
	var inUse, all geom.Point
	n := 0
	for b := range l.Bars {
		c := l.Bars[b].Centre()
		if all = all.Add(c); used[b] {
			inUse = inUse.Add(c)
			n++
		}
	}
	if n == 0 {
		return all.Scale(1 / float64(max(1, len(l.Bars))))
	}
	return inUse.Scale(1 / float64(n))
}
