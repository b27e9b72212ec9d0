package mesh

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

const (
	defaultGrowth   = 1.5
	smoothTurnRad   = 30 * math.Pi / 180 // joints that turn less get no grading towards them
	layerShareMax   = 0.4                // of the local thickness that layers may fill
	layerRadiusMax  = 0.5                // of the radius of an arc, towards its centre
	sharpTurnRad    = 160 * math.Pi / 180
	newtonSteps     = 30
	newtonTolerance = 1e-13
)

// side is a loop seen with the layered side on its left.
type side struct {
	spec   Layers
	curves []curve
	depths []float64      // depths[k] of line k; depths[0] = 0 is the surface
	joints [][]geom.Point // joints[i][k]: where line k turns from curve i-1 to curve i
	startS [][]float64    // position of joints[i][k] along curve i
	endS   [][]float64    // position of joints[i+1][k] along curve i
	rows   int
}

// addLoop adds the points and strokes of loop i and of its layers.
func (d *drawing) addLoop(in *Input, i int, curves []curve, fits *thickness, opt Options, cut [][2]int) {
	l := &in.Loops[i]
	in1 := newSide(l.Inside, curves)
	back := make([]curve, 0, len(curves))
	for k := len(curves) - 1; k >= 0; k-- {
		back = append(back, curves[k].reversed())
	}
	out := newSide(l.Outside, back)
	edgeM := l.MaxEdgeM
	tighten := func(h float64) {
		if h > 0 && (edgeM == 0 || h < edgeM) {
			edgeM = h
		}
	}
	for k, s := range []*side{in1, out} {
		if s.depths == nil {
			continue
		}
		if s.rows > 0 {
			s.settle(fits.leftM(s.curves, i))
		}
		if cut != nil && s.rows > cut[i][k] {
			s.rows = cut[i][k]
		}
		d.rows[i][k] = s.rows
		tighten(s.spec.EdgeM)
		if s.rows == 0 {
			tighten(2 * s.spec.FirstM)
		}
	}
	for k := range curves {
		c := &curves[k]
		if in1.rows+out.rows == 0 {
			break
		}
		in1.addCuts(k, c, false)
		out.addCuts(len(curves)-1-k, c, true)
		closest := math.Inf(1)
		hM := edgeM
		for _, s := range []*side{in1, out} {
			if s.rows > 0 {
				closest = math.Min(closest, 0.3*s.spec.FirstM)
			}
		}
		if opt.Size != nil {
			if h := opt.Size(c.at(c.lengthM/2, 0), l.Region); h > 0 && (hM == 0 || h < hM) {
				hM = h
			}
		}
		c.cuts = gradeCuts(c.cuts, math.Min(closest, 0.3*c.lengthM), hM, in1.growth(out))
	}
	var line []int32
	for k := range curves {
		c := &curves[k]
		arc := d.addArc(c.arc)
		for j := 0; j+1 < len(c.cuts); j++ {
			a, b := d.point(c.at(c.cuts[j], 0)), d.point(c.at(c.cuts[j+1], 0))
			if len(line) == 0 || line[len(line)-1] != a {
				line = append(line, a)
			}
			d.add(stroke{a: a, b: b, ref: Ref{i, c.edge}, tag: l.tag(c.edge), arc: arc, edgeM: edgeM, owner: -1})
		}
	}
	for len(line) > 1 && line[0] == line[len(line)-1] {
		line = line[:len(line)-1]
	}
	d.outline = append(d.outline, line)
	for k := range curves {
		out.curves[len(curves)-1-k].cuts = curves[k].reversed().cuts
	}
	in1.curves = curves
	in1.draw(d, i)
	out.draw(d, i)
}

// newSide lays out depths and joints for every row wanted.
func newSide(spec Layers, curves []curve) *side {
	s := &side{spec: spec, curves: curves}
	if !(spec.FirstM > 0) || spec.Count == 0 || len(curves) == 0 {
		return s
	}
	if s.spec.Growth == 0 {
		s.spec.Growth = defaultGrowth
	}
	s.depths = []float64{0}
	for k, h := 0, spec.FirstM; k < spec.Count; k, h = k+1, float64(h*s.spec.Growth) {
		s.depths = append(s.depths, s.depths[k]+h)
	}
	n := len(curves)
	s.rows = spec.Count
	for i := range curves {
		p, c := &curves[(i+n-1)%n], &curves[i]
		pts := []geom.Point{c.a}
		for k := 1; k <= s.rows; k++ {
			x, ok := offsetJoint(p, c, s.depths[k])
			if !ok {
				s.rows = k - 1
				break
			}
			pts = append(pts, x)
		}
		s.joints = append(s.joints, pts)
	}
	for i := range curves {
		c := &curves[i]
		from, to := []float64{0}, []float64{c.lengthM}
		for k := 1; k <= s.rows; k++ {
			from = append(from, snapZero(c.position(s.joints[i][k]), c.lengthM))
			to = append(to, snapEnd(c.position(s.joints[(i+1)%n][k]), c.lengthM))
		}
		s.startS, s.endS = append(s.startS, from), append(s.endS, to)
	}
	return s
}

// snapZero and snapEnd remove rounding, so that positions of lines that meet an end squarely compare equal.
func snapZero(sM, lengthM float64) float64 {
	if math.Abs(sM) < 1e-12*lengthM {
		return 0
	}
	return sM
}

func snapEnd(sM, lengthM float64) float64 {
	if math.Abs(sM-lengthM) < 1e-12*lengthM {
		return lengthM
	}
	return sM
}

// offsetJoint returns where the lines depthM to the left of p and c meet near the corner between them.
func offsetJoint(p, c *curve, depthM float64) (geom.Point, bool) {
	u, v := p.tangent(p.lengthM), c.tangent(0)
	turn := portable.Atan2(u.Cross(v), u.Dot(v))
	if math.Abs(turn) > sharpTurnRad {
		return geom.Point{}, false
	}
	for _, x := range []*curve{p, c} {
		if x.arc.RadiusM > 0 && x.radiusAt(depthM) < (1-layerRadiusMax)*x.arc.RadiusM {
			return geom.Point{}, false
		}
	}
	normal := geom.Point{X: -(u.Y + v.Y), Y: u.X + v.X}
	x := c.a.Add(normal.Scale(depthM / (1 + u.Dot(v))))
	if math.Abs(turn) < smoothTurnRad || (p.arc.RadiusM == 0 && c.arc.RadiusM == 0) {
		return x, true
	}
	// Newton on the two positions; the straight answer starts it.
	sp, sc := p.position(x), c.position(x)
	for range newtonSteps {
		a, b := p.at(sp, depthM), c.at(sc, depthM)
		gap := b.Sub(a)
		if gap.Norm() <= newtonTolerance*(p.lengthM+c.lengthM) {
			return b, true
		}
		ta, tb := p.tangent(sp), c.tangent(sc)
		if r := p.arc.RadiusM; r > 0 {
			ta = ta.Scale(p.radiusAt(depthM) / r)
		}
		if r := c.arc.RadiusM; r > 0 {
			tb = tb.Scale(c.radiusAt(depthM) / r)
		}
		det := ta.Cross(tb)
		if det == 0 {
			break
		}
		sp += gap.Cross(tb) / det
		sc += gap.Cross(ta) / det
	}
	return geom.Point{}, false
}

// settle keeps the rows that fit: within the share of the thickness, and with every line keeping its order.
func (s *side) settle(thicknessM float64) {
	for s.rows > 0 && !s.fits(thicknessM) {
		s.rows--
	}
}

func (s *side) fits(thicknessM float64) bool {
	k := s.rows
	if !(s.depths[k] <= layerShareMax*thicknessM) {
		return false
	}
	h := s.depths[k] - s.depths[k-1]
	for i := range s.curves {
		if !(s.endS[i][k]-s.startS[i][k] >= math.Min(0.5*h, 0.2*s.curves[i].lengthM)) {
			return false
		}
	}
	return true
}

// corner says whether the joint before curve i turns enough to be graded.
func (s *side) corner(i int) bool {
	n := len(s.curves)
	p, c := &s.curves[(i+n-1)%n], &s.curves[i]
	u, v := p.tangent(p.lengthM), c.tangent(0)
	return math.Abs(portable.Atan2(u.Cross(v), u.Dot(v))) >= smoothTurnRad
}

func (s *side) growth(o *side) float64 {
	g := math.Inf(1)
	for _, x := range []*side{s, o} {
		if x.rows > 0 {
			g = math.Min(g, x.spec.Growth)
		}
	}
	return math.Max(g, 1)
}

// addCuts divides c, which is curve i of the side or its reverse, towards its corners like the rows below.
// Corners that bulge into the layered side get the mirror image of the positions beyond their end.
func (s *side) addCuts(i int, c *curve, reversed bool) {
	if s.rows == 0 {
		return
	}
	put := func(sM float64) {
		if reversed {
			sM = c.lengthM - sM
		}
		if sM > 0 && sM < c.lengthM {
			c.cuts = append(c.cuts, sM)
		}
	}
	l := c.lengthM
	for k := 1; k <= s.rows; k++ {
		if s.corner(i) && s.depths[k] < 0.5*l {
			put(math.Abs(s.startS[i][k]))
		}
		if s.corner((i+1)%len(s.curves)) && s.depths[k] < 0.5*l {
			put(l - math.Abs(l-s.endS[i][k]))
		}
	}
	slices.Sort(c.cuts)
}

// gradeCuts merges positions closer than nearM, keeping the ends, and divides every gap so that steps grow from
// one another by at most the growth and stay below hM (0 is no limit).
func gradeCuts(cuts []float64, nearM, hM, growth float64) []float64 {
	last := cuts[len(cuts)-1]
	kept := []float64{cuts[0]}
	for _, s := range cuts[1 : len(cuts)-1] {
		if s-kept[len(kept)-1] >= nearM && last-s >= nearM {
			kept = append(kept, s)
		}
	}
	kept = append(kept, last)
	if hM <= 0 {
		hM = math.Inf(1)
	}
	out := []float64{kept[0]}
	for i := 1; i < len(kept); i++ {
		gap := kept[i] - kept[i-1]
		left, right := hM, hM
		if i > 1 {
			left = math.Min(hM, growth*(kept[i-1]-kept[i-2]))
		}
		if i+1 < len(kept) {
			right = math.Min(hM, growth*(kept[i+1]-kept[i]))
		}
		var ls, rs []float64
		sum := 0.0
		for sum < 0.999*gap && len(ls)+len(rs) < 100000 {
			if left <= right {
				ls, sum, left = append(ls, left), sum+left, math.Min(hM, left*growth)
			} else {
				rs, sum, right = append(rs, right), sum+right, math.Min(hM, right*growth)
			}
		}
		slices.Reverse(rs)
		at := kept[i-1]
		steps := append(ls, rs...)
		for _, h := range steps[:max(len(steps)-1, 0)] {
			at += h * gap / sum
			out = append(out, at)
		}
		out = append(out, kept[i])
	}
	return out
}

// station is a point of one line of a layer.
type station struct {
	sM float64
	p  int32
}

// draw adds the strokes of the rows.
func (s *side) draw(d *drawing, loop int) {
	if s.rows == 0 {
		return
	}
	for i := range s.curves {
		c := &s.curves[i]
		var above []station
		for k := 0; k <= s.rows; k++ {
			line := s.line(d, i, k)
			st := stroke{ref: Ref{loop, c.edge}, arc: -1, kind: row, owner: int32(loop)}
			for a, b := 0, 0; k > 0 && a < len(above) && b < len(line); {
				switch {
				case above[a].sM < line[b].sM:
					a++
				case above[a].sM > line[b].sM:
					b++
				default:
					st.a, st.b = above[a].p, line[b].p
					d.add(st)
					a, b = a+1, b+1
				}
			}
			if k > 0 {
				st.a, st.b = d.point(s.joints[i][k-1]), d.point(s.joints[i][k])
				d.add(st)
				if k == s.rows {
					st.kind = limit
				}
				if c.arc.RadiusM > 0 {
					st.arc = d.addArc(Arc{c.arc.Centre, c.radiusAt(s.depths[k])})
				}
				for j := 1; j < len(line); j++ {
					st.a, st.b = line[j-1].p, line[j].p
					if st.arc >= 0 && !d.onArc(st) {
						straight := st
						straight.arc = -1
						d.add(straight)
						continue
					}
					d.add(st)
				}
			}
			above = line
		}
	}
}

// onArc says whether both ends of a stroke lie on its arc; the mitred end of a smooth joint need not.
func (d *drawing) onArc(s stroke) bool {
	a := d.arcs[s.arc]
	tol := math.Max(d.tolM, 1e-9*a.RadiusM)
	return math.Abs(d.pts[s.a].Sub(a.Centre).Norm()-a.RadiusM) <= tol && math.Abs(d.pts[s.b].Sub(a.Centre).Norm()-a.RadiusM) <= tol
}

// line returns the stations of line k along curve i, from joint to joint.
func (s *side) line(d *drawing, i, k int) []station {
	c := &s.curves[i]
	from, to := s.startS[i][k], s.endS[i][k]
	var at []float64
	for j := 1; j < k; j++ { // beyond the ends, at corners that bulge into the layered side
		if x := s.startS[i][j]; x < 0 && x > from {
			at = append(at, x)
		}
		if x := s.endS[i][j]; x > c.lengthM && x < to {
			at = append(at, x)
		}
	}
	at = append(at, c.cuts...)
	slices.Sort(at)
	// Positions crowding a joint are left out; those that equal it are the joint.
	near := 0.25 * (s.depths[1] - s.depths[0])
	out := []station{{from, d.point(s.joints[i][k])}}
	for _, x := range at {
		if x > from+near && x < to-near {
			out = append(out, station{x, d.point(c.at(x, s.depths[k]))})
		}
	}
	return append(out, station{to, d.point(s.joints[(i+1)%len(s.curves)][k])})
}
