//go:build !amd64

package sparse

func realKernels() *kernels[float64] { return portableReal() }

func complexKernels() *kernels[complex128] { return portableComplex() }
