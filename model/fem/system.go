package fem

import (
	"sync"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/sparse"
)

// system is the matrix of a grid for one set of material values, divided by the
// reluctivity of free space:
//
//	∫ ν ∇A·∇w + ∫ m A w + exterior,  ν = 1/μr, m = jω μ0 σ
//
// It is complex symmetric with positive definite real and positive semidefinite
// imaginary part, as package sparse wants it (ν of sheet iron has Im ν > 0).
type system[T sparse.Scalar] struct {
	g      *grid
	lift   func(float64) T
	nu     []T // of each active piece
	mass   []T
	values []T
	factor *sparse.Factor[T] // see solveFor

	factorMu sync.RWMutex
	holds    bool // the analysis of the grid

	// Saturating iron: element matrices of the tangent, by tangentAt of each
	// triangle, -1 for the others; and |ν| of each triangle for estimates. nil in
	// linear problems.
	tangentAt []int32
	tangent   [][6][6]T
	nuMin     []float64
	tensor    [][3]float64 // mean xx, xy, yy of the tangent of each such triangle

	// Unit potentials of insulated pieces and bonded groups (complex only).
	groups []group[T]
	dense  [][]T // inverse of the matrix of the net currents
}

var spareReal, spareComplex sync.Pool // of *sparse.Factor, whose storage is free

// spare returns the pool of a kind of number.
func spare[T sparse.Scalar]() *sync.Pool {
	if _, ok := any(*new(T)).(complex128); ok {
		return &spareComplex
	}
	return &spareReal
}

// factorise makes the factor of the values, which it assembles where they are gone.
func (s *system[T]) factorise() (err error) {
	if s.values == nil {
		s.assemble()
	}
	if !s.holds {
		s.g.made.analysis.hold()
		s.holds = true
	}
	f, _ := spare[T]().Get().(*sparse.Factor[T])
	s.factor, err = sparse.FactorNumeric(s.g.matrix().sym, s.values, f)
	return err
}

// solveFor replaces n right-hand sides by their solutions. The factor must exist or have been let go; then it is made again, with the
// same result.
func (s *system[T]) solveFor(b []T, n int) {
	s.factorMu.RLock()
	for s.factor == nil {
		s.factorMu.RUnlock()
		s.factorMu.Lock()
		if s.factor == nil {
			if err := s.factorise(); err != nil {
				panic("fem: a system that had a factor has none")
			}
		}
		s.factorMu.Unlock()
		s.factorMu.RLock()
	}
	defer s.factorMu.RUnlock()
	s.factor.Solve(b, n)
}

// letGo leaves the storage of the factor to others, and forgets the values.
func (s *system[T]) letGo() {
	s.factorMu.Lock()
	defer s.factorMu.Unlock()
	if s.factor != nil {
		spare[T]().Put(s.factor)
		s.factor, s.values = nil, nil
		if s.holds {
			s.g.made.analysis.letGo()
			s.holds = false
		}
	}
}

func liftReal(x float64) float64       { return x }
func liftComplex(x float64) complex128 { return complex(x, 0) }

// nuOf returns ν of a triangle.
func (s *system[T]) nuOf(t int) T {
	if p := s.g.piece[t]; p >= 0 {
		return s.nu[p]
	}
	return 1
}

// nuAbs returns a lower bound of |ν| of a triangle.
func (s *system[T]) nuAbs(t int) float64 {
	if s.nuMin != nil {
		return s.nuMin[t]
	}
	return modulus(s.nuOf(t))
}

// nuEdge returns the |ν| by which jumps are shared.
func (s *system[T]) nuEdge(t int) float64 {
	if s.tensor != nil && s.tangentAt[t] >= 0 {
		n := &s.tensor[s.tangentAt[t]]
		return (n[0] + n[2]) / 2
	}
	return modulus(s.nuOf(t))
}

// tensorOf returns the parts xx, xy and yy of |ν| of a triangle, of the tangent where
// there is one.
func (s *system[T]) tensorOf(t int) [3]float64 {
	if s.tensor != nil && s.tangentAt[t] >= 0 {
		return s.tensor[s.tangentAt[t]]
	}
	nu := s.nuEdge(t)
	return [3]float64{nu, 0, nu}
}

// massAbs returns |m| of a triangle.
func (s *system[T]) massAbs(t int) float64 {
	if !s.g.conducts(t) {
		return 0
	}
	return modulus(s.mass[s.g.piece[t]])
}

// stiffness returns ∫ ν ∇Ni·∇Nj over a triangle, of the tangent where there is one.
func (s *system[T]) stiffness(t int) (out [6][6]T) {
	if s.tangentAt != nil && s.tangentAt[t] >= 0 {
		return s.tangent[s.tangentAt[t]]
	}
	k, nu := s.g.stiffness(t), s.nuOf(t)
	for i := range 6 {
		for j := range i + 1 {
			out[i][j] = portable.ProductOf(nu, s.lift(k[i][j]))
			out[j][i] = out[i][j]
		}
	}
	return out
}

// assemble fills the values.
func (s *system[T]) assemble() {
	g := s.g
	if s.values == nil {
		s.values = make([]T, g.matrix().pattern.Len())
	}
	clear(s.values)
	at, scatter := 0, g.matrix().scatter
	for t := range g.q.Tris {
		k := s.stiffness(t)
		if !g.conducts(t) {
			for i := range 6 {
				for j := range i + 1 {
					s.values[scatter[at]] += k[i][j]
					at++
				}
			}
			continue
		}
		m, c := g.mass(t), s.mass[g.piece[t]]
		for i := range 6 {
			for j := range i + 1 {
				s.values[scatter[at]] += k[i][j] + portable.ProductOf(c, s.lift(m[i][j]))
				at++
			}
		}
	}
	for _, row := range g.rim.block {
		for _, v := range row {
			s.values[scatter[at]] += s.lift(v)
			at++
		}
	}
}

// drive is a source seen through a grid.
type drive struct {
	src source
	// as holds the potential of the source at the nodes of iron and conductors, 0
	// elsewhere.
	as []float64
	// normal is ∫ ∂As/∂n Ni over each face, bubble the same with the cubic of the
	// edge.
	normal [][3]float64
	bubble []float64
	// density is μ0 Js of each active piece that is iron.
	density []float64
}

// newDrives evaluates the sources.
func newDrives(g *grid, srcs []source) []drive {
	out := make([]drive, len(srcs))
	parallel.Each(len(srcs), maxWorkers, func(_, i int) {
		src := srcs[i]
		d := drive{
			src: src, as: make([]float64, g.n), normal: make([][3]float64, len(g.faces)),
			bubble: make([]float64, len(g.faces)), density: make([]float64, len(g.d.pieces)),
		}
		for _, n := range g.sourced {
			d.as[n] = src.potential(g.q.Nodes[n])
		}
		for f := range g.faces {
			d.normal[f], d.bubble[f] = g.faces[f].moments(src)
		}
		if c, ok := src.(*current); ok {
			for k, piece := range g.d.index {
				for j, idx := range c.index {
					if idx == piece && g.d.media[k].iron {
						d.density[k] = mu0 * c.shares[j] / g.d.pieces[k].areaM2()
					}
				}
			}
		}
		out[i] = d
	})
	return out
}

// gauss4 is the Gauss rule of four points on [0, 1].
var gauss4 = [4][2]float64{
	{0.069431844202973713, 0.173927422568726929}, {0.330009478207571868, 0.326072577431273071},
	{0.669990521792428132, 0.326072577431273071}, {0.930568155797026287, 0.173927422568726929},
}

// line returns shape functions and tangent of a face at the share x.
func (f *face) line(x float64) (at, tangent geom.Point, n [3]float64) {
	n = [3]float64{(1 - x) * (1 - 2*x), 4 * x * (1 - x), x * (2*x - 1)}
	dn := [3]float64{4*x - 3, 4 - 8*x, 4*x - 1}
	for i, p := range f.at {
		at.X += float64(n[i] * p.X)
		at.Y += float64(n[i] * p.Y)
		tangent.X += float64(dn[i] * p.X)
		tangent.Y += float64(dn[i] * p.Y)
	}
	return at, tangent, n
}

// moments returns ∫ ∂As/∂n Ni and ∫ ∂As/∂n λa λb (λa − λb) over the face, normal
// out of the iron. With B = curl A, ∂A/∂n ds = −B·dl.
func (f *face) moments(src source) (normal [3]float64, bubble float64) {
	for _, q := range gauss4 {
		at, tangent, n := f.line(q[0])
		v := -q[1] * src.flux(at).Dot(tangent)
		for i := range n {
			normal[i] += float64(v * n[i])
		}
		b := q[0]
		bubble += float64(v * (1 - b) * b * (1 - 2*b))
	}
	return normal, bubble
}

// load returns the right-hand side of a drive:
//
//	−∫iron ν ∇As·∇w + ∮faces ∂As/∂n w + ∫iron μ0 Js w − ∫ m As w
func (s *system[T]) load(d *drive, b []T) {
	g := s.g
	clear(b)
	for _, at := range g.reacts {
		t := int(at)
		six := &g.q.Tris[t]
		var as [6]float64
		for i, n := range six {
			as[i] = d.as[n]
		}
		if g.iron(t) {
			s.loadIron(t, six, &as, d, b)
		}
		if g.conducts(t) {
			m, c := g.mass(t), s.mass[g.piece[t]]
			for i, n := range six {
				sum := 0.0
				for j := range as {
					sum += float64(m[i][j] * as[j])
				}
				b[n] -= portable.ProductOf(c, s.lift(sum))
			}
		}
	}
	for f := range g.faces {
		for i, n := range g.faces[f].node {
			b[n] += s.lift(d.normal[f][i])
		}
	}
}

func (s *system[T]) loadIron(t int, six *[6]int32, as *[6]float64, d *drive, b []T) {
	g := s.g
	if s.tangentAt != nil && s.tangentAt[t] >= 0 {
		k := &s.tangent[s.tangentAt[t]]
		for i, n := range six {
			for j, a := range as {
				b[n] -= portable.ProductOf(k[i][j], s.lift(a))
			}
		}
	} else {
		k, nu := g.stiffness(t), s.nuOf(t)
		for i, n := range six {
			sum := 0.0
			for j, a := range as {
				sum += float64(k[i][j] * a)
			}
			b[n] -= portable.ProductOf(nu, s.lift(sum))
		}
	}
	if js := d.density[g.piece[t]]; js != 0 {
		m := g.mass(t)
		for i, n := range six {
			sum := 0.0
			for j := range as {
				sum += m[i][j]
			}
			b[n] += s.lift(js * sum)
		}
	}
}

// maxWorkers is the most goroutines of one parallel loop.
const maxWorkers = 4
