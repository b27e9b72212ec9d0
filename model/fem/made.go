package fem

import (
	"sync"

	"busgauss/model/geom"
)

// made keeps what a grid and the sources of its arrangement make together, whatever the permeabilities. Grids that differ
// in those alone share it. It may be used from several goroutines.
type made struct {
	mu      sync.Mutex
	primary []drive
	weights map[geom.Point]*weights

	analysis analysis
	scratch  sync.Pool // of *estimated
}

// primaryDrives returns the drives of the primary sources of p, made once.
func (g *grid) primaryDrives(srcs []source) []drive {
	k := g.made
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.primary == nil {
		k.primary = newDrives(g, srcs)
	}
	return k.primary
}

// weightsOf returns the weights of a point, made once where there is iron, whose permeability may change.
func (g *grid) weightsOf(q geom.Point, conducting []int32) *weights {
	if len(g.surface) == 0 {
		return g.weightsAt(q, conducting)
	}
	k := g.made
	k.mu.Lock()
	w := k.weights[q]
	k.mu.Unlock()
	if w != nil {
		return w
	}
	w = g.weightsAt(q, conducting)
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.weights == nil {
		k.weights = map[geom.Point]*weights{}
	}
	k.weights[q] = w
	return w
}

// combinedDrive returns the drive of a weighted sum of primary sources.
func combinedDrive(src *combined, drives []drive) drive {
	first := &drives[0]
	d := drive{src: src, as: make([]float64, len(first.as)), normal: make([][3]float64, len(first.normal)),
		bubble: make([]float64, len(first.bubble)), density: make([]float64, len(first.density))}
	for k, w := range src.weights {
		if w == 0 {
			continue
		}
		one := &drives[k]
		for i, v := range one.as {
			d.as[i] += float64(w * v)
		}
		for i, v := range one.normal {
			for j := range v {
				d.normal[i][j] += float64(w * v[j])
			}
		}
		for i, v := range one.bubble {
			d.bubble[i] += float64(w * v)
		}
		for i, v := range one.density {
			d.density[i] += float64(w * v)
		}
	}
	return d
}
