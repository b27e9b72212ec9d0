package mesh

import (
	"math"

	"busgauss/model/geom"
)

// thickness measures how much room there is beside a loop.
type thickness struct {
	pts   []geom.Point // ends and divisions of every curve
	segs  [][2]geom.Point
	loops []int // of each segment
	edges []int
}

func newThickness(in *Input, curves [][]curve) *thickness {
	t := &thickness{}
	wanted := false
	for i := range in.Loops {
		l := &in.Loops[i]
		wanted = wanted || l.Inside.FirstM > 0 || l.Outside.FirstM > 0
	}
	if !wanted {
		return t
	}
	for i := range curves {
		for k := range curves[i] {
			c := &curves[i][k]
			for j := 0; j+1 < len(c.cuts); j++ {
				a, b := c.at(c.cuts[j], 0), c.at(c.cuts[j+1], 0)
				t.pts = append(t.pts, a)
				t.segs = append(t.segs, [2]geom.Point{a, b})
				t.loops, t.edges = append(t.loops, i), append(t.edges, c.edge)
			}
		}
	}
	for _, l := range in.Lines {
		t.pts = append(t.pts, l.A, l.B)
		t.segs = append(t.segs, [2]geom.Point{l.A, l.B})
		t.loops, t.edges = append(t.loops, -1, -1), append(t.edges, -1, -1)
	}
	return t
}

// leftM returns the smallest distance in metres, measured along the left normal of the curves of a loop, to
// any curve that does not adjoin; infinite when there is none. It looks from corners of either party, which
// is exact for straight edges; for arcs from their division points.
func (t *thickness) leftM(curves []curve, loop int) float64 {
	least := math.Inf(1)
	n := len(curves)
	for i := range curves {
		c := &curves[i]
		adjoins := func(j int) bool {
			e := t.edges[j]
			return t.loops[j] == loop && (e == c.edge || e == curves[(i+1)%n].edge || e == curves[(i+n-1)%n].edge)
		}
		tiny := float64(1e-9 * c.lengthM)
		for j, q := range t.pts {
			if adjoins(j) {
				continue
			}
			s := c.position(q)
			if s < -tiny || s > c.lengthM+tiny {
				continue
			}
			foot := c.at(s, 0)
			u := c.tangent(s)
			if depth := u.Cross(q.Sub(foot)); depth > tiny && depth < least {
				least = depth
			}
		}
		for _, s := range c.cuts {
			p, u := c.at(s, 0), c.tangent(s)
			normal := geom.Point{X: -u.Y, Y: u.X}
			for j, g := range t.segs {
				if adjoins(j) {
					continue
				}
				a, b := g[0].Sub(p), g[1].Sub(p)
				sa, sb := normal.Cross(a), normal.Cross(b)
				if (sa > 0) == (sb > 0) {
					continue
				}
				f := sa / (sa - sb)
				if depth := normal.Dot(a.Add(b.Sub(a).Scale(f))); depth > tiny && depth < least {
					least = depth
				}
			}
		}
	}
	return least
}
