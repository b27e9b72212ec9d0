package field

import (
	"math"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space"
)

// strands are the filaments that stand in space for what a bar carries beside an even
// density: at the nodes of a product of Chebyshev rules over the box about its section. A current
// at a point of the section is shared among them by the polynomials that are 1 at one node and 0 at
// the others, so that all moments up to their degree are kept, and with them the field at a distance.
//
// Source: W. Fong, E. Darve, J. Comput. Phys. 228 (2009) 8712 (sums of kernels by Chebyshev
// interpolation; from memory).
type strands struct {
	centre, half geom.Point // of the box, in the frame of the section
	nx, ny       int
	at           []geom.Point // in the frame of the section, x first
	of           []space.Strand
	bar          *layout.Bar
}

const (
	strandError          = 0.002 // aimed at, of what is spread
	stretchError         = 0.05  // the same of stretches, which carry what iron changes of it
	fewestStrands        = 3
	mostAcross, mostDeep = 20, 8
	nearestShare         = 0.25 // of the smaller side: no distance counts as nearer
)

// newStrands lays strands for a bar whose nearest iron is clearM away from the box about its section.
func newStrands(b *layout.Bar, c *space.Conductor, clearM, errorShare float64) *strands {
	box := b.SectionCorners().Box()
	s := &strands{bar: b, centre: box.Min.Add(box.Max).Scale(0.5), half: box.Size().Scale(0.5)}
	small := 2 * math.Min(s.half.X, s.half.Y)
	clearM = math.Min(math.Max(clearM, nearestShare*small), small)
	// A density that is smooth is summed as by a Gauss rule: the error falls with ρ^−2n, ρ
	// the sum of the half axes of the ellipse round the foci ±half that reaches the iron.
	count := func(half float64, most int) int {
		x := clearM / half
		n := math.Ceil(-portable.Log(errorShare) / (2 * portable.Log(x+portable.Hypot(1, x))))
		return int(math.Min(math.Max(n, fewestStrands), float64(most)))
	}
	most := [2]int{mostAcross, mostDeep}
	if s.half.X < s.half.Y {
		most[0], most[1] = most[1], most[0]
	}
	s.nx, s.ny = count(s.half.X, most[0]), count(s.half.Y, most[1])
	for j := range s.ny {
		for i := range s.nx {
			p := s.centre.Add(geom.Point{X: s.half.X * chebyshev(i, s.nx), Y: s.half.Y * chebyshev(j, s.ny)})
			s.at = append(s.at, p)
			s.of = append(s.of, c.Strand(p, s.centre))
		}
	}
	return s
}

// chebyshev returns node i of n in −1 … 1.
func chebyshev(i, n int) float64 { return -portable.Cos(math.Pi * (float64(i) + 0.5) / float64(n)) }

// nodal returns by how much a place x in −1 … 1 is that of each of n nodes:
// 1/n + 2/n Σ T_k(x) T_k(x_i).
func nodal(x float64, n int, out []float64) {
	for i := range out[:n] {
		y := chebyshev(i, n)
		sum, t0, t1, u0, u1 := 1.0, 1.0, x, 1.0, y
		for k := 1; k < n; k++ {
			sum += float64(2 * t1 * u1)
			t0, t1, u0, u1 = t1, float64(2*x*t1)-t0, u1, float64(2*y*u1)-u0
		}
		out[i] = sum / float64(n)
	}
}

// local returns a place of the plane section in −1 … 1 along both sides of the box.
func (s *strands) local(p geom.Point) geom.Point {
	q := p.Sub(s.bar.At.Point()).Rotate(-s.bar.TurnRad.V).Sub(s.centre)
	return geom.Point{X: q.X / s.half.X, Y: q.Y / s.half.Y}
}

// holds reports whether a place lies in the box about the section.
func (s *strands) holds(p geom.Point) bool {
	q := s.local(p)
	return math.Abs(q.X) <= 1 && math.Abs(q.Y) <= 1
}

// weights returns the current of each strand of all bars, for each source of e: bars,
// then uniform fields. list has nil for a bar that does not conduct.
func weights(list []*strands, e fem.EddyCurrents) [][]complex128 {
	first := make([]int, len(list))
	n := 0
	for k, s := range list {
		first[k] = n
		if s != nil {
			n += len(s.at)
		}
	}
	out := make([][]complex128, len(e.A))
	for src := range out {
		out[src] = make([]complex128, n)
	}
	var sx, sy [mostAcross]float64
	for i, p := range e.At {
		k := e.Piece[i]
		if k >= len(list) || list[k] == nil {
			continue
		}
		s := list[k]
		q := s.local(p)
		nodal(q.X, s.nx, sx[:])
		nodal(q.Y, s.ny, sy[:])
		for src := range out {
			a, to := e.A[src][i], out[src][first[k]:]
			for y := range s.ny {
				f := portable.Times(a, complex(sy[y], 0))
				for x := range s.nx {
					to[y*s.nx+x] += portable.Times(f, complex(sx[x], 0))
				}
			}
		}
	}
	for src := range out { // rounding of a sum that is none
		for k, s := range list {
			if s == nil {
				continue
			}
			of := out[src][first[k] : first[k]+len(s.at)]
			var sum complex128
			for _, w := range of {
				sum += w
			}
			for i := range of {
				of[i] -= portable.Quotient(sum, complex(float64(len(of)), 0))
			}
		}
	}
	return out
}

// planeB returns the field at p in T of currents in strands as if all were straight and
// endless.
func planeB(list []*strands, p geom.Point, w []complex128) (bx, by complex128) {
	k := 0
	for _, s := range list {
		if s == nil {
			continue
		}
		q := p.Sub(s.bar.At.Point()).Rotate(-s.bar.TurnRad.V)
		var x, y complex128
		for _, at := range s.at {
			d := q.Sub(at)
			f := portable.Times(complex(2e-7/d.Dot(d), 0), w[k])
			x -= portable.Times(f, complex(d.Y, 0))
			y += portable.Times(f, complex(d.X, 0))
			k++
		}
		sin, cos := portable.Sincos(s.bar.TurnRad.V)
		bx += portable.Times(x, complex(cos, 0)) - portable.Times(y, complex(sin, 0))
		by += portable.Times(x, complex(sin, 0)) + portable.Times(y, complex(cos, 0))
	}
	return bx, by
}
