package fem

// corners returns ∇A at the corners of the triangles of saturating iron.
func (z *saturated) corners(est *estimator, x []float64) [][3][2]float64 {
	out := make([][3][2]float64, len(z.elems))
	for e := range z.elems {
		t := z.elems[e].tri
		var a [6]lanes
		for i, v := range z.total(t, x) {
			a[i][0] = v
		}
		var f flux
		est.corners(t, &a, lanes{1, 0}, &f)
		for i := range f {
			out[e][i] = [2]float64{f[i][0][0], f[i][1][0]}
		}
	}
	return out
}

// bends lets an estimator see the curve: ν of the field with ∇A at the corners, or the tangent there.
func (z *saturated) bends(est *estimator, corner [][3][2]float64, tangent bool) {
	g, s := z.s.g, z.s
	// corners multiplies by nu of the piece, which is 0 for curves; the bend hook
	// needs the bare gradient.
	for k := range g.d.media {
		if g.d.media[k].curve {
			est.nu[k] = lanes{1, 0}
		}
	}
	est.bend = func(t int, f *flux) {
		e := s.tangentAt[t]
		if e < 0 {
			return
		}
		for i := range f {
			g0 := corner[e][i]
			nu, slope := z.elems[e].reluctivity(g, float64(g0[0]*g0[0])+float64(g0[1]*g0[1]))
			for k := range 2 {
				fx, fy := f[i][0][k], f[i][1][k]
				along := 0.0
				if tangent {
					along = 2 * slope * (float64(g0[0]*fx) + float64(g0[1]*fy))
				}
				f[i][0][k], f[i][1][k] = float64(nu*fx)+float64(along*g0[0]), float64(nu*fy)+float64(along*g0[1])
			}
		}
	}
}
