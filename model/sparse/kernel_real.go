package sparse

// The conversions float64(x*y) below forbid the compiler to fuse a multiplication with
// the addition after it.

func portableReal() *kernels[float64] {
	return &kernels[float64]{updateReal, eliminateReal, scaleReal, spreadReal, gatherReal, realColumns()}
}

func updateReal(c []float64, ldc int, a []float64, lda int, w []float64, ldw int, from, to, cols, depth int, store bool) {
	for i := from; i < to; i += 4 {
		// A strip of eight rows, as the vector version has them, reaches tiles of four
		// columns up to its own last row.
		last := min(cols, i&^7+8)
		for j := 0; j < last; j += 2 {
			tileReal(c[i+j*ldc:], ldc, a[i:], lda, w[j:], ldw, depth, store)
		}
	}
}

// tileReal is the update of four rows and two columns.
func tileReal(c []float64, ldc int, a []float64, lda int, w []float64, ldw int, depth int, store bool) {
	var s00, s10, s20, s30, s01, s11, s21, s31 float64
	ia, iw := 0, 0
	for range depth {
		pa := a[ia : ia+4 : ia+4]
		pw := w[iw : iw+2 : iw+2]
		w0, w1 := pw[0], pw[1]
		a0, a1, a2, a3 := pa[0], pa[1], pa[2], pa[3]
		s00 += float64(a0 * w0)
		s10 += float64(a1 * w0)
		s20 += float64(a2 * w0)
		s30 += float64(a3 * w0)
		s01 += float64(a0 * w1)
		s11 += float64(a1 * w1)
		s21 += float64(a2 * w1)
		s31 += float64(a3 * w1)
		ia += lda
		iw += ldw
	}
	c0, c1 := c[0:4:4], c[ldc:ldc+4:ldc+4]
	if store {
		c0[0], c0[1], c0[2], c0[3] = 0-s00, 0-s10, 0-s20, 0-s30
		c1[0], c1[1], c1[2], c1[3] = 0-s01, 0-s11, 0-s21, 0-s31
		return
	}
	c0[0] -= s00
	c0[1] -= s10
	c0[2] -= s20
	c0[3] -= s30
	c1[0] -= s01
	c1[1] -= s11
	c1[2] -= s21
	c1[3] -= s31
}

func eliminateReal(x []float64, ld, rows int, l *[6]float64) {
	if rows == 0 {
		return
	}
	x0, x1, x2, x3 := x[:rows], x[ld:ld+rows], x[2*ld:2*ld+rows], x[3*ld:3*ld+rows]
	for i := range x0 {
		v0 := x0[i]
		v1 := x1[i] - float64(v0*l[0])
		v2 := x2[i] - float64(v0*l[1]) - float64(v1*l[2])
		x1[i], x2[i] = v1, v2
		x3[i] = x3[i] - float64(v0*l[3]) - float64(v1*l[4]) - float64(v2*l[5])
	}
}

func scaleReal(y, x []float64, factor float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] = v * factor
	}
}

func spreadReal(y, l []float64, ld int, v []float64, rows, depth int) {
	for j := 0; j < rows; j += 2 {
		tileReal(y[4*j:], 4, v, 4, l[j:], ld, depth, false)
	}
}

func gatherReal(v, l []float64, ld int, x []float64, cols, rows int) {
	for c := range cols {
		var s0, s1, s2, s3 float64
		for i, a := range l[c*ld : c*ld+rows] {
			row := x[4*i : 4*i+4 : 4*i+4]
			s0 += float64(a * row[0])
			s1 += float64(a * row[1])
			s2 += float64(a * row[2])
			s3 += float64(a * row[3])
		}
		row := v[4*c : 4*c+4]
		row[0] -= s0
		row[1] -= s1
		row[2] -= s2
		row[3] -= s3
	}
}
