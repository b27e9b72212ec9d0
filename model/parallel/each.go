// Package parallel runs the turns of a loop at the same time, without a trace of their
// number in the result.
package parallel

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Workers returns how many goroutines Each uses for n turns: no more than most, nor than
// there are processors.
func Workers(n, most int) int { return min(n, most, runtime.GOMAXPROCS(0)) }

// Each calls f for 0 … n−1 on Workers(n, most) goroutines, each with a number of its own
// from 0 for scratch space. f writes to the slot of its turn, so that the result does not
// depend on their number.
func Each(n, most int, f func(worker, i int)) {
	workers := Workers(n, most)
	if workers <= 1 {
		for i := range n {
			f(0, i)
		}
		return
	}
	var next atomic.Int64
	var group sync.WaitGroup
	for w := range workers {
		group.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(w, i)
			}
		})
	}
	group.Wait()
}
