package sparse

// Sums are kept in lanes, of which lane k holds the products k, k+lanes, ... and which are added in halves at the end: vector
// and portable code do the same additions and give the same bytes.
const lanes = 16

// Dot returns the sum of a[i]·b[i]; b is as long as a or longer.
func Dot(a, b []float64) float64 {
	b = b[:len(a)]
	var sums [lanes]float64
	whole := len(a) &^ (lanes - 1)
	dotBlocks(a[:whole], b, &sums)
	for i := whole; i < len(a); i++ {
		sums[i-whole] += float64(a[i] * b[i])
	}
	return folded(sums[:])
}

// DotSingle is Dot with a in single precision, each of which is made double before it is multiplied.
func DotSingle(a []float32, b []float64) float64 {
	b = b[:len(a)]
	var sums [lanes]float64
	whole := len(a) &^ (lanes - 1)
	dotSingleBlocks(a[:whole], b, &sums)
	for i := whole; i < len(a); i++ {
		sums[i-whole] += float64(float64(a[i]) * b[i])
	}
	return folded(sums[:])
}

// DotTwo returns the sums of a[i]·b[i] and a[i]·c[i], reading a once; b and c are as long as a or longer.
func DotTwo(a, b, c []float64) (ab, ac float64) {
	b, c = b[:len(a)], c[:len(a)]
	var sums [lanes]float64 // half of them each
	whole := len(a) &^ (lanes/2 - 1)
	dotTwoBlocks(a[:whole], b, c, &sums)
	for i := whole; i < len(a); i++ {
		sums[i-whole] += float64(a[i] * b[i])
		sums[lanes/2+i-whole] += float64(a[i] * c[i])
	}
	return folded(sums[:lanes/2]), folded(sums[lanes/2:])
}

// folded adds the halves of sums, of which there are a power of two, until one is left.
func folded(sums []float64) float64 {
	for n := len(sums) / 2; n > 0; n /= 2 {
		for i := range n {
			sums[i] += sums[n+i]
		}
	}
	return sums[0]
}

func dotPortable(a, b []float64, sums *[lanes]float64) {
	for ; len(a) > 0; a, b = a[lanes:], b[lanes:] {
		for k := range sums {
			sums[k] += float64(a[k] * b[k])
		}
	}
}

func dotSinglePortable(a []float32, b []float64, sums *[lanes]float64) {
	for ; len(a) > 0; a, b = a[lanes:], b[lanes:] {
		for k := range sums {
			sums[k] += float64(float64(a[k]) * b[k])
		}
	}
}

func dotTwoPortable(a, b, c []float64, sums *[lanes]float64) {
	const half = lanes / 2
	for ; len(a) > 0; a, b, c = a[half:], b[half:], c[half:] {
		for k := range half {
			sums[k] += float64(a[k] * b[k])
			sums[half+k] += float64(a[k] * c[k])
		}
	}
}
