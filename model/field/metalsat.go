package field

import (
	"math"
	"sync"

	"busgauss/model/fem"
	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/space/eddy"
)

// metalsAt is metals at one frequency with one permeability of iron. What is asked for is solved when first needed: the
// bars, and a uniform field.
type metalsAt struct {
	of            *metals
	freqHz        float64
	ranges, small []muRange // of the iron, and of that which moved is told against
	pick, still   func(muRange) float64
	strayed       float64       // see metals.resolved
	alone         *fem.Solution // bars by themselves in the plane section

	mu     sync.Mutex
	eddies [2]*eddy.Currents // of the bars, of a uniform field along x, y and z
	errs   [2]error
	seen   map[metalPlace][]Vec
}

type metalPlace struct {
	q    geom.Point3
	kind int
}

// metalSides are the metals at both ends of the range of permeabilities; one where none is open.
type metalSides []*metalsAt

// currents returns the eddy currents of the bars (kind 0) or of a uniform field (1).
func (w *metalsAt) currents(kind int) (*eddy.Currents, error) {
	if w.eddies[kind] != nil || w.errs[kind] != nil {
		return w.eddies[kind], w.errs[kind]
	}
	name, sources := "bars", w.of.bars
	if kind == 1 {
		name, sources = "uniform", nil
		for _, u := range []geom.Point3{{X: 1}, {Y: 1}, {Z: 1}} {
			sources = append(sources, func(geom.Point3) geom.Point3 { return u })
		}
	}
	response, err := w.of.response(name, sources, w.ranges, w.pick)
	if err != nil {
		w.errs[kind] = err
		return nil, err
	}
	small, err := w.of.response(name, sources, w.small, w.still)
	if err != nil {
		w.errs[kind] = err
		return nil, err
	}
	one := make([][]complex128, len(sources))
	for i := range one {
		one[i] = make([]complex128, len(sources))
		one[i][i] = 1
	}
	eddies := response.Against(small, w.freqHz, one)
	if err := eddies.Err(); err != nil {
		w.errs[kind] = &Unknown{err.Error()}
		return nil, w.errs[kind]
	}
	w.eddies[kind] = eddies
	return eddies, nil
}

// moved returns what source src has at q beside its steady field in the iron of small.
func (w *metalsAt) moved(q geom.Point3, src int) Vec {
	kind := 0
	if n := len(w.of.bars); src >= n {
		kind, src = 1, src-n
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	key := metalPlace{q, kind}
	if got, ok := w.seen[key]; ok {
		return got[src]
	}
	eddies, err := w.currents(kind)
	if err != nil {
		w.of.work.Missing()
		return notKnown
	}
	b, bounds := eddies.All(q)
	out := make([]Vec, len(b))
	for i := range b {
		out[i] = Vec{X: b[i][0], Y: b[i][1], Z: b[i][2], Bound: bounds[i]}
	}
	if w.seen == nil {
		w.seen = map[metalPlace][]Vec{}
	}
	w.seen[key] = out
	return out[src]
}

// change is moved with the share 3 (w/e)³ of strandEnds in the bound, e from q to the end of a bar of width w: of all that
// changes, and of what the bars' eddy currents make by themselves in the plane section, which walls may happen to undo.
// steadyT is the steady field, of which iron whose permeability strays answers so much otherwise at most.
func (w *metalsAt) change(q geom.Point3, src int, steadyT float64) Vec {
	v := w.moved(q, src)
	share := 0.0
	for _, b := range w.of.ends {
		e := math.Min(q.Z-b.fromM, b.toM-q.Z)
		if !(e > 1.5*b.widthM) {
			share = 1
			continue
		}
		share = math.Max(share, math.Min(1, 3*portable.Pow(b.widthM/e, 3)))
	}
	x, y := w.alone.EddyB(q.XY())
	crowd := 0.0
	if src < len(x) { // a uniform field along z is none of the plane
		crowd = Vec{X: x[src], Y: y[src]}.Norm()
	}
	v.Bound += float64(share*(v.Norm()+crowd)) + float64(w.strayed*(v.Norm()+steadyT))
	return v
}

// change is that of f's ends of the range of permeabilities: their middle, with half of what they differ in the bound.
func (s metalSides) change(f *Field, q geom.Point3, src int) Vec {
	if f.end > 0 && len(s) > 1 {
		s = s[f.end-1 : f.end]
	}
	steadyT := 0.0
	if in := f.way.(solid).space; s[0].strayed > 0 {
		steadyT = in.at(q, src, true).Norm()
	}
	return halfway(s[0].change(q, src, steadyT), s[len(s)-1].change(q, src, steadyT))
}

// halfway returns the middle of two vectors that a third lies between, with half of what they differ in the bound.
func halfway(low, high Vec) Vec {
	v := low.Add(high).Scale(0.5)
	v.Bound = math.Max(low.Bound, high.Bound) + high.Add(low.Scale(-1)).Norm()/2
	return v
}
