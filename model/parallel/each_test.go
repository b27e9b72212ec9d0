package parallel

import (
	"runtime"
	"testing"
)

// Every turn is taken once, by a worker that is in range, on any number of processors.
func TestEach(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, processors := range []int{1, 2, 8} {
		runtime.GOMAXPROCS(processors)
		for _, n := range []int{0, 1, 3, 1000} {
			workers := Workers(n, 3)
			if workers != min(n, 3, processors) {
				t.Errorf("%d turns on %d processors: %d workers", n, processors, workers)
			}
			taken, bad := make([]int, n), make([]bool, n)
			Each(n, 3, func(w, i int) {
				taken[i]++
				bad[i] = w < 0 || w >= workers
			})
			for i := range taken {
				if taken[i] != 1 || bad[i] {
					t.Fatalf("turn %d of %d on %d processors: taken %d times, worker out of range: %v", i, n,
						processors, taken[i], bad[i])
				}
			}
		}
	}
}
