package eddy

import (
	"math"

	"busgauss/model/geom"
)

// mesh is the metal as hexahedra. Corner i + 2j + 4k of a cell lies at (i, j, k) of its
// reference cube, with a positive determinant. With mirror the metal goes on below the
// plane z = midM as above it, and only the upper half is meshed.
type mesh struct {
	nodes []geom.Point3
	cells [][8]int32
	rho   []float64 // resistivity of each cell, Ω·m
	piece []int32   // of each cell
	holes []hole

	mirror bool
	midM   float64

	body []body // of each cell
}

// hole is an opening through a piece along z, round which a net current may flow.
type hole struct {
	rims     map[[2]int32]float64 // the upright edges of its rim, from lower to higher node: height over that of the piece as meshed
	area     []geom.Point         // centres of the parts of the opening, and
	partM2   []float64            // their areas
	from, to float64              // along z
}

// body is what a cell is for its neighbours.
type body struct {
	of     *shape
	centre geom.Point3
	volume float64
	moment [6]float64 // ∫ (r−c)(r−c)ᵀ dV / V: xx, yy, zz, xy, xz, yz
	reach  float64    // half of its longest diagonal
	sides  [3]float64 // mean lengths of its edges along the axes of the reference cube
	gauss  [8]geom.Point3
	weight [8]float64        // of the points, of the volume; sum to 1
	across [8][3]geom.Point3 // cross products of the columns of the Jacobian there
	axes   [3]geom.Point3    // mean edges
}

// corner returns the node positions of cell c.
func (m *mesh) corners(c int) (x [8]geom.Point3) {
	for i, n := range m.cells[c] {
		x[i] = m.nodes[n]
	}
	return x
}

// jacobian returns the columns of ∂r/∂ξ at a point of the reference cube.
func jacobian(x *[8]geom.Point3, at [3]float64) (d [3]geom.Point3) {
	for i := range 8 {
		var f, g [3]float64
		for k := range 3 {
			if i>>k&1 == 1 {
				f[k], g[k] = at[k], 1
			} else {
				f[k], g[k] = 1-at[k], -1
			}
		}
		d[0] = d[0].Add(x[i].Scale(g[0] * f[1] * f[2]))
		d[1] = d[1].Add(x[i].Scale(f[0] * g[1] * f[2]))
		d[2] = d[2].Add(x[i].Scale(f[0] * f[1] * g[2]))
	}
	return d
}

func place(x *[8]geom.Point3, at [3]float64) (p geom.Point3) {
	for i := range 8 {
		w := 1.0
		for k := range 3 {
			if i>>k&1 == 1 {
				w *= at[k]
			} else {
				w *= 1 - at[k]
			}
		}
		p = p.Add(x[i].Scale(w))
	}
	return p
}

func det(d [3]geom.Point3) float64 { return d[0].Dot(d[1].Cross(d[2])) }

// rule2 is the product rule of two Gauss points each way on the unit cube; its weights are
// 1/8 each. Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, table 25.4.
var rule2 = func() (out [8][3]float64) {
	g := [2]float64{(1 - 1/math.Sqrt(3)) / 2, (1 + 1/math.Sqrt(3)) / 2}
	for i := range out {
		out[i] = [3]float64{g[i&1], g[i>>1&1], g[i>>2&1]}
	}
	return out
}()

func bodyOf(x *[8]geom.Point3) body {
	b := body{of: newShape(x)}
	for i, at := range rule2 {
		b.gauss[i] = place(x, at)
		d := jacobian(x, at)
		for k := range 3 {
			b.across[i][k] = d[(k+1)%3].Cross(d[(k+2)%3])
		}
		b.weight[i] = det(d) / 8
		b.volume += b.weight[i]
		b.centre = b.centre.Add(b.gauss[i].Scale(b.weight[i]))
	}
	b.centre = b.centre.Scale(1 / b.volume)
	for i := range b.weight {
		b.weight[i] /= b.volume
		d := b.gauss[i].Sub(b.centre)
		for k, v := range [6]float64{d.X * d.X, d.Y * d.Y, d.Z * d.Z, d.X * d.Y, d.X * d.Z, d.Y * d.Z} {
			b.moment[k] += float64(b.weight[i] * v)
		}
	}
	b.axes = jacobian(x, [3]float64{0.5, 0.5, 0.5})
	for k := range 3 {
		b.sides[k] = b.axes[k].Norm()
	}
	for i := range 4 {
		b.reach = math.Max(b.reach, x[i].Sub(x[7-i]).Norm()/2)
	}
	return b
}

// finish fills in the bodies.
func (m *mesh) finish() {
	m.body = make([]body, len(m.cells))
	for c := range m.cells {
		x := m.corners(c)
		m.body[c] = bodyOf(&x)
	}
}
