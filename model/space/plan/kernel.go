package plan

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// linear is a sheet current that varies linearly: k (A/m per ampere) at the
// centre, and the derivatives ∂Kx/∂x, ∂Kx/∂z, ∂Kz/∂x, ∂Kz/∂z.
type linear struct {
	k              geom.Point
	xx, xz, zx, zz float64
}

func (l *linear) at(d geom.Point) geom.Point {
	return geom.Point{X: l.k.X + float64(l.xx*d.X) + float64(l.xz*d.Y), Y: l.k.Y + float64(l.zx*d.X) + float64(l.zz*d.Y)}
}

// sheet is a triangle of the plan with the two flows of its mesh.
type sheet struct {
	corner [3]geom.Point // counter-clockwise
	s, m   [3]geom.Point // unit vectors along edge i (corner i to i+1) and out of it
	length [3]float64
	centre geom.Point
	areaM2 float64
	flow   [2]linear // of ψ and of φ
}

func (sh *sheet) place(a, b, c geom.Point) {
	sh.corner = [3]geom.Point{a, b, c}
	sh.centre = a.Add(b).Add(c).Scale(1.0 / 3)
	sh.areaM2 = b.Sub(a).Cross(c.Sub(a)) / 2
	for i := range 3 {
		e := sh.corner[(i+1)%3].Sub(sh.corner[i])
		sh.length[i] = e.Norm()
		sh.s[i] = e.Scale(1 / sh.length[i])
		sh.m[i] = geom.Point{X: sh.s[i].Y, Y: -sh.s[i].X}
	}
}

// twoFields holds the field of both flows, without the factor μ0/(4π t).
type twoFields [2]geom.Point3

// add adds ∫ K × R/R³ dV of a triangular prism, R from the source to the point, for
// a point whose foot on the plan is at, h1 over the upper face and h2 over the lower
// one (h1 = y − t/2, h2 = y + t/2). Exact everywhere: outside, inside, on faces and
// edges.
//
// With ρ from the foot to the source, g = (Kz, −Kx), and for an edge with unit
// vectors s along and m out of it, distance τ = ρ·m, ends l⁻ and l⁺ along s:
//
//	Bx = −∫ Kz (1/R₁ − 1/R₂) dA,  Bz = ∫ Kx (1/R₁ − 1/R₂) dA
//	By = −∫∫ g·ρ/R³ dA dh
//	∫ 1/R dA     = P(h) = Σ τ f − |h| β
//	∫ ρ/R dA     = Σ ½ m [(τ²+h²) f + l⁺R⁺ − l⁻R⁻]
//	−∫ ρ/R³ dA   = Σ m f
//	−∫ ρρ/R³ dA  = Σ m (τ m f + s (R⁺−R⁻)) − 1 P
//	f = ln((R⁺+l⁺)/(R⁻+l⁻)),  β = solid angle of the triangle
//
// and through the thickness
//
//	∫ f dh     = S = [h f] + l⁺v⁺ − l⁻v⁻ − |τ| Ω,  v = [ln(h+R)],  Ω = solid angle of the side face
//	∫ R dh     = ½ [h R] + ½ (τ²+l²) v
//	∫ P dh     = ½ (Σ τ S + [h P])
//
// Source: D. R. Wilton et al., IEEE Trans. Antennas Propag. 32 (1984) 276-281, for the
// integrals over the face; those through the thickness by integration. Solid
// angles: A. Van Oosterom, J. Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125-126.
func (sh *sheet) add(at geom.Point, h1, h2 float64, out *twoFields) {
	var r [3]geom.Point
	var d2, r1, r2, v [3]float64
	for i, c := range sh.corner {
		r[i] = c.Sub(at)
		d2[i] = r[i].Dot(r[i])
		r1[i] = math.Sqrt(d2[i] + float64(h1*h1))
		r2[i] = math.Sqrt(d2[i] + float64(h2*h2))
		v[i] = logRatio(h1, h2, r1[i], r2[i], d2[i])
	}
	var mom geom.Point // ∫ρ/R at h1 minus at h2
	var p1, p2, sides float64
	var flux [2]float64
	d := at.Sub(sh.centre)
	k := [2]geom.Point{sh.flow[0].at(d), sh.flow[1].at(d)}
	for i := range 3 {
		j := (i + 1) % 3
		s, m := sh.s[i], sh.m[i]
		tau := r[i].Dot(m)
		lm := r[i].Dot(s)
		lp := lm + sh.length[i]
		t2 := float64(tau * tau)
		f1 := logRatio(lm, lp, r1[i], r1[j], t2+float64(h1*h1))
		f2 := logRatio(lm, lp, r2[i], r2[j], t2+float64(h2*h2))
		p1 += float64(tau * f1)
		p2 += float64(tau * f2)
		mom = mom.Add(m.Scale((float64((t2+float64(h1*h1))*f1) - float64((t2+float64(h2*h2))*f2) + float64(lp*(r1[j]-r2[j])) - float64(lm*(r1[i]-r2[i]))) / 2))
		side := float64(h2*f2) - float64(h1*f1) + float64(lp*v[j]) - float64(lm*v[i])
		if tau != 0 {
			side -= float64(math.Abs(tau) * sideAngle(math.Abs(tau), lm, lp, h1, h2, r1[i], r1[j], r2[i], r2[j]))
		}
		rise := (float64(h2*(r2[j]-r2[i])) - float64(h1*(r1[j]-r1[i])) + float64(d2[j]*v[j]) - float64(d2[i]*v[i])) / 2
		sides += float64(tau * side)
		for n := range 2 {
			l := &sh.flow[n]
			// g and its derivatives, symmetric part.
			cxx, czz, cxz := l.zx, -l.xz, (l.zz-l.xx)/2
			cm := geom.Point{X: float64(cxx*m.X) + float64(cxz*m.Y), Y: float64(cxz*m.X) + float64(czz*m.Y)}
			g := geom.Point{X: k[n].Y, Y: -k[n].X}
			flux[n] += float64((g.Dot(m)+float64(tau*cm.Dot(m)))*side) + float64(cm.Dot(s)*rise)
		}
	}
	double := 2 * sh.areaM2
	p1 -= faceAngle(&r, &r1, h1, double)
	p2 -= faceAngle(&r, &r2, h2, double)
	volume := (sides + float64(h2*p2) - float64(h1*p1)) / 2
	for n := range 2 {
		l := &sh.flow[n]
		b := &out[n]
		b.X -= float64(k[n].Y*(p1-p2)) + float64(l.zx*mom.X) + float64(l.zz*mom.Y)
		b.Y += flux[n] - float64((l.zx-l.xz)*volume)
		b.Z += float64(k[n].X*(p1-p2)) + float64(l.xx*mom.X) + float64(l.xz*mom.Y)
	}
}

// logRatio returns ln((R⁺+l⁺)/(R⁻+l⁻)) for l⁻ <= l⁺ with R² = l² + far, without
// cancellation; 0 where it is infinite: its factor is 0 there.
func logRatio(lm, lp, rm, rp, far float64) float64 {
	var x float64
	switch {
	case lm >= 0:
		x = (rp + lp) / (rm + lm)
	case lp <= 0:
		x = (rm - lm) / (rp - lp)
	default:
		x = (rp + lp) * (rm - lm) / far
	}
	if !(x > 0) || x > math.MaxFloat64 {
		return 0
	}
	return portable.Log(x)
}

// faceAngle returns |h| times the solid angle of the triangle seen from the point.
func faceAngle(r *[3]geom.Point, d *[3]float64, h, double float64) float64 {
	if h == 0 {
		return 0
	}
	h2 := float64(h * h)
	den := float64(d[0]*d[1]*d[2]) + float64((r[0].Dot(r[1])+h2)*d[2]) + float64((r[1].Dot(r[2])+h2)*d[0]) + float64((r[2].Dot(r[0])+h2)*d[1])
	h = math.Abs(h)
	return 2 * h * portable.Atan2(h*double, den)
}

// sideAngle returns the solid angle of a rectangle at the distance tau from the
// point, from lm to lp along and from h1 to h2 across, as two triangles.
func sideAngle(tau, lm, lp, h1, h2, rm1, rp1, rm2, rp2 float64) float64 {
	t2 := float64(tau * tau)
	volume := tau * (lp - lm) * (h2 - h1)
	diag := t2 + float64(lm*lp) + float64(h1*h2) // (l−, h1)·(l+, h2)
	a := float64(rm1*rp1*rp2) + float64((t2+float64(lm*lp)+float64(h1*h1))*rp2) + float64((t2+float64(lp*lp)+float64(h1*h2))*rm1) + float64(diag*rp1)
	b := float64(rm1*rp2*rm2) + float64(diag*rm2) + float64((t2+float64(lm*lp)+float64(h2*h2))*rm1) + float64((t2+float64(lm*lm)+float64(h1*h2))*rp2)
	return 2 * (portable.Atan2(volume, a) + portable.Atan2(volume, b))
}
