package sparse

import "sync"

// bench is what a factorisation works in; the next one with the same Symbolic takes it over.
type bench[T Scalar] struct {
	arena  []T   // update matrices
	panels [][]T // one for each goroutine
}

// benches returns those of a Symbolic that are free.
func benches[T Scalar](s *Symbolic) *sync.Pool {
	if _, ok := any(*new(T)).(complex128); ok {
		return &s.complexBenches
	}
	return &s.realBenches
}

// benchOf returns a free bench, or a new one.
func benchOf[T Scalar](s *Symbolic) *bench[T] {
	if b, ok := benches[T](s).Get().(*bench[T]); ok {
		return b
	}
	return &bench[T]{arena: make([]T, s.arena), panels: make([][]T, workers)}
}

// panel returns the panel of goroutine w.
func (b *bench[T]) panel(w int, s *Symbolic) []T {
	if b.panels[w] == nil {
		b.panels[w] = make([]T, s.panel)
	}
	return b.panels[w]
}
