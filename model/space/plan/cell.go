package plan

import (
	"math"
	"slices"

	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/portable"
)

const (
	// nodesAcross is the number of interpolation nodes of a cell along each side, and
	// farRadii the distance in radii from which they are used. The kernel 1/R is then
	// interpolated to about (3 + √8)^−6 = 3e-5 at the worst corner and far better in the
	// sum (TestCells: below 1e-5 of the field).
	nodesAcross = 6
	farRadii    = 3.0
	leafSheets  = 10
)

// cell is a box of the plan with the flow in it gathered at the nodes of an
// interpolation: weight q at node i is ∫ K L_i dA, L_i the Lagrange polynomial. From
// afar the field of the flow is the sum over the nodes, because the kernel is
// a polynomial there to the accuracy stated.
//
// Source: W. Fong, E. Darve, The black-box fast multipole method, J. Comput. Phys. 228
// (2009) 8712-8725 (Chebyshev nodes).
type cell struct {
	centre     geom.Point
	half       geom.Point
	radius2    float64 // square of the half diagonal
	first, end int     // of sheets
	kids       [2]int  // index of the halves, -1 for a leaf
	x, z       [nodesAcross]float64
	q          [nodesAcross * nodesAcross][4]float64 // Kx, Kz of ψ, Kx, Kz of φ
}

// chebyshevNodes returns the Chebyshev nodes of [-1, 1].
func chebyshevNodes() (c [nodesAcross]float64) {
	for i := range c {
		c[i] = portable.Cos(math.Pi * (float64(i) + 0.5) / nodesAcross)
	}
	return c
}

// lagrange returns the polynomials of the nodes at u.
func lagrange(nodes *[nodesAcross]float64, u float64) (l [nodesAcross]float64) {
	for i := range l {
		p := 1.0
		for j := range nodes {
			if j != i {
				p *= (u - nodes[j]) / (nodes[i] - nodes[j])
			}
		}
		l[i] = p
	}
	return l
}

// newCells sorts the sheets in place and returns the tree, its root first.
func newCells(sheets []sheet) []cell {
	if len(sheets) == 0 {
		return nil
	}
	var cells []cell
	nodes := chebyshevNodes()
	var build func(first, end int) int
	build = func(first, end int) int {
		own := sheets[first:end]
		box := geom.EmptyBox()
		for i := range own {
			for _, c := range own[i].corner {
				box = box.Extend(c)
			}
		}
		c := cell{centre: box.Centre(), first: first, end: end, kids: [2]int{-1, -1}}
		c.half = own[0].corner[0].Sub(c.centre)
		for i := range own {
			for _, q := range own[i].corner {
				d := q.Sub(c.centre)
				c.half.X, c.half.Y = max(math.Abs(c.half.X), math.Abs(d.X)), max(math.Abs(c.half.Y), math.Abs(d.Y))
			}
		}
		c.radius2 = c.half.Dot(c.half)
		for i, u := range nodes {
			c.x[i], c.z[i] = c.centre.X+float64(u*c.half.X), c.centre.Y+float64(u*c.half.Y)
		}
		at := len(cells)
		cells = append(cells, c)
		if len(own) <= leafSheets {
			cells[at].gather(&nodes, own)
			return at
		}
		slices.SortStableFunc(own, func(a, b sheet) int {
			u, v := a.centre.X, b.centre.X
			if c.half.Y >= c.half.X {
				u, v = a.centre.Y, b.centre.Y
			}
			switch {
			case u < v:
				return -1
			case u > v:
				return 1
			}
			return 0
		})
		mid := halve(own, c.half.Y >= c.half.X, c.centre)
		low := build(first, first+mid)
		high := build(first+mid, end)
		cells[at].kids = [2]int{low, high}
		cells[at].merge(&nodes, &cells[low])
		cells[at].merge(&nodes, &cells[high])
		return at
	}
	build(0, len(sheets))
	return cells
}

// halve returns how many of the sorted sheets lie in the first half of the box, but
// at least an eighth of them in either half.
func halve(own []sheet, along bool, centre geom.Point) int {
	n := 0
	for n < len(own) {
		if along && own[n].centre.Y > centre.Y || !along && own[n].centre.X > centre.X {
			break
		}
		n++
	}
	least := len(own)/8 + 1
	return max(least, min(n, len(own)-least))
}

// gather fills the weights of a leaf.
func (c *cell) gather(nodes *[nodesAcross]float64, own []sheet) {
	rule := element.RuleSquare(4)
	for i := range own {
		sh := &own[i]
		a, b, d := sh.corner[0], sh.corner[1], sh.corner[2]
		for _, r := range rule {
			q := a.Scale(1 - r.Xi - r.Eta).Add(b.Scale(r.Xi)).Add(d.Scale(r.Eta))
			off := q.Sub(sh.centre)
			psi, phi := sh.flow[0].at(off), sh.flow[1].at(off)
			c.give(nodes, q, r.W*2*sh.areaM2, [4]float64{psi.X, psi.Y, phi.X, phi.Y})
		}
	}
}

// merge adds the weights of a half.
func (c *cell) merge(nodes *[nodesAcross]float64, kid *cell) {
	for i := range kid.q {
		c.give(nodes, geom.Point{X: kid.x[i/nodesAcross], Y: kid.z[i%nodesAcross]}, 1, kid.q[i])
	}
}

func (c *cell) give(nodes *[nodesAcross]float64, at geom.Point, w float64, k [4]float64) {
	lx := lagrange(nodes, (at.X-c.centre.X)/c.half.X)
	lz := lagrange(nodes, (at.Y-c.centre.Y)/c.half.Y)
	for i, u := range lx {
		for j, v := range lz {
			f := w * u * v
			q := &c.q[i*nodesAcross+j]
			for n := range k {
				q[n] += float64(f * k[n])
			}
		}
	}
}

// add adds the field of the nodes, each a line of current elements through the
// thickness:
//
//	∫ Ry/R³ dh = 1/R₁ − 1/R₂,  ∫ dh/R³ = (h₂/R₂ − h₁/R₁)/d²
//
// both written without cancellation.
func (c *cell) add(at geom.Point, h1, h2 float64, out *twoFields) {
	t, sum := h2-h1, h1+h2
	apart := h1 > 0 || h2 < 0
	a, b := float64(h1*h1), float64(h2*h2)
	o, p := &out[0], &out[1]
	for i := range nodesAcross {
		dx := at.X - c.x[i]
		dx2 := float64(dx * dx)
		for j := range nodesAcross {
			q := &c.q[i*nodesAcross+j]
			dz := at.Y - c.z[j]
			d2 := dx2 + float64(dz*dz)
			r1, r2 := math.Sqrt(d2+a), math.Sqrt(d2+b)
			inv := t / (r1 * r2)
			up := sum * inv / (r1 + r2)
			var flat float64
			if apart {
				flat = sum * inv / (float64(h2*r1) + float64(h1*r2))
			} else {
				flat = (float64(h2*r1) - float64(h1*r2)) / (r1 * r2 * d2)
			}
			o.X -= float64(q[1] * up)
			o.Y += float64((float64(q[1]*dx) - float64(q[0]*dz)) * flat)
			o.Z += float64(q[0] * up)
			p.X -= float64(q[3] * up)
			p.Y += float64((float64(q[3]*dx) - float64(q[2]*dz)) * flat)
			p.Z += float64(q[2] * up)
		}
	}
}
