package fem

import (
	"slices"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/work"
)

// Meshes keeps the first meshes of one arrangement, each with the analysis of its matrix: they depend on what reacts
// and on skin depths, not on permeabilities. It may be used from several goroutines.
type Meshes struct {
	Shelf *work.Shelf // that they stand on; nil: all are kept

	mu   sync.Mutex
	kept []*work.Item // *firstMesh
}

type firstMesh struct {
	g       *grid
	sensors []geom.Point
}

// first returns the first grid of d, made at the first call.
func (k *Meshes) first(d *drawing, sensors []geom.Point, opt Options) (*grid, error) {
	if k == nil {
		return d.firstGrid(opt)
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.kept = slices.DeleteFunc(k.kept, func(in *work.Item) bool { return in.Peek() == nil })
	for _, in := range k.kept {
		f, ok := in.Peek().(*firstMesh)
		if !ok {
			continue
		}
		if g := f.g.of(d); g != nil && slices.Equal(f.sensors, sensors) {
			in.Value() // it is used
			return g, nil
		}
	}
	g, err := d.firstGrid(opt)
	if err == nil {
		in := k.Shelf.Item()
		in.Put(&firstMesh{g, sensors}, int64(g.priceOf(1, 0, 0, 0, 0).bytes))
		k.kept = append(k.kept, in)
	}
	return g, err
}

// firstGrid makes the first grid.
func (d *drawing) firstGrid(opt Options) (*grid, error) {
	m, err := d.triangulate(opt, 1)
	if err != nil {
		return nil, err
	}
	return analysed(d, m, opt)
}

// of returns g for a drawing of the same pieces with other permeabilities; nil where other pieces react, or where
// currents crowd into other skins.
func (g *grid) of(d *drawing) *grid {
	if !slices.Equal(g.d.index, d.index) {
		return nil
	}
	for k := range d.media {
		a, b := &g.d.media[k], &d.media[k]
		if a.iron != b.iron || a.conducts != b.conducts || a.conducts && a.skinM != b.skinM {
			return nil
		}
	}
	own := *g
	own.d = d
	return &own
}
