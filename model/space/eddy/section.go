package eddy

import (
	"math"
	"slices"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// section is the plane section of a piece in quadrilaterals, counter-clockwise.
type section struct {
	pts   []geom.Point
	quads [][4]int32
	holes []opening
}

// opening is a hole of a section: nodes of its rim, and the parts that fill it.
type opening struct {
	rim    []int32
	area   []geom.Point
	partM2 []float64
}

// grading says how fine a mesh is.
type grading struct {
	scale float64 // of all numbers of cells; 1 is the fine mesh
	farM  float64 // largest cell along a wall
}

const (
	throughWall = 4 // cells through the thickness of a wall
	leastAlong  = 5 // between two corners
	aroundRing  = 32
)

// count returns the number of cells of a stretch of lengthM in a piece whose walls are
// thinM thick.
func (g grading) count(lengthM, thinM float64) int {
	n := float64(throughWall)
	if lengthM > 1.5*thinM {
		n = leastAlong
	}
	n = max(n, math.Pi/2*lengthM/g.farM)
	return max(2, int(math.Round(n*g.scale)))
}

// crowded divides 0 … 1 in n steps that grow shorter towards both ends as those of the cosine.
// The density of a current that is driven to the rim of a thin plate grows as the root of the
// inverse distance; in these steps it is even.
func crowded(n int) []float64 {
	out := make([]float64, n+1)
	for i := range out {
		out[i] = (1 - portable.Cos(math.Pi*float64(i)/float64(n))) / 2
	}
	out[n] = 1
	return out
}

// newSection cuts the section of p.
func newSection(p *Piece, g grading) (*section, error) {
	if p.Ring != nil {
		return ringSection(p.Ring, g), nil
	}
	return squareSection(p, g)
}

// squareSection cuts an outline whose sides run along two directions that are square to each
// other by the lines through its corners, and further between them.
func squareSection(p *Piece, g grading) (*section, error) {
	loops := append([]geom.Polygon{p.Section.Outer}, p.Section.Holes...)
	side := loops[0][1].Sub(loops[0][0])
	turn := portable.Atan2(side.Y, side.X)
	size := p.Section.Box().Size()
	tol := 1e-9 * math.Max(size.X, size.Y)
	var u, v []float64
	local := make([]geom.Polygon, len(loops))
	for k, loop := range loops {
		for _, q := range loop {
			l := q.Rotate(-turn)
			local[k] = append(local[k], l)
			u, v = append(u, l.X), append(v, l.Y)
		}
		for i := range local[k] {
			d := local[k][(i+1)%len(local[k])].Sub(local[k][i])
			if math.Abs(d.X) > tol && math.Abs(d.Y) > tol {
				return nil, &InputError{p.Name, "its outline has sides that are not square to each other"}
			}
		}
	}
	u, v = lines(u, tol), lines(v, tol)
	region := geom.Region{Outer: local[0].Normal()}
	for _, h := range local[1:] {
		region.Holes = append(region.Holes, h.Normal())
	}
	thin := thinnest(region, u, v)
	u, v = divided(u, thin, g), divided(v, thin, g)
	s := &section{}
	metal := func(i, j int) bool {
		return i >= 0 && j >= 0 && i+1 < len(u) && j+1 < len(v) &&
			region.Contains(geom.Point{X: (u[i] + u[i+1]) / 2, Y: (v[j] + v[j+1]) / 2})
	}
	number := make([]int32, len(u)*len(v))
	for i := range number {
		number[i] = -1
	}
	at := func(i, j int) int32 {
		k := j*len(u) + i
		if number[k] < 0 {
			number[k] = int32(len(s.pts))
			s.pts = append(s.pts, geom.Point{X: u[i], Y: v[j]}.Rotate(turn))
		}
		return number[k]
	}
	for j := range len(v) - 1 {
		for i := range len(u) - 1 {
			if metal(i, j) {
				s.quads = append(s.quads, [4]int32{at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)})
			}
		}
	}
	for _, h := range region.Holes {
		var o opening
		for j := range v {
			for i := range u {
				q := geom.Point{X: u[i], Y: v[j]}
				if number[j*len(u)+i] >= 0 && h.BoundaryDistanceM(q) < tol {
					o.rim = append(o.rim, number[j*len(u)+i])
				}
				if i+1 < len(u) && j+1 < len(v) {
					c := geom.Point{X: (u[i] + u[i+1]) / 2, Y: (v[j] + v[j+1]) / 2}
					if h.Contains(c) {
						o.area = append(o.area, c.Rotate(turn))
						o.partM2 = append(o.partM2, (u[i+1]-u[i])*(v[j+1]-v[j]))
					}
				}
			}
		}
		s.holes = append(s.holes, o)
	}
	return s, nil
}

// lines sorts places and drops those that are the same within tol.
func lines(x []float64, tol float64) []float64 {
	slices.Sort(x)
	out := x[:1]
	for _, v := range x[1:] {
		if v-out[len(out)-1] > tol {
			out = append(out, v)
		}
	}
	return out
}

// thinnest returns the shortest step across the metal between two lines.
func thinnest(r geom.Region, u, v []float64) float64 {
	thin := math.Inf(1)
	for j := range len(v) - 1 {
		for i := range len(u) - 1 {
			if r.Contains(geom.Point{X: (u[i] + u[i+1]) / 2, Y: (v[j] + v[j+1]) / 2}) {
				thin = math.Min(thin, math.Min(u[i+1]-u[i], v[j+1]-v[j]))
			}
		}
	}
	return thin
}

func divided(x []float64, thin float64, g grading) []float64 {
	var out []float64
	for k := range len(x) - 1 {
		for _, f := range crowded(g.count(x[k+1]-x[k], thin)) {
			out = append(out, x[k]+float64(f*(x[k+1]-x[k])))
		}
		out = out[:len(out)-1]
	}
	return append(out, x[len(x)-1])
}

// ringSection cuts a ring along its radius and round it. A slit has parallel sides.
func ringSection(r *Ring, g grading) *section {
	s := &section{}
	wall := r.OuterM - r.InnerM
	radial := crowded(g.count(wall, wall))
	n := max(int(math.Round(2*math.Pi*r.OuterM/g.farM*g.scale)), int(math.Round(aroundRing*g.scale)))
	closed := !(r.SlitM > 0)
	around := crowded(n)
	if closed {
		for i := range around {
			around[i] = float64(i) / float64(n)
		}
	}
	// Chords lie within the circle: at these radii the polygon has its area.
	swell := make([]float64, n+1)
	for i := range swell {
		step := float64(math.Pi * (around[min(i+1, n)] - around[max(i-1, 0)]))
		if i == 0 || i == n {
			step *= 2
		}
		swell[i] = math.Sqrt(step / portable.Sin(step))
	}
	for _, f := range radial {
		rho := r.InnerM + float64(f*wall)
		gap := 0.0
		if !closed {
			gap = portable.Asin(r.SlitM / 2 / rho)
		}
		for i, a := range around {
			if closed && i == n {
				break
			}
			angle := r.TurnRad + math.Pi/2 + gap + float64(a*(2*math.Pi-2*gap))
			sin, cos := portable.Sincos(angle)
			s.pts = append(s.pts, r.Centre.Add(geom.Point{X: rho * swell[i] * cos, Y: rho * swell[i] * sin}))
		}
	}
	width := len(s.pts) / len(radial)
	at := func(k, i int) int32 { return int32(k*width + i%width) }
	for k := range len(radial) - 1 {
		for i := range n {
			s.quads = append(s.quads, [4]int32{at(k, i), at(k+1, i), at(k+1, i+1), at(k, i+1)})
		}
	}
	if closed {
		o := opening{}
		for i := range n {
			o.rim = append(o.rim, at(0, i))
			a, b := s.pts[at(0, i)].Sub(r.Centre), s.pts[at(0, i+1)].Sub(r.Centre)
			const parts = 6
			for k := range parts {
				lo, hi := float64(k)/parts, float64(k+1)/parts
				mid := (lo + hi) / 2
				o.area = append(o.area, r.Centre.Add(a.Add(b).Scale(mid/2)))
				o.partM2 = append(o.partM2, a.Cross(b)/2*(float64(hi*hi)-float64(lo*lo)))
			}
		}
		s.holes = append(s.holes, o)
	}
	return s
}
