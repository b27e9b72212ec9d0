package sparse

import "golang.org/x/sys/cpu"

// The sums below are added to; blocks is positive.

//go:noescape
func dotAVX(sums *[lanes]float64, a, b *float64, blocks int)

//go:noescape
func dotSingleAVX(sums *[lanes]float64, a *float32, b *float64, blocks int)

//go:noescape
func dotTwoAVX(sums *[lanes]float64, a, b, c *float64, blocks int)

func dotBlocks(a, b []float64, sums *[lanes]float64) {
	if len(a) > 0 && cpu.X86.HasAVX {
		dotAVX(sums, &a[0], &b[0], len(a)/lanes)
		return
	}
	dotPortable(a, b, sums)
}

func dotSingleBlocks(a []float32, b []float64, sums *[lanes]float64) {
	if len(a) > 0 && cpu.X86.HasAVX {
		dotSingleAVX(sums, &a[0], &b[0], len(a)/lanes)
		return
	}
	dotSinglePortable(a, b, sums)
}

func dotTwoBlocks(a, b, c []float64, sums *[lanes]float64) {
	if len(a) > 0 && cpu.X86.HasAVX {
		dotTwoAVX(sums, &a[0], &b[0], &c[0], 2*len(a)/lanes)
		return
	}
	dotTwoPortable(a, b, c, sums)
}
