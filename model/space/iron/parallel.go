package iron

import (
	"runtime"
	"sync"
)

// each calls f for 0 … n−1 on up to as many goroutines as there are processors, each
// with a number below them for scratch space. f writes to its own slot, so that the
// result does not depend on their number.
func each(n int, f func(worker, i int)) {
	workers := workersFor(n)
	if workers <= 1 {
		for i := range n {
			f(0, i)
		}
		return
	}
	var wg sync.WaitGroup
	for w := range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := w; i < n; i += workers {
				f(w, i)
			}
		}()
	}
	wg.Wait()
}

func workersFor(n int) int { return min(n, runtime.GOMAXPROCS(0), maxWorkers) }

const maxWorkers = 8
