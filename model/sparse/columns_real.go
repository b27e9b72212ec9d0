package sparse

// Products of a column with numbers, for solutions and for products with a matrix. Lengths follow the first column; what is
// written is as long or longer.

func takeReal(y, l []float64, v float64) {
	y = y[:len(l)]
	for i, a := range l {
		y[i] -= float64(a * v)
	}
}

func addReal(y, l []float64, v float64) {
	y = y[:len(l)]
	for i, a := range l {
		y[i] += float64(a * v)
	}
}

func addFourReal(y []float64, l [4][]float64, v [4]float64) {
	l0, l1, l2, l3 := l[0][:len(y)], l[1][:len(y)], l[2][:len(y)], l[3][:len(y)]
	for i := range y {
		y[i] = y[i] + float64(l0[i]*v[0]) + float64(l1[i]*v[1]) + float64(l2[i]*v[2]) + float64(l3[i]*v[3])
	}
}

func dotReal(l, x []float64) float64 {
	x = x[:len(l)]
	sum := 0.0
	for i, a := range l {
		sum += float64(a * x[i])
	}
	return sum
}

func dotFourReal(l [4][]float64, x []float64) (s0, s1, s2, s3 float64) {
	l0, l1, l2, l3 := l[0][:len(x)], l[1][:len(x)], l[2][:len(x)], l[3][:len(x)]
	for i, v := range x {
		s0 += float64(l0[i] * v)
		s1 += float64(l1[i] * v)
		s2 += float64(l2[i] * v)
		s3 += float64(l3[i] * v)
	}
	return s0, s1, s2, s3
}

func takeRowsReal(y, l, v []float64) {
	v = v[:4]
	for i, a := range l {
		row := y[4*i : 4*i+4 : 4*i+4]
		row[0] -= float64(a * v[0])
		row[1] -= float64(a * v[1])
		row[2] -= float64(a * v[2])
		row[3] -= float64(a * v[3])
	}
}

func gatherRowsReal(v, l, y []float64) {
	v = v[:4]
	for i, a := range l {
		row := y[4*i : 4*i+4 : 4*i+4]
		v[0] -= float64(a * row[0])
		v[1] -= float64(a * row[1])
		v[2] -= float64(a * row[2])
		v[3] -= float64(a * row[3])
	}
}

func scatterReal(y, x, values []float64, rows []int32, v, sum float64) float64 {
	for k, i := range rows {
		a := values[k]
		y[i] += float64(a * v)
		sum += float64(a * x[i])
	}
	return sum
}
