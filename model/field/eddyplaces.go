package field

import (
	"sync"

	"busgauss/model/geom"
)

// eddyPlaces keeps by place what the eddy currents of the section make of every bar, with and without its iron: each is a sum
// over all conducting triangles. It may be used from several goroutines.
type eddyPlaces struct {
	mu   sync.Mutex
	kept map[geom.Point]*eddyPlace
}

type eddyPlace struct{ wx, wy, ox, oy []complex128 }

const keptEddyPlaces = 1024

// at returns the flux densities at q in T/A, with iron and without.
func (e *eddyPlaces) at(p *phasorField, q geom.Point) (wx, wy, ox, oy []complex128) {
	e.mu.Lock()
	k := e.kept[q]
	e.mu.Unlock()
	if k == nil {
		k = &eddyPlace{}
		k.wx, k.wy = p.with.EddyB(q)
		k.ox, k.oy = p.without.EddyB(q)
		e.mu.Lock()
		if e.kept == nil || len(e.kept) >= keptEddyPlaces {
			e.kept = map[geom.Point]*eddyPlace{}
		}
		e.kept[q] = k
		e.mu.Unlock()
	}
	return k.wx, k.wy, k.ox, k.oy
}
