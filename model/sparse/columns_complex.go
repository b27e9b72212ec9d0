package sparse

func takeComplex(y, l []complex128, v complex128) {
	y = y[:len(l)]
	for i, a := range l {
		y[i] -= times(a, v)
	}
}

func addComplex(y, l []complex128, v complex128) {
	y = y[:len(l)]
	for i, a := range l {
		y[i] += times(a, v)
	}
}

func addFourComplex(y []complex128, l [4][]complex128, v [4]complex128) {
	l0, l1, l2, l3 := l[0][:len(y)], l[1][:len(y)], l[2][:len(y)], l[3][:len(y)]
	for i := range y {
		y[i] = y[i] + times(l0[i], v[0]) + times(l1[i], v[1]) + times(l2[i], v[2]) + times(l3[i], v[3])
	}
}

func dotComplex(l, x []complex128) complex128 {
	x = x[:len(l)]
	sum := complex128(0)
	for i, a := range l {
		sum += times(a, x[i])
	}
	return sum
}

func dotFourComplex(l [4][]complex128, x []complex128) (s0, s1, s2, s3 complex128) {
	l0, l1, l2, l3 := l[0][:len(x)], l[1][:len(x)], l[2][:len(x)], l[3][:len(x)]
	for i, v := range x {
		s0 += times(l0[i], v)
		s1 += times(l1[i], v)
		s2 += times(l2[i], v)
		s3 += times(l3[i], v)
	}
	return s0, s1, s2, s3
}

func takeRowsComplex(y, l, v []complex128) {
	v = v[:4]
	for i, a := range l {
		row := y[4*i : 4*i+4 : 4*i+4]
		row[0] -= times(a, v[0])
		row[1] -= times(a, v[1])
		row[2] -= times(a, v[2])
		row[3] -= times(a, v[3])
	}
}

func gatherRowsComplex(v, l, y []complex128) {
	v = v[:4]
	for i, a := range l {
		row := y[4*i : 4*i+4 : 4*i+4]
		v[0] -= times(a, row[0])
		v[1] -= times(a, row[1])
		v[2] -= times(a, row[2])
		v[3] -= times(a, row[3])
	}
}

func scatterComplex(y, x, values []complex128, rows []int32, v, sum complex128) complex128 {
	for k, i := range rows {
		a := values[k]
		y[i] += times(a, v)
		sum += times(a, x[i])
	}
	return sum
}
