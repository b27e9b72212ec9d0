package sparse

import "sync"

// bench is what a factorisation works in; the next one takes it over.
type bench[T Scalar] struct {
	arena  []T   // update matrices
	panels [][]T // one for each goroutine
}

var realBenches, complexBenches sync.Pool // of *bench

// benches returns those that are free.
func benches[T Scalar]() *sync.Pool {
	if _, ok := any(*new(T)).(complex128); ok {
		return &complexBenches
	}
	return &realBenches
}

// benchFor returns a bench with room for s.
func benchFor[T Scalar](s *Symbolic) *bench[T] {
	b, ok := benches[T]().Get().(*bench[T])
	if !ok {
		b = &bench[T]{panels: make([][]T, workers)}
	}
	b.arena = cleared(b.arena, s.arena)
	return b
}

// panel returns the panel of goroutine w.
func (b *bench[T]) panel(w int, s *Symbolic) []T {
	if len(b.panels[w]) != s.panel {
		b.panels[w] = cleared(b.panels[w], s.panel)
	}
	return b.panels[w]
}

// cleared returns n zeros, in the room of old if that is enough.
func cleared[T any](old []T, n int) []T {
	if cap(old) < n {
		return make([]T, n)
	}
	old = old[:n]
	clear(old)
	return old
}
