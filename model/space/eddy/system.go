package eddy

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/parallel"
	"busgauss/model/si"
	"busgauss/model/sparse"
)

const mu0Over4Pi = si.Mu0HPerM / (4 * math.Pi)

// system is (R + jωL) t = −jω b of one mesh and parity, with R factored. L stands apart:
// L = Cᵀ K C + S, C from circulations to the moments of cells, ∫J dV.
type system struct {
	m      *mesh
	k      *kernel
	p      parity
	u      *unknowns
	moment [][12]geom.Point3 // of each cell's edges, m
	look   *sparse.Pattern
	r, s   []float64
	factor *sparse.Factor[float64]

	iron *permeable // takes the place of k where some piece is magnetic; else nil
}

func newSystem(m *mesh, p parity) (*system, error) {
	y := &system{m: m, p: p, u: m.unknowns(p), moment: make([][12]geom.Point3, len(m.cells))}
	var rows, cols []int32
	var ohm, henry []float64
	for c := range m.cells {
		b := &m.body[c]
		for e := range 12 {
			if y.u.dof[c][e] < 0 {
				continue
			}
			for d := range 3 {
				f := (fluxOf[2*d][e] + fluxOf[2*d+1][e]) / 2 * y.u.sign[c][e]
				y.moment[c][e] = y.moment[c][e].Add(b.axes[d].Scale(f))
			}
		}
		r, s := m.local(c)
		for e := range 12 {
			i := y.u.dof[c][e]
			if i < 0 {
				continue
			}
			for g := range 12 {
				j := y.u.dof[c][g]
				if j < 0 {
					continue
				}
				rows, cols = append(rows, i), append(cols, j)
				f := y.u.sign[c][e] * y.u.sign[c][g]
				ohm, henry = append(ohm, f*r[e][g]), append(henry, f*s[e][g])
			}
		}
	}
	if y.u.n == 0 {
		return y, nil
	}
	var scatter []int32
	y.look, scatter = sparse.NewPattern(y.u.n, rows, cols)
	y.r, y.s = make([]float64, y.look.Len()), make([]float64, y.look.Len())
	sparse.Assemble(y.r, scatter, ohm)
	sparse.Assemble(y.s, scatter, henry)
	var err error
	if y.factor, err = sparse.FactorNumeric(sparse.Analyse(y.look), y.r, nil); err != nil {
		return nil, fmt.Errorf("resistances of the walls: %w", err)
	}
	return y, nil
}

// local returns the resistance and the inductance S of the edges of a cell, in Ω and H.
// Within a cell the current through a side runs linearly to that through the opposite
// side (Piola's map of the lowest Raviart-Thomas element). The kernel sees its mean alone; S is
// what the rest stores, a wave of half a length of the cell each way along it and along its
// middle side: without it currents that alternate from cell to cell would store nothing.
func (m *mesh) local(c int) (r, s [12][12]float64) {
	x := m.corners(c)
	var mass [6][6]float64
	for _, at := range rule2 {
		d := jacobian(&x, at)
		v := det(d)
		for i := range 6 {
			for j := range 6 {
				mass[i][j] += float64(d[i/2].Dot(d[j/2]) / v / 8 * share(i, at) * share(j, at))
			}
		}
	}
	b := &m.body[c]
	var linear [3]float64
	middle := b.sides[0] + b.sides[1] + b.sides[2] - max(b.sides[0], b.sides[1], b.sides[2]) - min(b.sides[0], b.sides[1], b.sides[2])
	for d := range 3 {
		h2 := b.sides[d] * b.sides[d]
		linear[d] = si.Mu0HPerM / (math.Pi * math.Pi * (1/h2 + 1/(middle*middle))) * h2 / b.volume / 12
	}
	for e := range 12 {
		for g := range 12 {
			for i := range 6 {
				for j := range 6 {
					r[e][g] += float64(m.rho[c] * fluxOf[i][e] * mass[i][j] * fluxOf[j][g])
				}
			}
			for d := range 3 {
				s[e][g] += float64(linear[d] * (fluxOf[2*d+1][e] - fluxOf[2*d][e]) * (fluxOf[2*d+1][g] - fluxOf[2*d][g]))
			}
		}
	}
	return r, s
}

// share is the part of the current through a side at a point of the reference cube.
func share(side int, at [3]float64) float64 {
	if side%2 == 1 {
		return at[side/2]
	}
	return 1 - at[side/2]
}

// momentsOf sets out[3c+k] to the moments of the cells in A·m.
func (y *system) momentsOf(t, out []float64) {
	for c := range y.moment {
		var sum geom.Point3
		for e, i := range y.u.dof[c] {
			if i >= 0 {
				sum = sum.Add(y.moment[c][e].Scale(t[i]))
			}
		}
		out[3*c], out[3*c+1], out[3*c+2] = sum.X, sum.Y, sum.Z
	}
}

// gather adds Cᵀ a to out, a three numbers a cell.
func (y *system) gather(a, out []float64) {
	for c := range y.moment {
		v := geom.Point3{X: a[3*c], Y: a[3*c+1], Z: a[3*c+2]}
		for e, i := range y.u.dof[c] {
			if i >= 0 {
				out[i] += y.moment[c][e].Dot(v)
			}
		}
	}
}

// inductance returns L t for each t, and the moments of each.
func (y *system) inductance(t [][]float64) (l, moments [][]float64) {
	if y.iron != nil {
		return y.ironInductance(t)
	}
	n, w := len(y.m.cells), len(t)
	moments = make([][]float64, w)
	l = make([][]float64, w)
	xy, z := make([]float64, n*2*w), make([]float64, n*w)
	for j := range t {
		moments[j] = make([]float64, 3*n)
		y.momentsOf(t[j], moments[j])
		for c := range n {
			xy[2*(c*w+j)], xy[2*(c*w+j)+1] = moments[j][3*c], moments[j][3*c+1]
			z[c*w+j] = moments[j][3*c+2]
		}
	}
	kxy, kz := y.k.plus, y.k.minus
	if y.p == through {
		kxy, kz = kz, kxy
	}
	axy, az := make([]float64, n*2*w), make([]float64, n*w)
	times(kxy, xy, axy, n, 2*w)
	times(kz, z, az, n, w)
	a := make([]float64, 3*n)
	for j := range t {
		for c := range n {
			a[3*c], a[3*c+1], a[3*c+2] = mu0Over4Pi*axy[2*(c*w+j)], mu0Over4Pi*axy[2*(c*w+j)+1], mu0Over4Pi*az[c*w+j]
		}
		l[j] = make([]float64, y.u.n)
		sparse.MulVec(y.look, y.s, t[j], l[j])
		y.gather(a, l[j])
	}
	return l, moments
}

// times sets out = k x, k n×n and x n×w, both by rows. Eight rows at a time pass over x, four of
// its rows at once, so that most numbers are at hand when they are wanted.
func times(k, x, out []float64, n, w int) {
	const rows = 8
	parallel.Each((n+rows-1)/rows, 8, func(_, b int) {
		first, last := b*rows, min(n, (b+1)*rows)
		j := 0
		for ; j+4 <= n; j += 4 {
			x0, x1, x2, x3 := x[j*w:(j+1)*w], x[(j+1)*w:(j+2)*w], x[(j+2)*w:(j+3)*w], x[(j+3)*w:(j+4)*w]
			for i := first; i < last; i++ {
				f := k[i*n+j : i*n+j+4]
				f0, f1, f2, f3 := f[0], f[1], f[2], f[3]
				to := out[i*w : (i+1)*w]
				x0, x1, x2, x3 := x0[:len(to)], x1[:len(to)], x2[:len(to)], x3[:len(to)]
				for c := range to {
					to[c] += float64(f0*x0[c]) + float64(f1*x1[c]) + float64(f2*x2[c]) + float64(f3*x3[c])
				}
			}
		}
		for ; j < n; j++ {
			from := x[j*w : (j+1)*w]
			for i := first; i < last; i++ {
				axpy(k[i*n+j], from, out[i*w:(i+1)*w])
			}
		}
	})
}

// fluxes returns b of a source, ∫T·B dV of each unknown in Wb, for each of the systems of one
// mesh, but for iron: with a mirror the source is split in the parts of either parity. part is room for one cell each.
func fluxes(systems []*system, source Source, part [][2][12]float64) [][]float64 {
	m := systems[0].m
	at := func(q geom.Point3) (out [2]geom.Point3) {
		b := source(q)
		if !m.mirror {
			return [2]geom.Point3{b}
		}
		q.Z = 2*m.midM - q.Z
		o := source(q)
		// Of a current through the plane B across is even, along z odd.
		out[through] = geom.Point3{X: (b.X + o.X) / 2, Y: (b.Y + o.Y) / 2, Z: (b.Z - o.Z) / 2}
		out[round] = geom.Point3{X: (b.X - o.X) / 2, Y: (b.Y - o.Y) / 2, Z: (b.Z + o.Z) / 2}
		return out
	}
	parallel.Each(len(m.cells), 8, func(_, c int) {
		part[c] = [2][12]float64{}
		if iron := systems[0].iron; iron != nil && iron.mu[c] > 1 {
			return
		}
		for i, xi := range rule2 {
			b := at(m.body[c].gauss[i])
			for k := range 3 {
				n := m.body[c].across[i][k]
				u, v := xi[(k+1)%3], xi[(k+2)%3]
				for p := range systems {
					f := n.Dot(b[p]) / 8
					part[c][p][4*k] += float64(f * (1 - u) * (1 - v))
					part[c][p][4*k+1] += float64(f * u * (1 - v))
					part[c][p][4*k+2] += float64(f * (1 - u) * v)
					part[c][p][4*k+3] += float64(f * u * v)
				}
			}
		}
	})
	out := make([][]float64, len(systems))
	for p, y := range systems {
		out[p] = make([]float64, y.u.n)
		for c := range part {
			for e, i := range y.u.dof[c] {
				if i >= 0 {
					out[p][i] += float64(y.u.sign[c][e] * part[c][p][e])
				}
			}
		}
		for h, i := range y.u.hole {
			if i >= 0 {
				out[p][i] += m.holes[h].flux(func(q geom.Point3) geom.Point3 { return at(q)[p] })
			}
		}
	}
	return out
}

// flux returns ∫ Bz dV/height over the opening, Wb.
func (h *hole) flux(at func(geom.Point3) geom.Point3) float64 {
	sum := 0.0
	for i, p := range h.area {
		for _, g := range [2]float64{(1 - 1/math.Sqrt(3)) / 2, (1 + 1/math.Sqrt(3)) / 2} {
			sum += float64(h.partM2[i] / 2 * at(p.Space(h.from+float64((h.to-h.from)*g))).Z)
		}
	}
	return sum
}
