package fem

import (
	"runtime"
	"sync"
)

// each calls f for 0 … n−1 on up to as many goroutines as there are processors.
// f writes to its own slot, so that the result does not depend on their number.
func each(n int, f func(i int)) {
	workers := min(n, runtime.GOMAXPROCS(0), 4)
	if workers <= 1 {
		for i := range n {
			f(i)
		}
		return
	}
	var wg sync.WaitGroup
	for w := range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := w; i < n; i += workers {
				f(i)
			}
		}()
	}
	wg.Wait()
}
