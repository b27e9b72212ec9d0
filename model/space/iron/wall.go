package iron

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// station is a chord through a wall, from the middle of a boundary edge of the section
// to the opposite side, with the triangles that it crosses.
type station struct {
	at     geom.Point // middle of the chord
	along  geom.Point // unit vector along the wall, across the chord
	tris   []int32
	shares []float64 // of the chord, by triangle; they add up to 1
	thickM float64

	edge, parent [2]int32 // the boundary edge, and of a refined section that of the coarse one that it is half of
	beside       []int    // of a ring: the stations next to it on its face, both or none: see crest
}

func stationsOf(s *section) []station {
	var out []station
	for _, e := range s.rim {
		a, b := s.pts[e[0]], s.pts[e[1]]
		d := b.Sub(a)
		mid := a.Add(d.Scale(0.5))
		n := leftNormal(d)
		depth := s.depthAlong(mid, n)
		if math.IsInf(depth, 1) {
			continue
		}
		st := station{at: mid.Add(n.Scale(depth / 2)), along: d.Scale(1 / d.Norm()), thickM: depth, edge: edgeOf(e[0], e[1]), parent: s.parentOf(e)}
		sum := 0.0
		for k, t := range s.tris {
			if l := clip(mid, n, depth, s.pts[t[0]], s.pts[t[1]], s.pts[t[2]]); l > 1e-9*depth {
				st.tris, st.shares = append(st.tris, int32(k)), append(st.shares, l)
				sum += l
			}
		}
		for k := range st.shares {
			st.shares[k] /= sum
		}
		out = append(out, st)
	}
	if s.annulus != nil {
		findBeside(out)
	}
	return out
}

// findBeside finds the stations on either side of each on the faces of a ring.
func findBeside(stations []station) {
	at := map[int32][]int{}
	for i := range stations {
		for _, n := range stations[i].edge {
			at[n] = append(at[n], i)
		}
	}
	for i := range stations {
		s := &stations[i]
		for _, n := range s.edge {
			for _, k := range at[n] {
				if k != i && s.along.Dot(stations[k].along) > smoothTurn {
					s.beside = append(s.beside, k)
				}
			}
		}
		if len(s.beside) != 2 {
			s.beside = nil
		}
	}
}

const smoothTurn = 0.8 // cosine of the turn up to which a wall has no corner

// crest returns the largest of values at stations: of a parabola through one and both beside it where it is larger than
// these, for the largest value round a ring seldom stands at a station. Along a straight wall it would see no more than
// what corners do.
func crest(stations []station, v []float64) float64 {
	most := 0.0
	for i := range v {
		most = math.Max(most, v[i])
		s := &stations[i]
		if s.beside == nil {
			continue
		}
		j, k := s.beside[0], s.beside[1]
		// y = v + b x + c x², the one beside at −p, the other at q.
		p, q := s.at.Sub(stations[j].at).Norm(), s.at.Sub(stations[k].at).Norm()
		down, up := (v[i]-v[j])/p, (v[k]-v[i])/q
		if !(down >= 0 && up <= 0 && down > up) {
			continue
		}
		c := (up - down) / (p + q)
		b := (float64(down*q) + float64(up*p)) / (p + q)
		most = math.Max(most, v[i]-b*b/(4*c))
	}
	return most
}

func edgeOf(a, b int32) [2]int32 { return [2]int32{min(a, b), max(a, b)} }

// parentOf returns the edge of the coarse section that a boundary edge is half of; of a section that is not refined its
// own.
func (s *section) parentOf(e [2]int32) [2]int32 {
	if s.ends == nil {
		return edgeOf(e[0], e[1])
	}
	a, b := s.ends[e[0]], s.ends[e[1]]
	if a[0] == a[1] { // a node of the coarse section; the other is the middle of the edge
		return b
	}
	return a
}

// depthAlong returns how far the boundary of the mesh lies from p along n.
func (s *section) depthAlong(p, n geom.Point) float64 {
	best := math.Inf(1)
	for _, e := range s.rim {
		a, b := s.pts[e[0]].Sub(p), s.pts[e[1]].Sub(p)
		sa, sb := n.Cross(a), n.Cross(b)
		if (sa > 0) == (sb > 0) {
			continue
		}
		g := sa / (sa - sb)
		if depth := n.Dot(a.Add(b.Sub(a).Scale(g))); depth > 1e-9*s.o.extent && depth < best {
			best = depth
		}
	}
	return best
}

// clip returns the length of the part of the segment p + x n, 0 <= x <= lengthM, in a
// triangle.
func clip(p, n geom.Point, lengthM float64, corners ...geom.Point) float64 {
	from, to := 0.0, lengthM
	for k, a := range corners {
		d := corners[(k+1)%len(corners)].Sub(a)
		// Inside is where d × (p + x n − a) >= 0.
		c0, c1 := d.Cross(p.Sub(a)), d.Cross(n)
		switch {
		case c1 > 0:
			from = math.Max(from, -c0/c1)
		case c1 < 0:
			to = math.Min(to, -c0/c1)
		case c0 < 0:
			return 0
		}
	}
	return math.Max(0, to-from)
}

// Wall is the flux density in the wall of a piece, in tesla, with bounds. Means over the
// thickness are taken along chords from face to face, so that the infinite field of
// sharp corners has no part in them.
type Wall struct {
	PeakT, PeakBoundT float64     // largest along the wall of the mean over thickness and depth; of a long piece EndT
	At                geom.Point3 // where that is: middle of the wall at mid-plane
	MidT, MidBoundT   float64     // largest along the wall of the mean over thickness at the mid-plane
	EndT, EndBoundT   float64     // largest along the wall and over z of the mean over thickness
	RmsT, RmsBoundT   float64     // root of the mean square of |B| over the volume
}

// profiles returns the mean over the thickness of B along the wall in each layer of one station, upper and lower half
// averaged, and the largest of either half.
func (a *answer) profiles(piece, station int, weights []complex128) (mean []complex128, largestT float64) {
	c := &a.l.m.columns[piece]
	mean = make([]complex128, len(c.z)-1)
	half := make([]complex128, len(mean))
	share := complex(1, 0)
	if a.l.m.mirror {
		share = 0.5
	}
	for side := range 2 {
		if len(a.b[side]) == 0 {
			continue
		}
		clear(half)
		for s, f := range weights {
			if f == 0 {
				continue
			}
			for l, v := range a.alongWall(piece, side, s)[station] {
				half[l] += portable.Times(f, complex(v, 0))
			}
		}
		for l, v := range half {
			mean[l] += portable.Times(share, v)
			if !c.long || c.toEndM(l, a.l.m.mirror) > c.s.o.extent {
				largestT = math.Max(largestT, size(v))
			}
		}
	}
	return mean, largestT
}

// toEndM returns how far the middle of layer l is from the nearer end of the piece.
func (c *columns) toEndM(l int, mirror bool) float64 {
	at := (c.z[l] + c.z[l+1]) / 2
	up, down := c.z[len(c.z)-1]-at, at-c.z[0]
	if mirror {
		return up
	}
	return math.Min(up, down)
}

// wall returns the figures of one mesh.
func (a *answer) wall(piece int, weights []complex128) (w walled) {
	m := a.l.m
	c := &m.columns[piece]
	stations := a.l.walls[piece]
	mean, mid, end := make([]float64, len(stations)), make([]float64, len(stations)), make([]float64, len(stations))
	for i := range stations {
		st := &stations[i]
		var sum []complex128
		sum, end[i] = a.profiles(piece, i, weights)
		w.along = append(w.along, sum)
		mean[i], mid[i] = size(c.overDepth(sum)), size(m.middle(c, sum))
		if mean[i] > w.PeakT {
			w.PeakT = mean[i]
			w.At = geom.Point3{X: st.at.X, Y: st.at.Y, Z: m.middleOf(c)}
		}
	}
	w.PeakT, w.MidT, w.EndT = crest(stations, mean), crest(stations, mid), crest(stations, end)
	w.EndT = math.Max(w.EndT, w.MidT)
	w.RmsT = a.rms(piece, weights)
	return w
}

func (m *tetra) middleOf(c *columns) float64 {
	if m.mirror {
		return m.midM
	}
	return (c.z[0] + c.z[len(c.z)-1]) / 2
}

// middle returns the value at the mid-plane from the values at the middles of layers:
// with a mirror a parabola even about it, otherwise a straight line between the two
// layers beside it.
func (m *tetra) middle(c *columns, v []complex128) complex128 {
	at := func(l int) float64 { return (c.z[l] + c.z[l+1]) / 2 }
	if len(v) == 1 {
		return v[0]
	}
	mid := m.middleOf(c)
	if m.mirror {
		z1, z2 := at(0)-mid, at(1)-mid
		return v[0] + portable.Times(v[0]-v[1], complex(z1*z1/(float64(z2*z2)-float64(z1*z1)), 0))
	}
	l := 0
	for l+2 < len(v) && at(l+1) < mid {
		l++
	}
	f := (mid - at(l)) / (at(l+1) - at(l))
	return v[l] + portable.Times(v[l+1]-v[l], complex(f, 0))
}

// Wall returns the flux densities in a piece when source k has weight weights[k]
// (amperes, say; peak phasors give peak values).
func (l *Linear) Wall(piece int, weights []complex128) Wall {
	if len(weights) != len(l.sources) {
		panic("iron: one weight for each source")
	}
	key := fmt.Sprint(piece, weights)
	l.wallsMu.Lock()
	w, ok := l.walls[key]
	l.wallsMu.Unlock()
	if ok {
		return w
	}
	w = wallOf(&l.levels, piece, weights, l.scale)
	l.wallsMu.Lock()
	defer l.wallsMu.Unlock()
	if l.walls == nil || len(l.walls) >= keptPlaces {
		l.walls = map[string]Wall{}
	}
	l.walls[key] = w
	return w
}

// size returns |z| of a flux density, which is never so large that its square is not a number.
func size(z complex128) float64 {
	return math.Sqrt(float64(real(z)*real(z)) + float64(imag(z)*imag(z)))
}
