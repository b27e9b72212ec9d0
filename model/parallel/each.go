// Package parallel runs the turns of a loop at the same time, without a trace of their
// number in the result.
package parallel

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Workers returns how many goroutines Each uses for n turns: no more than most, nor than
// there are processors.
func Workers(n, most int) int { return min(n, most, runtime.GOMAXPROCS(0)) }

// Each calls f for 0 … n−1 on Workers(n, most) goroutines, each with a number of its own
// from 0 for scratch space. f writes to the slot of its turn, so that the result does not
// depend on their number. A panic of a turn becomes one of the caller, which may recover
// from it, once the turns that had begun are done; a *Panic says where it came from.
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
	var failed atomic.Pointer[Panic]
	for w := range workers {
		group.Go(func() {
			defer func() {
				if v := recover(); v != nil {
					failed.CompareAndSwap(nil, &Panic{v, debug.Stack()})
					next.Store(int64(n))
				}
			}()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(w, i)
			}
		})
	}
	group.Wait()
	if p := failed.Load(); p != nil {
		panic(p)
	}
}

// Panic is a panic of another goroutine, with its stack there.
type Panic struct {
	Value any
	Stack []byte
}

// Error returns what the panic said, and its stack.
func (p *Panic) Error() string { return fmt.Sprintf("%v\n%s", p.Value, p.Stack) }
