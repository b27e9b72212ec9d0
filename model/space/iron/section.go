package iron

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/mesh"
)

// section is the triangulated plane section of a piece.
type section struct {
	pts     []geom.Point
	tris    [][3]int32
	adj     [][3]int32 // neighbour over the edge opposite each corner, -1 at the rim
	o       *outline
	rim     [][2]int32 // boundary edges, iron on their left
	annulus *annulus   // of a ring: where its nodes lie; else nil
	ends    [][2]int32 // of a refined section: the two coarse nodes that each lies between
}

// grading says how fine a mesh is. Sizes are in units of the effective wall thickness.
type grading struct {
	scale         float64 // all sizes; 1 is the standard mesh
	corner, far   float64 // along the wall, at corners and at most
	endZ, endZMax float64 // along z at the end faces: an eighth of the depth between these
	farZ          float64 // along z at most, or a tenth of the depth
	growth        float64 // metres of size gained per metre away from a corner or an end
	nearestShare  float64 // largest size near a point of interest or another piece, in distances to it
}

// effectiveM limits a thickness to what is worth resolving: neither slivers of foil
// nor cells as coarse as a solid block.
func effectiveM(thickM, extentM float64) float64 {
	return math.Min(math.Max(thickM, extentM/40), extentM/16)
}

// newSection triangulates a section. near returns the distance in metres from a point
// to what asks for small cells (other pieces, points of interest).
func newSection(r geom.Region, depthM float64, g grading, near func(geom.Point) float64) (*section, error) {
	s := &section{o: newOutline(r)}
	o := s.o
	var corners []geom.Point
	thin := math.Inf(1)
	for i := range o.a {
		if o.corner[i] {
			corners = append(corners, o.a[i])
		}
		thin = math.Min(thin, o.thickM[i])
	}
	limit := func(p geom.Point, hM float64) float64 {
		return math.Min(hM, math.Max(g.nearestShare*near(p), 0.3*effectiveM(thin, o.extent)))
	}
	var in mesh.Input
	var points geom.Polygon
	flush := func(k int) {
		l := mesh.Loop{Points: points, Region: 0}
		if k > 0 {
			l.Region = mesh.Void
		}
		in.Loops = append(in.Loops, l)
		points = nil
	}
	for i := range o.a {
		if i > 0 && o.loop[i] != o.loop[i-1] {
			flush(o.loop[i-1])
		}
		d := o.b[i].Sub(o.a[i])
		length := d.Norm()
		u := d.Scale(1 / length)
		t := effectiveM(math.Min(o.thickM[i], depthM), o.extent)
		stops := append([]float64{0, length}, o.footings(i)...)
		stops = thinned(stops, 0.2*t)
		for k := 0; k+1 < len(stops); k++ {
			from, to := stops[k], stops[k+1]
			left := k > 0 || o.corner[i]
			right := k+2 < len(stops) || o.corner[o.next[i]]
			h := func(x float64) float64 {
				v := g.far * t
				if left {
					v = math.Min(v, float64(g.corner*t)+float64(g.growth*x))
				}
				if right {
					v = math.Min(v, float64(g.corner*t)+float64(g.growth*(to-from-x)))
				}
				return limit(o.a[i].Add(u.Scale(from+x)), v) * g.scale
			}
			for _, x := range divide(to-from, h) {
				points = append(points, o.a[i].Add(u.Scale(from+x)))
			}
		}
	}
	flush(o.loop[len(o.loop)-1])
	whole := effectiveM(math.Min(thin, depthM), o.extent)
	size := func(p geom.Point, _ mesh.RegionID) float64 {
		d := math.Inf(1)
		for _, c := range corners {
			d = math.Min(d, p.Sub(c).Norm())
		}
		h := math.Min(g.far*whole, float64(g.corner*whole)+float64(g.growth*d))
		return math.Max(1.7*h, 1.6*math.Min(thin, 2*whole)) * g.scale
	}
	angle := 3.0
	if thin > 2*whole {
		angle = 20
	}
	m, err := mesh.Triangulate(in, mesh.Options{MinAngleDeg: angle, Size: size})
	if err != nil {
		return nil, err
	}
	s.pts, s.tris, s.adj = m.Nodes, m.Tris, m.Adj
	s.straighten()
	s.findRim()
	return s, nil
}

// findRim lists the boundary edges.
func (s *section) findRim() {
	for k, t := range s.tris {
		for e := range 3 {
			if s.adj[k][e] < 0 {
				s.rim = append(s.rim, [2]int32{t[(e+1)%3], t[(e+2)%3]})
			}
		}
	}
}

// thinned sorts the cuts of a stretch and drops those closer to the one before, or to
// the end, than nearM; the ends stay.
func thinned(cuts []float64, nearM float64) []float64 {
	slices.Sort(cuts)
	end := cuts[len(cuts)-1]
	out := cuts[:1]
	for _, c := range cuts[1:] {
		if c == end || c-out[len(out)-1] >= nearM && end-c >= nearM {
			out = append(out, c)
		}
	}
	return out
}

// divide returns the starts of the cells of a stretch of lengthM, 0 the first, whose
// sizes follow h: cut points at equal steps of ∫ ds/h.
func divide(lengthM float64, h func(float64) float64) []float64 {
	const n = 200
	sum := make([]float64, n+1)
	for k := range n {
		sum[k+1] = sum[k] + lengthM/n/h((float64(k)+0.5)*lengthM/n)
	}
	cells := max(1, int(math.Round(sum[n])))
	out := make([]float64, cells)
	k := 0
	for i := 1; i < cells; i++ {
		want := sum[n] * float64(i) / float64(cells)
		for sum[k+1] < want {
			k++
		}
		out[i] = lengthM / n * (float64(k) + (want-sum[k])/(sum[k+1]-sum[k]))
	}
	return out
}
