package field

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// WireAt returns the flux density at q in tesla per ampere of a foreign wire, and
// MagnetAt that of a magnet, where the layout is computed in space: shields of finite
// depth included. What eddy currents change at the frequency of a wire is taken from
// the response to a uniform field in the plane section and counts into the bound.
func (m *Model) WireAt(q geom.Point3, w *layout.Wire) (Vec, error) {
	v, err := m.sourceAt(q, m.wireSource(w))
	if err != nil || !(w.FreqHz.V > 0) {
		return v, err
	}
	change, err := m.uniformChange(q, w.FreqHz.V)
	v.Bound += float64(change * v.Norm())
	return v, err
}

// MagnetAt returns the flux density of a magnet at q in tesla; see WireAt.
func (m *Model) MagnetAt(q geom.Point3, g *layout.Magnet) (Vec, error) {
	return m.sourceAt(q, m.magnetSource(g))
}

func (m *Model) sourceAt(q geom.Point3, src int) (Vec, error) {
	f, err := m.spaceField()
	if err != nil {
		return Vec{}, err
	}
	return f.at(q, src, m.rough), nil
}

// wireSource and magnetSource return the number of a foreign source in space.
func (m *Model) wireSource(w *layout.Wire) int {
	for i := range m.Layout.Surroundings.Wires {
		if &m.Layout.Surroundings.Wires[i] == w {
			return len(m.Layout.Bars) + uniforms + i
		}
	}
	panic("field: wire of another layout")
}

func (m *Model) magnetSource(g *layout.Magnet) int {
	around := &m.Layout.Surroundings
	for i := range around.Magnets {
		if &around.Magnets[i] == g {
			return len(m.Layout.Bars) + uniforms + len(around.Wires) + i
		}
	}
	panic("field: magnet of another layout")
}

// uniformChange returns the largest relative change of the response to a uniform
// field in the plane section from direct current to freqHz.
func (m *Model) uniformChange(q geom.Point3, freqHz float64) (float64, error) {
	f, err := m.Field(freqHz)
	if err != nil {
		return 0, err
	}
	still, err := m.Field(0)
	if err != nil {
		return 0, err
	}
	x0, y0 := still.section.uniform(q.XY(), still.rough)
	x, y := f.section.uniform(q.XY(), f.rough)
	return math.Max(relative(x, x0), relative(y, y0)), nil
}

func relative(v, w Vec) float64 { return (v.Add(w.Scale(-1)).Norm() + v.Bound + v.Quad) / w.Norm() }

// MagnetB returns the flux density of a magnet at q in tesla in empty space.
func MagnetB(g *layout.Magnet, q geom.Point3) geom.Point3 {
	r := q.Sub(g.At.Point3())
	if g.Kind == layout.Disc {
		return closedform.DiscMagnetB(r, g.U, g.DiameterM.V, g.ThicknessM.V, g.RemanenceT.V)
	}
	size := geom.Point3{X: g.WidthM.V, Y: g.HeightM.V, Z: g.DepthM.V}
	return closedform.BlockMagnetB(r, size, g.U.Scale(g.RemanenceT.V))
}
