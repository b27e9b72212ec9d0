package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/element"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/mesh"
)

// passiveRMS returns the area-rms of |B| in tesla over a shield that does not
// react (neither magnetic nor carrying eddy currents), for the given currents.
// The field there is smooth, so a rule of six points on a coarse triangulation
// serves; what a rule of three points gives differently is taken for its error.
func (m *Model) passiveRMS(f *Field, i layout.ShieldIndex, peakA []complex128) bounded.Estimate {
	unknown := bounded.Estimate{Value: math.NaN(), Low: math.NaN(), High: math.NaN()}
	region := m.Layout.Shields[i].Region()
	in := mesh.Input{Loops: []mesh.Loop{{Points: region.Outer, Region: 1}}}
	for _, h := range region.Holes {
		in.Loops = append(in.Loops, mesh.Loop{Points: h, Region: mesh.Void})
	}
	grid, err := mesh.Triangulate(in, mesh.Options{MaxTriangles: 20_000})
	if err != nil {
		return unknown
	}
	q := *f
	q.rough = true
	square := func(p geom.Point) float64 {
		v := q.sum(p, peakA)
		n := v.Norm()
		return n * n
	}
	six, three, area := 0.0, 0.0, 0.0
	for _, t := range grid.Tris {
		a, b, c := grid.Nodes[t[0]], grid.Nodes[t[1]], grid.Nodes[t[2]]
		u, v := b.Sub(a), c.Sub(a)
		det := u.Cross(v)
		area += det / 2
		for _, n := range element.Rule6() {
			six += float64(n.W * det * square(a.Add(u.Scale(n.Xi)).Add(v.Scale(n.Eta))))
		}
		for _, n := range element.Rule3() {
			three += float64(n.W * det * square(a.Add(u.Scale(n.Xi)).Add(v.Scale(n.Eta))))
		}
	}
	rms := math.Sqrt(six / area)
	// The bound of the field itself, from the first corner of each of a few
	// triangles spread over the section.
	worst := 0.0
	for k := 0; k < len(grid.Tris); k += 1 + len(grid.Tris)/8 {
		t := grid.Tris[k]
		at := grid.Nodes[t[0]].Add(grid.Nodes[t[1]]).Add(grid.Nodes[t[2]]).Scale(1.0 / 3)
		worst = math.Max(worst, f.sum(at, peakA).Bound)
	}
	return bounded.Around(rms, math.Abs(rms-math.Sqrt(three/area))+worst)
}

// sum returns the flux density at p for the given currents.
func (f *Field) sum(p geom.Point, peakA []complex128) Vec {
	var out Vec
	for b, a := range peakA {
		if a != 0 {
			out = out.Add(f.sectionAt(p, layout.BarIndex(b)).Scale(a))
		}
	}
	return out
}
