package space

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// rod is a round prism, cut at its ends by planes, with an even current density.
// The sum over faces of polyhedron becomes integrals round the rim, n the normal of
// the mantle at angle φ, L the logarithm of the line along it there:
//
//	mantle  ∫ n L a dφ
//	end     n ∮ N·(P × dr')/(R + |h|)   P from the foot of the point on the plane, N its normal
//
// (the second is ∫ dS/R of a plane face of any rim by Gauss' theorem in its
// plane). Beside the mantle L has −ln D², D the distance from the line, whose integral is
// that of the endless bar, closedform.CircleB; what is left is smooth. Both are
// taken by the trapezoidal rule, which converges as a power of the distance for a
// periodic function, the points doubled until two sums agree to ruleError. Inside
// and outside; next to a rim of an end (nearer than some hundredths of the radius) the
// rule stops short of that, and the bound, twice the difference of the last two sums, says so.
type rod struct {
	middle       geom.Point3
	u, v, along  geom.Point3
	halfM        float64
	radiusM      float64
	fromU, fromV float64
	toU, toV     float64
	cos, sin     []float64 // of maxRim angles
}

const (
	leastRim = 16
	maxRim   = 2048
)

func newRod(l *layout.Leg, radiusM float64) *rod {
	w := &rod{
		middle: l.From.Add(l.To).Scale(0.5), u: l.U, v: l.V, along: l.Along,
		halfM: l.To.Sub(l.From).Norm() / 2, radiusM: radiusM,
		cos: make([]float64, maxRim), sin: make([]float64, maxRim),
	}
	w.fromU, w.fromV = slopes(l, l.FromNormal)
	w.toU, w.toV = slopes(l, l.ToNormal)
	for i := range maxRim {
		w.sin[i], w.cos[i] = portable.Sincos(2 * math.Pi * float64(i) / maxRim)
	}
	return w
}

// rim is what one sum over the rim needs.
type rim struct {
	x, y, z  float64
	beside   bool // −ln D² is taken by itself
	from, to end
}

// end is a plane that cuts a rod, z = z0 + su x + sv y, as seen from a point.
type end struct {
	z0, su, sv float64
	slant      float64 // √(1 + su² + sv²)
	height     float64 // of the point over the plane, never negative
}

func newEnd(z0, su, sv, x, y, z float64) end {
	e := end{z0: z0, su: su, sv: sv, slant: math.Sqrt(1 + float64(su*su) + float64(sv*sv))}
	e.height = math.Abs(z-z0-float64(su*x)-float64(sv*y)) / e.slant
	return e
}

// b returns the field at r in T/A and a bound of its error.
func (w *rod) b(r geom.Point3) (geom.Point3, float64) {
	d := r.Sub(w.middle)
	p := rim{x: d.Dot(w.u), y: d.Dot(w.v), z: d.Dot(w.along)}
	p.from = newEnd(-w.halfM, w.fromU, w.fromV, p.x, p.y, p.z)
	p.to = newEnd(w.halfM, w.toU, w.toV, p.x, p.y, p.z)
	rho := portable.Hypot(p.x, p.y)
	// Beside the mantle or past an end, judged at the nearest line of the mantle.
	cx, cy := w.radiusM, 0.0
	if rho > 0 {
		cx, cy = w.radiusM*p.x/rho, w.radiusM*p.y/rho
	}
	p.beside = p.from.at(cx, cy) < p.z && p.z < p.to.at(cx, cy)

	n := leastRim
	sumX, sumY := w.sum(&p, 0, maxRim/n, n)
	var off, size float64
	for n < maxRim {
		moreX, moreY := w.sum(&p, maxRim/(2*n), maxRim/n, n)
		nextX, nextY := (sumX+moreX)/2, (sumY+moreY)/2
		off, size = portable.Hypot(nextX-sumX, nextY-sumY), portable.Hypot(nextX, nextY)
		sumX, sumY = nextX, nextY
		n *= 2
		if off <= ruleError*size {
			break
		}
	}
	area := float64(math.Pi * w.radiusM * w.radiusM)
	rounding := float64(1e-14 * 2 * math.Pi * w.radiusM * (1 + math.Abs(portable.Log(rho+w.halfM+w.radiusM))))
	bound := mu0Over4Pi / area * (2*off + rounding)
	if p.beside {
		k := 2 * area / portable.Pow(math.Max(rho, w.radiusM), 2)
		sumX, sumY = sumX+float64(k*p.x), sumY+float64(k*p.y)
	}
	b := w.v.Scale(sumX).Sub(w.u.Scale(sumY)).Scale(mu0Over4Pi / area)
	return b, bound
}

func (e *end) at(x, y float64) float64 { return e.z0 + float64(e.su*x) + float64(e.sv*y) }

// sum returns Σ n ∫dS/R across the axis, from count angles from first on.
func (w *rod) sum(p *rim, first, step, count int) (x, y float64) {
	a := w.radiusM
	var potFrom, potTo float64
	for k := first; k < maxRim; k += step {
		c, s := w.cos[k], w.sin[k]
		rx, ry := float64(a*c)-p.x, float64(a*s)-p.y
		d2 := float64(rx*rx) + float64(ry*ry)
		la, lb := p.from.at(a*c, a*s)-p.z, p.to.at(a*c, a*s)-p.z
		ra, rb := math.Sqrt(d2+float64(la*la)), math.Sqrt(d2+float64(lb*lb))
		l := rimLog(d2, la, lb, ra, rb, p.beside)
		x += float64(a * c * l)
		y += float64(a * s * l)
		if p.from.slant > 1 {
			potFrom += p.from.rim(rx, ry, la, ra, -a*s, a*c)
		}
		if p.to.slant > 1 {
			potTo += p.to.rim(rx, ry, lb, rb, -a*s, a*c)
		}
	}
	// Outward normals: (−su, −sv, 1)/slant at the end, its opposite at the beginning.
	x += float64(p.from.su/p.from.slant*potFrom) - float64(p.to.su/p.to.slant*potTo)
	y += float64(p.from.sv/p.from.slant*potFrom) - float64(p.to.sv/p.to.slant*potTo)
	f := 2 * math.Pi / float64(count)
	return f * x, f * y
}

// rimLog returns L of a line of the mantle, plus ln D² when beside.
func rimLog(d2, la, lb, ra, rb float64, beside bool) float64 {
	switch {
	case la < 0 && lb > 0:
		if beside {
			return portable.Log((rb + lb) * (ra - la))
		}
		return portable.Log((rb + lb) * (ra - la) / d2)
	case la >= 0:
		if beside {
			return portable.Log((rb + lb) * d2 / (ra + la))
		}
		return portable.Log((rb + lb) / (ra + la))
	}
	if beside {
		return portable.Log((ra - la) * d2 / (rb - lb))
	}
	return portable.Log((ra - la) / (rb - lb))
}

// rim returns N·((r'−r) × dr'/dφ)/(R + |h|) at a point (rx, ry, rz) of the rim as seen
// from the field point, where dr' = (tx, ty, su tx + sv ty) dφ.
func (e *end) rim(rx, ry, rz, dist, tx, ty float64) float64 {
	tz := float64(e.su*tx) + float64(e.sv*ty)
	nx, ny, nz := float64(ry*tz)-float64(rz*ty), float64(rz*tx)-float64(rx*tz), float64(rx*ty)-float64(ry*tx)
	return (nz - float64(e.su*nx) - float64(e.sv*ny)) / e.slant / (dist + e.height)
}
