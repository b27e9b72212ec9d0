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
	pieces int
	moment [][12]geom.Point3 // of each cell's edges, m
	look   *sparse.Pattern
	r, s   []float64
	factor *sparse.Factor[float64]
}

func newSystem(m *mesh, k *kernel, p parity) (*system, error) {
	y := &system{m: m, k: k, p: p, u: m.unknowns(p), moment: make([][12]geom.Point3, len(m.cells))}
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
				mass[i][j] += d[i/2].Dot(d[j/2]) / v / 8 * share(i, at) * share(j, at)
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
					r[e][g] += m.rho[c] * fluxOf[i][e] * mass[i][j] * fluxOf[j][g]
				}
			}
			for d := range 3 {
				s[e][g] += linear[d] * (fluxOf[2*d+1][e] - fluxOf[2*d][e]) * (fluxOf[2*d+1][g] - fluxOf[2*d][g])
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

// times sets out = k x, k n×n and x n×w, both by rows.
func times(k, x, out []float64, n, w int) {
	const rows = 32
	parallel.Each((n+rows-1)/rows, 8, func(_, b int) {
		for i := b * rows; i < min(n, (b+1)*rows); i++ {
			to := out[i*w : (i+1)*w]
			row := k[i*n : (i+1)*n]
			for j := 0; j < n; j++ {
				f := row[j]
				from := x[j*w : (j+1)*w]
				for c := range to {
					to[c] += f * from[c]
				}
			}
		}
	})
}

// flux returns b of a source, ∫T·B dV of each unknown, in Wb; below the mirror the source is
// split in the part of parity p and the rest.
func (y *system) flux(source Source) []float64 {
	m := y.m
	at := func(q geom.Point3) geom.Point3 {
		b := source(q)
		if !m.mirror {
			return b
		}
		q.Z = 2*m.midM - q.Z
		o := source(q)
		if y.p == through { // B across is even, along z odd
			return geom.Point3{X: (b.X + o.X) / 2, Y: (b.Y + o.Y) / 2, Z: (b.Z - o.Z) / 2}
		}
		return geom.Point3{X: (b.X - o.X) / 2, Y: (b.Y - o.Y) / 2, Z: (b.Z + o.Z) / 2}
	}
	part := make([][12]float64, len(m.cells))
	parallel.Each(len(m.cells), 8, func(_, c int) {
		x := m.corners(c)
		for i, xi := range rule2 {
			d := jacobian(&x, xi)
			b := at(m.body[c].gauss[i])
			for k := range 3 {
				f := d[(k+1)%3].Cross(d[(k+2)%3]).Dot(b) / 8
				u, v := xi[(k+1)%3], xi[(k+2)%3]
				part[c][4*k] += f * (1 - u) * (1 - v)
				part[c][4*k+1] += f * u * (1 - v)
				part[c][4*k+2] += f * (1 - u) * v
				part[c][4*k+3] += f * u * v
			}
		}
	})
	out := make([]float64, y.u.n)
	for c := range part {
		for e, i := range y.u.dof[c] {
			if i >= 0 {
				out[i] += y.u.sign[c][e] * part[c][e]
			}
		}
	}
	for h, i := range y.u.hole {
		if i >= 0 {
			out[i] += m.holes[h].flux(at)
		}
	}
	return out
}

// flux returns ∫ Bz dV/height over the opening, Wb.
func (h *hole) flux(at func(geom.Point3) geom.Point3) float64 {
	sum := 0.0
	for i, p := range h.area {
		for _, g := range [2]float64{(1 - 1/math.Sqrt(3)) / 2, (1 + 1/math.Sqrt(3)) / 2} {
			sum += h.partM2[i] / 2 * at(p.Space(h.from+(h.to-h.from)*g)).Z
		}
	}
	return sum
}
