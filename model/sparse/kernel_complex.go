package sparse

// times returns a b with its four products rounded one by one, as the vector kernels
// round them. The operator * might fuse on some processors.
func times(a, b complex128) complex128 {
	return complex(
		float64(real(a)*real(b))-float64(imag(a)*imag(b)),
		float64(imag(a)*real(b))+float64(real(a)*imag(b)))
}

func portableComplex() *kernels[complex128] {
	return &kernels[complex128]{updateComplex, eliminateComplex, scaleComplex, spreadComplex, gatherComplex, complexColumns()}
}

func updateComplex(c []complex128, ldc int, a []complex128, lda int, w []complex128, ldw int, from, to, cols, depth int, store bool) {
	for i := from; i < to; i += 2 {
		last := min(cols, i&^3+4)
		for j := range last {
			tileComplex(c[i+j*ldc:], a[i:], lda, w[j:], ldw, depth, store)
		}
	}
}

// tileComplex is the update of two rows and one column. The four kinds of real products
// are summed apart and combined at the end.
func tileComplex(c, a []complex128, lda int, w []complex128, ldw int, depth int, store bool) {
	var rr0, ii0, ri0, ir0, rr1, ii1, ri1, ir1 float64
	ia, iw := 0, 0
	for range depth {
		pa := a[ia : ia+2 : ia+2]
		wr, wi := real(w[iw]), imag(w[iw])
		a0, a1 := pa[0], pa[1]
		rr0 += float64(real(a0) * wr)
		ii0 += float64(imag(a0) * wi)
		ri0 += float64(real(a0) * wi)
		ir0 += float64(imag(a0) * wr)
		rr1 += float64(real(a1) * wr)
		ii1 += float64(imag(a1) * wi)
		ri1 += float64(real(a1) * wi)
		ir1 += float64(imag(a1) * wr)
		ia += lda
		iw += ldw
	}
	c = c[0:2:2]
	if store {
		c[0] = complex(0-(rr0-ii0), 0-(ir0+ri0))
		c[1] = complex(0-(rr1-ii1), 0-(ir1+ri1))
		return
	}
	c[0] = complex(real(c[0])-(rr0-ii0), imag(c[0])-(ir0+ri0))
	c[1] = complex(real(c[1])-(rr1-ii1), imag(c[1])-(ir1+ri1))
}

func eliminateComplex(x []complex128, ld, rows int, l *[6]complex128) {
	if rows == 0 {
		return
	}
	x0, x1, x2, x3 := x[:rows], x[ld:ld+rows], x[2*ld:2*ld+rows], x[3*ld:3*ld+rows]
	for i := range x0 {
		v0 := x0[i]
		v1 := x1[i] - times(v0, l[0])
		v2 := x2[i] - times(v0, l[1]) - times(v1, l[2])
		x1[i], x2[i] = v1, v2
		x3[i] = x3[i] - times(v0, l[3]) - times(v1, l[4]) - times(v2, l[5])
	}
}

func scaleComplex(y, x []complex128, factor complex128) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] = times(v, factor)
	}
}

func spreadComplex(y, l []complex128, ld int, v []complex128, rows, depth int) {
	for j := range rows {
		tileComplex(y[4*j:], v, 4, l[j:], ld, depth, false)
		tileComplex(y[4*j+2:], v[2:], 4, l[j:], ld, depth, false)
	}
}

func gatherComplex(v, l []complex128, ld int, x []complex128, cols, rows int) {
	for c := range cols {
		column := l[c*ld : c*ld+rows]
		for q := range 4 {
			var rr, ii, ri, ir float64
			for i, a := range column {
				b := x[4*i+q]
				rr += float64(real(b) * real(a))
				ii += float64(imag(b) * imag(a))
				ri += float64(real(b) * imag(a))
				ir += float64(imag(b) * real(a))
			}
			v[4*c+q] -= complex(rr-ii, ir+ri)
		}
	}
}
