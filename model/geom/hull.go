package geom

import (
	"cmp"
	"slices"
)

// Hull returns the smallest convex polygon that holds all points, counter-clockwise,
// without corners on its sides; fewer than three corners where all points lie on
// a line. The list is not changed.
//
// Source: A. M. Andrew, Another efficient algorithm for convex hulls in two
// dimensions, Inf. Proc. Lett. 9 (1979) 216-219 (from memory).
func Hull(points []Point) Polygon {
	sorted := slices.Clone(points)
	slices.SortFunc(sorted, func(a, b Point) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y))
	})
	sorted = slices.Compact(sorted)
	if len(sorted) < 3 {
		return sorted
	}
	half := func(next func(i int) Point) Polygon {
		var out Polygon
		for i := range sorted {
			p := next(i)
			for n := len(out); n >= 2 && out[n-1].Sub(out[n-2]).Cross(p.Sub(out[n-1])) <= 0; n-- {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := half(func(i int) Point { return sorted[i] })
	upper := half(func(i int) Point { return sorted[len(sorted)-1-i] })
	return append(lower, upper...)
}
