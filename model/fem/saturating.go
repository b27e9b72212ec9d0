package fem

import (
	"fmt"
	"math"

	"busgauss/model/element"
	"busgauss/model/geom"
)

// combined is a weighted sum of sources.
type combined struct {
	srcs    []source
	weights []float64
}

func (c *combined) potential(p geom.Point) float64 {
	sum := 0.0
	for i, s := range c.srcs {
		if c.weights[i] != 0 {
			sum += float64(c.weights[i] * s.potential(p))
		}
	}
	return sum
}

func (c *combined) flux(p geom.Point) geom.Point {
	var sum geom.Point
	for i, s := range c.srcs {
		if c.weights[i] != 0 {
			sum = sum.Add(s.flux(p).Scale(c.weights[i]))
		}
	}
	return sum
}

// curveElement is a triangle of saturating iron with the gradients of its shape
// functions at the points of the rule.
type curveElement struct {
	tri    int
	piece  int
	gx, gy [6][6]float64 // [point][node]
	w      [6]float64    // weight times area, m²
}

// curveElements prepares the triangles of pieces with a curve.
func (g *grid) curveElements() []curveElement {
	var out []curveElement
	rule := element.Rule6()
	for t := range g.q.Tris {
		p := g.piece[t]
		if p < 0 || !g.d.media[p].curve {
			continue
		}
		c := curveElement{tri: t, piece: p}
		x, y := g.nodes(t)
		for k, q := range rule {
			dXi, dEta := element.ShapeGrad(q.Xi, q.Eta)
			j := element.NewJacobian(&x, &y, &dXi, &dEta)
			c.w[k] = q.W * j.Det
			for i := range 6 {
				c.gx[k][i], c.gy[k][i] = j.Push(dXi[i], dEta[i])
			}
		}
		out = append(out, c)
	}
	return out
}

// gradient returns ∂A/∂x, ∂A/∂y at point k of the rule.
func (c *curveElement) gradient(k int, a *[6]float64) (x, y float64) {
	for i, v := range a {
		x += float64(c.gx[k][i] * v)
		y += float64(c.gy[k][i] * v)
	}
	return x, y
}

// saturated is a problem of saturating iron on one grid.
type saturated struct {
	s     *system[float64]
	d     drive
	elems []curveElement
	load  []float64 // right-hand side of everything that does not depend on the curve
	fixed []float64 // matrix of everything that does not depend on the curve
}

// reluctivity returns ν relative to free space and dν/d(B²).
func (c *curveElement) reluctivity(g *grid, b2 float64) (nu, slope float64) {
	nu, slope = g.d.pieces[c.piece].Curve.Reluctivity(b2)
	return float64(nu * mu0), float64(slope * mu0)
}

// total returns As + Ar at the nodes.
func (z *saturated) total(t int, x []float64) (a [6]float64) {
	for i, n := range z.s.g.q.Tris[t] {
		a[i] = x[n] + z.d.as[n]
	}
	return a
}

// residual returns the out-of-balance of x for the load factor:
//
//	fixed·x + ∫ ν(B) ∇(As+x)·∇w − load
func (z *saturated) residual(x, out []float64, factor float64) {
	g := z.s.g
	mulFixed(z, x, out)
	for i, v := range z.load {
		out[i] -= float64(factor * v)
	}
	for e := range z.elems {
		c := &z.elems[e]
		var a [6]float64
		for i, n := range g.q.Tris[c.tri] {
			a[i] = x[n] + float64(factor*z.d.as[n])
		}
		var f [6]float64
		for k := range c.w {
			gx, gy := c.gradient(k, &a)
			nu, _ := c.reluctivity(g, float64(gx*gx)+float64(gy*gy))
			w := nu * c.w[k]
			for i := range f {
				f[i] += float64(w * (float64(c.gx[k][i]*gx) + float64(c.gy[k][i]*gy)))
			}
		}
		for i, n := range g.q.Tris[c.tri] {
			out[n] += f[i]
		}
	}
}

// tangents fills the element matrices of the tangent at x:
//
//	∫ ν ∇Ni·∇Nj + 2 ν′ (∇A·∇Ni)(∇A·∇Nj),  ν′ = dν/d(B²)
func (z *saturated) tangents(x []float64, factor float64) {
	g := z.s.g
	for e := range z.elems {
		c := &z.elems[e]
		var a [6]float64
		for i, n := range g.q.Tris[c.tri] {
			a[i] = x[n] + float64(factor*z.d.as[n])
		}
		k := &z.s.tangent[e]
		*k = [6][6]float64{}
		for p := range c.w {
			gx, gy := c.gradient(p, &a)
			nu, slope := c.reluctivity(g, float64(gx*gx)+float64(gy*gy))
			w, v := nu*c.w[p], 2*slope*c.w[p]
			var along [6]float64
			for i := range along {
				along[i] = float64(gx*c.gx[p][i]) + float64(gy*c.gy[p][i])
			}
			for i := range 6 {
				for j := range i + 1 {
					k[i][j] += float64(w*(float64(c.gx[p][i]*c.gx[p][j])+float64(c.gy[p][i]*c.gy[p][j]))) + float64(v*along[i]*along[j])
				}
			}
		}
		for i := range 6 {
			for j := range i {
				k[j][i] = k[i][j]
			}
		}
	}
}

// newSaturated prepares a grid with its curveElements.
func newSaturated(g *grid, src *combined, elems []curveElement) *saturated {
	z := &saturated{s: &system[float64]{g: g, lift: liftReal}, elems: elems}
	s := z.s
	for k := range g.d.media {
		nu := real(g.d.media[k].nu)
		if g.d.media[k].curve {
			nu = 0
		}
		s.nu, s.mass = append(s.nu, nu), append(s.mass, 0)
	}
	s.assemble() // without the curve: kept as the fixed part
	z.fixed = append([]float64(nil), s.values...)
	z.setSource(src)
	s.tangentAt = make([]int32, len(g.q.Tris))
	for t := range s.tangentAt {
		s.tangentAt[t] = -1
	}
	for e := range z.elems {
		s.tangentAt[z.elems[e].tri] = int32(e)
	}
	s.tangent = make([][6][6]float64, len(z.elems))
	return z
}

// setSource sets the load.
func (z *saturated) setSource(src *combined) {
	g := z.s.g
	z.d = combinedDrive(src, g.primaryDrives(src.srcs))
	z.load = make([]float64, g.n)
	keep := z.s.tangentAt
	z.s.tangentAt = nil // the curve's part is in the residual
	z.s.load(&z.d, z.load)
	z.s.tangentAt = keep
}

// NotConverged says that Newton's method ended above its tolerance. Best holds
// the last state; its bounds count the missing convergence as error.
type NotConverged struct {
	Best      *Nonlinear
	Steps     int
	Decrement float64 // energy norm of the last step over that of the field
	Tolerance float64
}

// Error returns the numbers.
func (e *NotConverged) Error() string {
	return fmt.Sprintf("plane field: saturating iron did not converge in %d steps: last step %.2g of the field, wanted %.2g", e.Steps, e.Decrement, e.Tolerance)
}

// volumeField returns the field at q of the magnetisation of saturating iron:
//
//	−∫ (ν−1) ∇A·∇D dS, D the dipole source of Bx or By at q
//
// parts of a triangle are halved until they are far enough from q.
func (z *saturated) volumeField(x []float64, q geom.Point) (bx, by float64) {
	rule := element.Rule6()
	for e := range z.elems {
		c := &z.elems[e]
		a := z.total(c.tri, x)
		px, py := z.s.g.nodes(c.tri)
		v := volumePart{z: z, c: c, a: &a, x: &px, y: &py, q: q, rule: rule}
		v.add([3][2]float64{{0, 0}, {1, 0}, {0, 1}}, maxQuarts)
		bx, by = bx+v.bx, by+v.by
	}
	return bx, by
}

type volumePart struct {
	z      *saturated
	c      *curveElement
	a      *[6]float64
	x, y   *[6]float64
	q      geom.Point
	rule   []element.Node
	bx, by float64
}

func (v *volumePart) add(part [3][2]float64, quarts int) {
	var c [3]geom.Point
	for i, p := range part {
		for k, n := range element.Shape(p[0], p[1]) {
			c[i].X += float64(n * v.x[k])
			c[i].Y += float64(n * v.y[k])
		}
	}
	k, long := 0, -1.0
	for i := range 3 {
		if l := c[(i+1)%3].Sub(c[i]).Norm(); l > long {
			k, long = i, l
		}
	}
	if quarts > 0 && c[0].Add(c[1]).Add(c[2]).Scale(1.0/3).Sub(v.q).Norm() < nearTri*long {
		a, b, o := part[k], part[(k+1)%3], part[(k+2)%3]
		m := [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
		v.add([3][2]float64{a, m, o}, quarts-1)
		v.add([3][2]float64{m, b, o}, quarts-1)
		return
	}
	jxx, jxy := part[1][0]-part[0][0], part[2][0]-part[0][0]
	jyx, jyy := part[1][1]-part[0][1], part[2][1]-part[0][1]
	det := float64(jxx*jyy) - float64(jxy*jyx)
	d0, d1 := dipole{v.q, 0}, dipole{v.q, 1}
	for _, p := range v.rule {
		xi, eta := part[0][0]+float64(jxx*p.Xi)+float64(jxy*p.Eta), part[0][1]+float64(jyx*p.Xi)+float64(jyy*p.Eta)
		dXi, dEta := element.ShapeGrad(xi, eta)
		j := element.NewJacobian(v.x, v.y, &dXi, &dEta)
		var at geom.Point
		for i, n := range element.Shape(xi, eta) {
			at.X += float64(n * v.x[i])
			at.Y += float64(n * v.y[i])
		}
		var gx, gy float64
		for i, a := range v.a {
			dx, dy := j.Push(dXi[i], dEta[i])
			gx += float64(a * dx)
			gy += float64(a * dy)
		}
		nu, _ := v.c.reluctivity(v.z.s.g, float64(gx*gx)+float64(gy*gy))
		// ∇A·∇D = curl A · curl D.
		w := -(nu - 1) * p.W * det * j.Det
		f0, f1 := d0.flux(at), d1.flux(at)
		v.bx += float64(w * (float64(gy*f0.X) - float64(gx*f0.Y)))
		v.by += float64(w * (float64(gy*f1.X) - float64(gx*f1.Y)))
	}
}

// finite says whether x holds only numbers.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
