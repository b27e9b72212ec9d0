package fem

import (
	"sync"

	"busgauss/model/sparse"
)

// analysis is the pattern of the matrix of a grid with what can be said of its factor: large, and made again when it is
// wanted after it was let go. Grids that differ in permeabilities alone share it.
type analysis struct {
	mu   sync.Mutex
	of   *matrixPattern
	held int // by systems that have a factor
}

// matrixPattern is not changed once it is made.
type matrixPattern struct {
	pattern *sparse.Pattern
	scatter []int32 // 21 for each triangle, then those of the rim
	sym     *sparse.Symbolic
}

// matrix returns the analysis of the matrix of g.
func (g *grid) matrix() *matrixPattern {
	a := &g.made.analysis
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.of == nil {
		a.of = g.analyse()
	}
	return a.of
}

// hold keeps the analysis until it is let go as often.
func (a *analysis) hold() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.held++
}

func (a *analysis) letGo() {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.held--; a.held == 0 {
		a.of = nil
	}
}
