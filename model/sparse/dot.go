package sparse

// Dot returns the sum of a[i]·b[i], in four sums that do not wait for one another; b is as long as a or longer.
func Dot(a, b []float64) float64 {
	var s, t, u, v float64
	b = b[:len(a)]
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s += a[i] * b[i]
		t += a[i+1] * b[i+1]
		u += a[i+2] * b[i+2]
		v += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s += a[i] * b[i]
	}
	return (s + t) + (u + v)
}
