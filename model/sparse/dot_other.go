//go:build !amd64

package sparse

func dotBlocks(a, b []float64, sums *[lanes]float64) { dotPortable(a, b, sums) }

func dotSingleBlocks(a []float32, b []float64, sums *[lanes]float64) { dotSinglePortable(a, b, sums) }

func dotTwoBlocks(a, b, c []float64, sums *[lanes]float64) { dotTwoPortable(a, b, c, sums) }
