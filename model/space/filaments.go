package space

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// block is a rectangular prism, cut at its ends by planes, with an even current
// density. Near it the field is that of the polyhedron; further away that of
// filaments at the points of a Gauss product rule over the section, each cut by
// the same planes, as many as rest keeps the error below ruleError.
type block struct {
	exact          *polyhedron
	middle         geom.Point3 // of the centre line
	u, v, along    geom.Point3
	halfM          float64 // of the centre line
	halfU, halfV   float64 // of the section
	fromU, fromV   float64 // slope of the end planes along local x and y
	toU, toV       float64
	stretchU       float64 // length of the way of an end per length across, 1 for a square end
	stretchV       float64
	nodes, weights [maxRule + 1][]float64 // Gauss rules on [-1, 1], weights sum to 1
}

const (
	// ruleError is the relative error aimed at by the filaments.
	ruleError = 1e-10
	maxRule   = 8
	// maxFilaments is where the polyhedron becomes the faster one.
	maxFilaments = 12
)

// newBlock returns the prism of leg l of section widthM × thicknessM.
func newBlock(l *layout.Leg, widthM, thicknessM float64) *block {
	w := &block{
		exact:  newPolyhedron(l, geom.Rectangle(widthM, thicknessM), widthM*thicknessM),
		middle: l.From.Add(l.To).Scale(0.5), u: l.U, v: l.V, along: l.Along,
		halfM: l.To.Sub(l.From).Norm() / 2, halfU: widthM / 2, halfV: thicknessM / 2,
	}
	w.fromU, w.fromV = slopes(l, l.FromNormal)
	w.toU, w.toV = slopes(l, l.ToNormal)
	w.stretchU = portable.Hypot(1, math.Max(math.Abs(w.fromU), math.Abs(w.toU)))
	w.stretchV = portable.Hypot(1, math.Max(math.Abs(w.fromV), math.Abs(w.toV)))
	for n := 1; n <= maxRule; n++ {
		w.nodes[n], w.weights[n] = make([]float64, n), make([]float64, n)
		quad.Legendre{}.FixedLocations(w.nodes[n], w.weights[n], -1, 1)
		for i := range n {
			w.weights[n][i] /= 2
		}
	}
	return w
}

// slopes returns how far an end plane moves along the leg per length along local x and y.
func slopes(l *layout.Leg, normal geom.Point3) (alongU, alongV float64) {
	n := l.Along.Dot(normal)
	return -l.U.Dot(normal) / n, -l.V.Dot(normal) / n
}

// b returns the field at r in T/A and a bound of its error.
func (w *block) b(r geom.Point3) (geom.Point3, float64) {
	d := r.Sub(w.middle)
	x, y, z := d.Dot(w.u), d.Dot(w.v), d.Dot(w.along)
	nu, nv, share := w.rule(x, y, z)
	if nu == 0 {
		return w.exact.b(r)
	}
	var alongU, alongV, size float64
	for i, fu := range w.nodes[nu] {
		cx := float64(fu * w.halfU)
		for j, fv := range w.nodes[nv] {
			cy := float64(fv * w.halfV)
			f := w.weights[nu][i] * w.weights[nv][j]
			dx, dy := x-cx, y-cy
			g := f * line(float64(dx*dx)+float64(dy*dy), float64(w.fromU*cx)+float64(w.fromV*cy)-w.halfM-z, float64(w.toU*cx)+float64(w.toV*cy)+w.halfM-z)
			alongU -= float64(dy * g)
			alongV += float64(dx * g)
			size += math.Abs(g)
		}
	}
	b := w.u.Scale(mu0Over4Pi * alongU).Add(w.v.Scale(mu0Over4Pi * alongV))
	return b, mu0Over4Pi * size * portable.Hypot(x, y) * (share + 1e-14)
}

// line returns the field of a straight filament in units of (μ0 I/4π) times the
// distance from it, seen from a place at the square distance d2 from its line, its ends at
// la and lb along it (closedform.SegmentB).
func line(d2, la, lb float64) float64 {
	ra, rb := math.Sqrt(d2+float64(la*la)), math.Sqrt(d2+float64(lb*lb))
	if la < 0 && lb > 0 {
		return (lb/rb - la/ra) / d2
	}
	return (lb - la) * (ra + rb) / (ra * rb * (float64(ra*rb) + float64(la*lb) + d2))
}

// rule returns how many Gauss points along local x and y keep the error below
// ruleError, 0 where the polyhedron is to be taken, and the share of the field that the error may be.
//
// The field of a filament is an analytic function of its place, up to the places
// where it or one of its ends is at distance 0 from the point. In units of half the width those lie
// outside a disc of radius q, and a rule of n points then errs as ϱ^(−2n) with
// ϱ = q + √(q²−1). Source: L. N. Trefethen, Is Gauss quadrature better than Clenshaw-Curtis?,
// SIAM Rev. 50 (2008) 67-87, theorem 4.5 (reference from memory).
func (w *block) rule(x, y, z float64) (nu, nv int, share float64) {
	over := math.Max(0, math.Abs(z)-w.halfM)
	r := math.Sqrt(float64(x*x) + float64(y*y) + float64(over*over))
	reachU, reachV := float64(w.halfU*w.stretchU), float64(w.halfV*w.stretchV)
	nu, errU := gaussPoints((r - reachV) / reachU)
	nv, errV := gaussPoints((r - reachU) / reachV)
	if nu > maxRule || nv > maxRule || nu*nv > maxFilaments {
		return 0, 0, 0
	}
	return nu, nv, errU + errV
}

// gaussPoints returns the number of Gauss points that reach ruleError at the ratio
// q of distance to half width, and the error.
func gaussPoints(q float64) (int, float64) {
	if !(q > 1.5) {
		return maxRule + 1, 0
	}
	rho := q + math.Sqrt(float64(q*q)-1)
	rho *= rho
	// 64/15/(1−ϱ⁻²) of the theorem, and the field on the ellipse against that at the point.
	e := 16.0
	for n := 1; n <= maxRule; n++ {
		if e /= rho; e < ruleError {
			return n, e
		}
	}
	return maxRule + 1, 0
}
