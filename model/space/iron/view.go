package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/si"
)

// view is what sources have at a place on one mesh: the flux density of each, in T, and what each cell of the coarser
// of two meshes adds to it, by cell and then by source; nil where the two have no cells in common, or the place lies in
// the iron.
type view struct {
	b, cells []geom.Point3
}

// views is a view on the coarse and on the fine mesh, with what bounds take of them: see level.
type views struct {
	of     [2]view
	shares []float64
	slit   bool
}

// cut says in which parts the tetrahedra of a mesh are summed.
type cut struct {
	order []int32 // of the tetrahedra; nil: as they stand
	each  int     // of them in a part, fewer in the last
}

// cutsOf returns the cells of the coarse mesh as parts of both meshes, its wedges and the eight wedges that the fine mesh
// has in each; false where the fine one is not made that way.
func cutsOf(levels *[2]*answer) ([2]cut, bool) {
	coarse, fine := levels[0].l.m, levels[1].l.m
	if fine.byParent == nil || len(fine.tets) != 8*len(coarse.tets) {
		return [2]cut{coarse.whole(), fine.whole()}, false
	}
	return [2]cut{{nil, perWedge}, {fine.byParent, 8 * perWedge}}, true
}

const perWedge = 3 // tetrahedra

// whole cuts a mesh in parts that say nothing by themselves: always as many, so that a sum does not hang on the number
// of processors.
func (m *tetra) whole() cut {
	return cut{nil, (len(m.tets) + scatterParts - 1) / scatterParts}
}

// viewsOf returns what sources have at q, air of it in empty space.
func viewsOf(levels *[2]*answer, q geom.Point3, air []geom.Point3) views {
	var out views
	cuts, common := cutsOf(levels)
	for k, a := range levels {
		out.of[k] = a.view(q, air, cuts[k])
		if !common {
			out.of[k].cells = nil
		}
	}
	out.shares, out.slit = levels[0].l.cellShares, levels[0].l.slit
	return out
}

// at returns the flux density of every source at r, T. air is what each source has
// there in empty space.
func (a *answer) at(r geom.Point3, air []geom.Point3) []geom.Point3 {
	return a.view(r, air, a.l.m.whole()).b
}

func (a *answer) view(r geom.Point3, air []geom.Point3, c cut) view {
	m := a.l.m
	if e := m.holder(r); e >= 0 {
		out := make([]geom.Point3, len(air))
		for s := range out {
			out[s] = a.b[0][s][e]
		}
		return view{b: out}
	}
	if m.mirror {
		if e := m.holder(m.reflect(r)); e >= 0 {
			out := make([]geom.Point3, len(air))
			for s := range out {
				out[s] = flip(a.b[1][s][e])
			}
			return view{b: out}
		}
	}
	cells := m.scatter(r, a.mag[0], c)
	if m.mirror {
		for i, v := range m.scatter(m.reflect(r), a.mag[1], c) {
			cells[i] = cells[i].Add(flip(v))
		}
	}
	out := view{b: make([]geom.Point3, len(air)), cells: cells}
	for i := range cells {
		cells[i] = cells[i].Scale(si.Mu0HPerM)
		s := i % len(air)
		out.b[s] = out.b[s].Add(cells[i])
	}
	for s := range air {
		out.b[s] = out.b[s].Add(air[s])
	}
	return out
}

// mixed returns the sum of the sources of v with weights, as one source.
func (v *views) mixed(weights []float64) views {
	out := views{shares: v.shares, slit: v.slit}
	for k := range v.of {
		out.of[k] = view{mixed(v.of[k].b, weights), mixed(v.of[k].cells, weights)}
	}
	return out
}

// mixed adds up each len(weights) in a row.
func mixed(v []geom.Point3, weights []float64) []geom.Point3 {
	if v == nil {
		return nil
	}
	out := make([]geom.Point3, len(v)/len(weights))
	for i := range v {
		o := i / len(weights)
		out[o] = out[o].Add(v[i].Scale(weights[i%len(weights)]))
	}
	return out
}

// less returns what v has beyond w, both of as many sources on the same meshes.
func (v *views) less(w *views) views {
	out := views{shares: v.shares, slit: v.slit}
	for k := range v.of {
		out.of[k] = view{lesser(v.of[k].b, w.of[k].b), lesser(v.of[k].cells, w.of[k].cells)}
	}
	return out
}

func lesser(v, w []geom.Point3) []geom.Point3 {
	if v == nil || w == nil {
		return nil
	}
	out := make([]geom.Point3, len(v))
	for i := range v {
		out[i] = v[i].Sub(w[i])
	}
	return out
}

// reading returns the field of source s extrapolated from both meshes, and its bound; air is the part of it in empty
// space.
func (v *views) reading(s int, air geom.Point3, scale float64) reading {
	coarse, fine := &v.of[0], &v.of[1]
	var out reading
	if coarse.cells == nil || fine.cells == nil {
		b, boundT := limit3(coarse.b[s], fine.b[s], fine.b[s].Sub(air).Norm(), scale)
		return reading{b, Bound{}.plus(boundT)}
	}
	out.b = extrapolated(coarse.b[s], fine.b[s])
	step := out.b.Sub(fine.b[s])
	var square geom.Point3
	for i := s; i < len(fine.cells); i += len(fine.b) {
		d := fine.cells[i].Sub(coarse.cells[i]).Scale(v.shares[i/len(fine.b)])
		square = square.Add(geom.Point3{X: d.X * d.X, Y: d.Y * d.Y, Z: d.Z * d.Z})
	}
	whole := square.X + square.Y + square.Z
	bound := func(step, square float64) float64 {
		if v.slit {
			return float64(slitStep*math.Abs(step)) + math.Sqrt(square)
		}
		return math.Max(math.Abs(step), math.Sqrt(square))
	}
	out.bound.T = bound(step.Norm(), whole)
	along := func(step, square float64) float64 {
		return math.Min(out.bound.T, bound(step, square+float64(acrossShare*whole)))
	}
	out.bound.Along = geom.Point3{X: along(step.X, square.X), Y: along(step.Y, square.Y), Z: along(step.Z, square.Z)}
	return out
}
