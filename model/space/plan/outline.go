package plan

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// leadWidths is how far the plan is drawn beyond its cuts: the flow evens out as
// e^(−πz/w) (the slowest mode of a strip, across to which it is skew), to 1e-4 of the
// deviation at three widths, and as its square in the resistance.
const leadWidths = 3.5

// Outline returns the plan of d, X across and Y along. An end at infinity is drawn
// 3.5 widths beyond the last cut. Steps that reach an end are merged with it; round
// rims are polygons of the same area. What cannot be drawn is an error: a *CutError
// where one cut or two are to blame.
func Outline(d Drawing) (geom.Region, error) {
	p, err := d.parts()
	if err != nil {
		return geom.Region{}, err
	}
	near, far := d.window(p)
	if !math.IsInf(d.FromM, 0) {
		near = d.FromM
	}
	if !math.IsInf(d.ToM, 0) {
		far = d.ToM
	}
	r, _, _, err := d.outline(p, near, far)
	return r, err
}

// window returns the part of the bar that has to be meshed.
func (d *Drawing) window(p *parts) (nearM, farM float64) {
	first, last := math.Inf(1), math.Inf(-1)
	for _, side := range [][]step{p.left, p.right} {
		for _, s := range side {
			first, last = min(first, s.fromM), max(last, s.toM)
		}
	}
	for _, r := range p.rounds {
		first, last = min(first, r.fromM-r.radius), max(last, r.toM+r.radius)
	}
	if first > last {
		first, last = max(d.FromM, min(d.ToM, 0)), min(d.ToM, max(d.FromM, 0))
	}
	lead := float64(leadWidths * d.WidthM)
	// A rest shorter than half a width is not worth a piece of its own.
	nearM, farM = first-lead, last+lead
	if nearM < d.FromM+d.WidthM/2 {
		nearM = d.FromM
	}
	if farM > d.ToM-d.WidthM/2 {
		farM = d.ToM
	}
	return nearM, farM
}

// outline returns the plan from nearM to farM with the numbers of the edges where
// the current enters and leaves.
func (d *Drawing) outline(p *parts, nearM, farM float64) (r geom.Region, entry, exit int, err error) {
	for _, side := range [][]step{p.left, p.right} {
		slices.SortStableFunc(side, func(a, b step) int {
			switch {
			case a.fromM < b.fromM:
				return -1
			case a.fromM > b.fromM:
				return 1
			}
			return 0
		})
	}
	if err := d.stepsMeet(p); err != nil {
		return r, 0, 0, err
	}
	tol := leastCut * d.WidthM
	left := profile(p.left, nearM, farM, tol)
	right := profile(p.right, nearM, farM, tol)
	// Counter-clockwise from the near left corner; the left side is run backwards.
	var pol geom.Polygon
	for _, q := range right {
		pol = append(pol, geom.Point{X: d.WidthM/2 - q.Y, Y: q.X})
	}
	exit = len(pol) - 1
	for i := len(left) - 1; i >= 0; i-- {
		pol = append(pol, geom.Point{X: -d.WidthM/2 + left[i].Y, Y: left[i].X})
	}
	entry = len(pol) - 1
	r = geom.Solid(pol)
	if err := d.roundsMeet(p, pol); err != nil {
		return r, 0, 0, err
	}
	for _, h := range p.rounds {
		r.Holes = append(r.Holes, h.polygon())
	}
	return r, entry, exit, nil
}

// profile returns the corners of one side as (z, depth), from nearM to farM.
// Steps are sorted and apart; those flush with each other share their corners.
func profile(steps []step, nearM, farM, tolM float64) []geom.Point {
	var out []geom.Point
	add := func(z, depth float64) {
		n := len(out)
		if n > 0 && out[n-1].X == z && out[n-1].Y == depth {
			return
		}
		// The middle one of three in line is no corner.
		if n > 1 && out[n-1].Y == depth && out[n-2].Y == depth {
			out = out[:n-1]
		}
		out = append(out, geom.Point{X: z, Y: depth})
	}
	at := nearM
	for k, s := range steps {
		from, to := s.fromM, s.toM
		if k > 0 && from-steps[k-1].toM <= tolM {
			from = at
		}
		if from <= nearM+tolM {
			from = nearM
		}
		if to >= farM-tolM {
			to = farM
		}
		if from > at || k == 0 && from > nearM {
			add(at, 0)
			add(from, 0)
		}
		add(from, s.depthM)
		add(to, s.depthM)
		at = to
	}
	if at < farM || len(out) == 0 {
		add(at, 0)
		add(farM, 0)
	}
	return out
}

// stepsMeet looks for steps that overlap on one side, or leave nothing between
// two sides.
func (d *Drawing) stepsMeet(p *parts) error {
	tol := float64(leastBridge * d.WidthM)
	for _, side := range [][]step{p.left, p.right} {
		for i := 1; i < len(side); i++ {
			a, b := side[i-1], side[i]
			if b.fromM < a.toM-tol/100 {
				return &CutError{a.cut, b.cut, "they overlap"}
			}
			if gap := b.fromM - a.toM; gap > tol/100 && gap < tol {
				return &CutError{a.cut, b.cut, "a sliver of metal is left between them"}
			}
		}
	}
	for _, a := range p.left {
		for _, b := range p.right {
			if a.fromM > b.toM+tol || b.fromM > a.toM+tol {
				continue
			}
			if a.depthM+b.depthM > d.WidthM-tol {
				if a.cut == b.cut {
					return &CutError{a.cut, -1, "it leaves next to nothing of the bar"}
				}
				return &CutError{a.cut, b.cut, fmt.Sprintf("%s from the left and %s from the right part the bar of %s",
					si.Format(a.depthM, "m"), si.Format(b.depthM, "m"), si.Format(d.WidthM, "m"))}
			}
		}
	}
	return nil
}

// roundsMeet looks for holes and slots that meet each other or the outline.
func (d *Drawing) roundsMeet(p *parts, outer geom.Polygon) error {
	tol := float64(leastBridge * d.WidthM)
	for i, a := range p.rounds {
		p0, p1 := geom.Point{X: a.acrossM, Y: a.fromM}, geom.Point{X: a.acrossM, Y: a.toM}
		for _, b := range p.rounds[:i] {
			q0, q1 := geom.Point{X: b.acrossM, Y: b.fromM}, geom.Point{X: b.acrossM, Y: b.toM}
			if gap, _, _ := geom.SegmentGapM(p0, p1, q0, q1); gap < a.reachM()+b.reachM()+tol {
				return &CutError{b.cut, a.cut, "they overlap or touch"}
			}
		}
		gap := math.Inf(1)
		for k := range outer {
			e0, e1 := outer.Edge(k)
			g, _, _ := geom.SegmentGapM(p0, p1, e0, e1)
			gap = min(gap, g)
		}
		if gap < a.reachM()+tol || !outer.Contains(p0) {
			return &CutError{a.cut, d.blame(p, a), "it reaches over the edge that another cut has left"}
		}
	}
	return nil
}

// blame returns the step nearest to a hole along the bar, on either side.
func (d *Drawing) blame(p *parts, h round) int {
	best, who := math.Inf(1), -1
	for i, side := range [][]step{p.left, p.right} {
		sign := float64(2*i - 1)
		for _, s := range side {
			z := max(s.fromM-h.toM, h.fromM-s.toM, 0)
			x := max(d.WidthM/2-s.depthM-float64(sign*h.acrossM), 0)
			if g := portable.Hypot(x, z); g < best {
				best, who = g, s.cut
			}
		}
	}
	return who
}
