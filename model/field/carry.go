package field

import (
	"math/cmplx"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// At returns the flux density at q in tesla per ampere of bar b: in space where the
// layout is computed there (see carried), else of the plane section, the same for every z.
func (f *Field) At(q geom.Point3, b layout.BarIndex) Vec {
	if f.space == nil {
		return f.sectionAt(q.XY(), b)
	}
	v := f.carried(f.space.at(q, int(b), f.rough), func(g *Field) Vec { return g.alone(q.XY(), b) })
	v.Bound += f.farT(b)
	return v
}

// spaceMethod names the way for people.
func (f *Field) spaceMethod() string {
	way := "closed form, bars in space"
	if f.space != nil && f.space.iron != nil {
		way = "volume integral equation, iron and bars in space"
	}
	for b := range f.layout.Bars {
		if len(f.layout.Bars[b].Cuts) > 0 {
			way += ", flow in the plan of cut bars by finite elements"
			break
		}
	}
	if f.FreqHz > 0 {
		way += ", carried to its frequency by the plane section (" + f.Method + ")"
	}
	return way
}

// carried takes a vector in space, of steady currents and iron of small signals, to
// the frequency and the iron of f, by the plane section. With P(0) and P(f) of the
// section, c the complex factor of P(f) along P(0) and R the rest,
//
//	S(f) = c S(0) + R,   c = P(0)·P(f) / P(0)·P(0),   R = P(f) − c P(0)
//
// Its model error is named "frequency factor of the plane section": what changes
// with frequency and with the permeability of iron is taken to be off by as much as
// the section itself is at steady current, |S(0) − P(0)|/|P(0)|. Where nothing
// changes, the vector itself is returned.
func (f *Field) carried(static Vec, section func(*Field) Vec) Vec {
	if f.base == nil {
		return static
	}
	still := *f.base
	still.rough = f.rough
	p0, pf := section(&still), section(f)
	square := p0.X*p0.X + p0.Y*p0.Y + p0.Z*p0.Z
	if square == 0 {
		static.Bound += pf.Norm() + pf.Bound
		return static
	}
	c := (p0.X*pf.X + p0.Y*pf.Y + p0.Z*pf.Z) / square
	rest := Vec{X: pf.X - c*p0.X, Y: pf.Y - c*p0.Y, Z: pf.Z - c*p0.Z}
	off := Vec{X: static.X - p0.X, Y: static.Y - p0.Y, Z: static.Z - p0.Z}.Norm() / p0.Norm()
	size := static.Norm() / p0.Norm()
	out := static.Scale(c).Add(rest)
	out.Bound += off*(cmplx.Abs(c-1)*static.Norm()+rest.Norm()) + size*pf.Bound
	out.Quad += size * pf.Quad
	return out
}
