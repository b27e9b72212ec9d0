package figure

import (
	"math"

	"busgauss/model/geom"
)

// A tracer follows one level over a grid. It knows three kinds of points, each
// with a number: where the level crosses a level edge of the grid, where it
// crosses an upright one, and the samples themselves. Points of neighbouring
// cells that are the same have the same number, so cells join without comparing
// coordinates.
//
// The method is marching squares with linear interpolation on the edges
// (W. E. Lorensen, H. E. Cline, Marching Cubes, Computer Graphics 21 (1987), in
// its plane form). In a saddle cell the two high corners are joined.
type tracer struct {
	g     Grid
	level float64
	upper int // number of the first upright edge
	node  int // number of the first sample
}

func newTracer(g Grid, level float64) tracer {
	across := (g.NX - 1) * g.NY
	return tracer{g: g, level: level, upper: across, node: across + g.NX*(g.NY-1)}
}

// valid reports whether g has cells; a length that does not fit is our own
// mistake.
func (g Grid) valid() bool {
	if len(g.Value) != g.NX*g.NY {
		panic("figure: grid length does not fit")
	}
	size := g.BoxM.Size()
	return g.NX > 1 && g.NY > 1 && placed(g.BoxM.Min, g.BoxM.Max) && size.X > 0 && size.Y > 0
}

// known reports whether all four corners of cell i, j are numbers.
func (g Grid) known(i, j int) bool {
	if i < 0 || j < 0 || i >= g.NX-1 || j >= g.NY-1 {
		return false
	}
	k := j*g.NX + i
	return drawable(g.Value[k], false) && drawable(g.Value[k+1], false) && drawable(g.Value[k+g.NX], false) && drawable(g.Value[k+g.NX+1], false)
}

// A step is a piece of boundary, its high side on the left.
type step struct{ from, to int }

// steps returns the pieces of the level inside the known cells and, if rim, those
// of the edge of the known area where it is at the level or above.
func (t tracer) steps(rim bool) []step {
	var out []step
	g := t.g
	for j := range g.NY - 1 {
		for i := range g.NX - 1 {
			if !g.known(i, j) {
				continue
			}
			k := j*g.NX + i
			corner := [4]int{k, k + 1, k + g.NX + 1, k + g.NX}
			side := [4]int{j*(g.NX-1) + i, t.upper + k + 1, (j+1)*(g.NX-1) + i, t.upper + k}
			beside := [4][2]int{{i, j - 1}, {i + 1, j}, {i, j + 1}, {i - 1, j}}
			var high [4]bool
			for n, c := range corner {
				high[n] = g.Value[c] >= t.level
			}
			entered, left := -1, -1 // first way in not yet joined, last way out
			for n := range 4 {
				m := (n + 1) % 4
				edge := rim && !g.known(beside[n][0], beside[n][1])
				switch {
				case high[n] && high[m]:
					if edge {
						out = append(out, step{t.node + corner[n], t.node + corner[m]})
					}
				case high[n]:
					if edge {
						out = append(out, step{t.node + corner[n], side[n]})
					}
					left = side[n]
				case high[m]:
					if edge {
						out = append(out, step{side[n], t.node + corner[m]})
					}
					if left >= 0 {
						out = append(out, step{left, side[n]})
						left = -1
					} else {
						entered = side[n]
					}
				}
			}
			if left >= 0 && entered >= 0 {
				out = append(out, step{left, entered})
			}
		}
	}
	return out
}

// at returns the place of point n.
func (t tracer) at(n int) geom.Point {
	g := t.g
	var i, j, f float64
	var a, b int
	switch {
	case n >= t.node:
		n -= t.node
		return g.place(float64(n%g.NX), float64(n/g.NX))
	case n >= t.upper:
		a = n - t.upper
		b = a + g.NX
		f = t.share(a, b)
		i, j = float64(a%g.NX), float64(a/g.NX)+f
	default:
		row, col := n/(g.NX-1), n%(g.NX-1)
		a = row*g.NX + col
		b = a + 1
		f = t.share(a, b)
		i, j = float64(col)+f, float64(row)
	}
	return g.place(i, j)
}

func (t tracer) share(a, b int) float64 {
	va, vb := t.g.Value[a], t.g.Value[b]
	return min(max((t.level-va)/(vb-va), 0), 1)
}

// place returns the point at column i and row j, which may be broken numbers.
func (g Grid) place(i, j float64) geom.Point {
	size := g.BoxM.Size()
	return geom.Point{
		X: g.BoxM.Min.X + size.X*i/float64(g.NX-1),
		Y: g.BoxM.Min.Y + size.Y*j/float64(g.NY-1),
	}
}

// A curve is a chain of points in metres; of a closed one the first is not
// repeated.
type curve struct {
	points []geom.Point
	closed bool
}

// join chains steps to curves: first those with two ends, then the closed ones,
// each in the order of the cells.
func (t tracer) join(steps []step) []curve {
	total := t.node + len(t.g.Value)
	first := make([]int32, total) // first step from a point, plus one
	next := make([]int32, len(steps))
	into := make([]int16, total)
	for k := len(steps) - 1; k >= 0; k-- {
		next[k] = first[steps[k].from]
		first[steps[k].from] = int32(k + 1)
		into[steps[k].to]++
	}
	var out []curve
	follow := func(start int) {
		c := curve{points: []geom.Point{t.at(start)}}
		at := start
		for first[at] > 0 {
			k := first[at] - 1
			first[at] = next[k]
			at = steps[k].to
			if at == start && first[at] == 0 {
				c.closed = true
				break
			}
			c.points = append(c.points, t.at(at))
		}
		out = append(out, c)
	}
	for _, s := range steps {
		if into[s.from] == 0 && first[s.from] > 0 {
			follow(s.from)
		}
	}
	for _, s := range steps {
		if first[s.from] > 0 {
			follow(s.from)
		}
	}
	return out
}

// isolines returns the curves on which g has the level, the high side on their
// left.
func isolines(g Grid, level float64) []curve {
	if !g.valid() || !finite(level) {
		return nil
	}
	t := newTracer(g, level)
	return t.join(t.steps(false))
}

// above returns the outlines of the known area of g at the level or above it,
// outer ones counter-clockwise, holes clockwise. Minus infinity gives all that is
// known.
func above(g Grid, level float64) []curve {
	if !g.valid() || math.IsNaN(level) {
		return nil
	}
	t := newTracer(g, level)
	return t.join(t.steps(true))
}
