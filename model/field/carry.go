package field

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// solid is the way of a field in space: bars and iron as they end. Where nothing but bars conducts along z, what changes
// with frequency and with the permeability of iron is computed there: phasorField. So is what walls change that conduct,
// of copper or of iron: walls. Else it is carried over from the plane section.
type solid struct {
	space *spaceField
	base  *Field // the same at 0 Hz with iron of small signals; nil where the field is that one

	phasors *phasorSides // where iron does not conduct; else nil
	walls   moving       // where walls conduct; nil where they are not such as is solved in space
}

// moving is what changes with frequency where walls conduct: wallSides or metalSides.
type moving interface {
	// change returns what source src has at q beside its steady field in iron of small signals.
	change(f *Field, q geom.Point3, src int) Vec
}

// solid reports whether f is a field in space.
func (f *Field) solid() bool {
	_, ok := f.way.(solid)
	return ok
}

func (w solid) at(f *Field, q geom.Point3, b layout.BarIndex) Vec {
	v, ok := w.solved(f, q, func(p *phasorField) Vec { return p.at(f, q, b) })
	if !ok {
		v = w.carried(f, q, int(b), w.space.at(q, int(b), f.rough),
			func(g *Field) Vec { return g.section.at(q.XY(), b, g.rough) })
	}
	v.Far += f.images[b].Norm()
	return v
}

// solved returns the middle of what both ends of the range of permeabilities give at q, half of what they differ
// in the bound; false where the field is carried over from the section: where something but bars conducts
// along z, and within the box about a bar.
func (w solid) solved(f *Field, q geom.Point3, of func(*phasorField) Vec) (Vec, bool) {
	if w.phasors == nil {
		return Vec{}, false
	}
	sides, err := w.phasors.at(f)
	if err != nil {
		return Vec{}, false
	}
	if y := sides[0].lay; y != nil && y.strands[y.nearest(q)].holds(q.XY()) {
		return Vec{}, false
	}
	low, high := of(sides[0]), of(sides[len(sides)-1])
	v := low.Add(high).Scale(0.5)
	v.Bound = math.Max(low.Bound, high.Bound) + high.Add(low.Scale(-1)).Norm()/2
	for i := range v.Saved {
		v.Saved[i] = math.Min(low.Saved[i], high.Saved[i])
	}
	return v, true
}

func (w solid) uniform(f *Field, q geom.Point3) (along [3]Vec) {
	n := len(f.layout.Bars)
	for k := range along {
		along[k] = w.carried(f, q, n+k, w.space.at(q, n+k, f.rough), func(g *Field) Vec {
			x, y := g.section.uniform(q.XY(), g.rough)
			return [3]Vec{x, y, {Z: 1}}[k]
		})
	}
	return along
}

func (w solid) reading(f *Field, _ *layout.Sensor, elements []layout.Element, b layout.BarIndex) Reading {
	return f.withFar(Summed(elements, func(e layout.Element) Vec { return w.at(f, e.At, b) }), elements, b)
}

func (w solid) endsT(*Field, []layout.Element, layout.BarIndex) (wholeT, axisT float64) {
	return 0, 0
}

// wall returns the flux density of shield i: in space where it is iron.
func (w solid) wall(f *Field, i layout.ShieldIndex, peakA []complex128) (Wall, error) {
	if w.space.iron == nil || w.space.piece[i] < 0 {
		return f.section.wall(i, peakA)
	}
	static := w.space.wall(w.space.piece[i], peakA)
	if w.base == nil {
		return static, nil
	}
	if got, ok := w.solvedWall(f, i, peakA); ok {
		return got, nil
	}
	still, err := w.base.section.wall(i, peakA)
	if err != nil {
		return Wall{}, err
	}
	moving, err := f.section.wall(i, peakA)
	if err != nil {
		return Wall{}, err
	}
	share := f.endShare(f.layout.Shields[i].At.Z.V)
	return Wall{
		Peak: carriedWall(static.Peak, still.Peak, moving.Peak, share),
		RMS: func() bounded.Estimate {
			return carriedWall(static.RMS(), still.RMS(), moving.RMS(), share)
		},
		Most: carriedWall(static.Most, still.Peak, moving.Peak, share),
	}, nil
}

// solvedWall is solved for the wall of shield i.
func (w solid) solvedWall(f *Field, i layout.ShieldIndex, peakA []complex128) (Wall, bool) {
	if w.phasors == nil {
		return Wall{}, false
	}
	sides, err := w.phasors.at(f)
	if err != nil {
		return Wall{}, false
	}
	z := f.layout.Shields[i].At.Z.V
	out := sides[0].wall(f, w.space.piece[i], z, peakA)
	if len(sides) > 1 {
		high := sides[1].wall(f, w.space.piece[i], z, peakA)
		rms := out.RMS
		out = Wall{Peak: spanned(out.Peak, high.Peak), Most: spanned(out.Most, high.Most),
			RMS: func() bounded.Estimate { return spanned(rms(), high.RMS()) }}
	}
	return out, true
}

// spanned returns the middle of two estimates with the bounds of both.
func spanned(a, b bounded.Estimate) bounded.Estimate {
	return bounded.Estimate{Value: (a.Value + b.Value) / 2, Low: math.Min(a.Low, b.Low), High: math.Max(a.High, b.High)}
}

// method names the way for people, over the plane section of f.
func (w solid) method(f *Field) string {
	way := "closed form, bars in space"
	if w.space != nil && w.space.iron != nil {
		way = "volume integral equation, iron and bars in space"
	}
	for b := range f.layout.Bars {
		if len(f.layout.Bars[b].Cuts) > 0 {
			way += ", flow in the plan of cut bars by finite elements"
			break
		}
	}
	switch {
	case w.walls != nil:
		way += ", eddy currents in walls by a volume integral equation, of bars by the plane section (" + f.Method + ")"
	case w.phasors != nil && f.FreqHz > 0:
		way += ", alternating, eddy currents of bars by those of the plane section (" + f.Method + ")"
	case f.FreqHz > 0:
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
// the section itself is at steady current, |S(0) − P(0)|/|P(0)|. Where a piece that
// conducts is short or ends near q, eddy currents turn round at its ends and the section
// knows nothing of it: the share endShare of the whole change is in the bound too. Where
// nothing changes, the vector itself is returned.
func (w solid) carried(f *Field, q geom.Point3, src int, static Vec, section func(*Field) Vec) Vec {
	return static.Add(w.carries(f, q, src, static, section))
}

// carries returns what carried adds, (c − 1) S(0) + R, with the bound of the difference alone;
// where there are walls in space, what they and the crowding of bars add (wallsAt.moved).
func (w solid) carries(f *Field, q geom.Point3, src int, static Vec, section func(*Field) Vec) Vec {
	if w.base == nil {
		return Vec{}
	}
	if w.walls != nil {
		return w.walls.change(f, q, src)
	}
	still := *w.base
	still.rough = f.rough
	p0, pf := section(&still), section(f)
	square := portable.Times(p0.X, p0.X) + portable.Times(p0.Y, p0.Y) + portable.Times(p0.Z, p0.Z)
	if square == 0 {
		return Vec{Bound: pf.Norm() + pf.Bound}
	}
	c := portable.Quotient(portable.Times(p0.X, pf.X)+portable.Times(p0.Y, pf.Y)+portable.Times(p0.Z, pf.Z), square)
	rest := Vec{X: pf.X - portable.Times(c, p0.X), Y: pf.Y - portable.Times(c, p0.Y), Z: pf.Z - portable.Times(c, p0.Z)}
	off := Vec{X: static.X - p0.X, Y: static.Y - p0.Y, Z: static.Z - p0.Z}.Norm() / p0.Norm()
	size := static.Norm() / p0.Norm()
	out := Vec{X: static.X, Y: static.Y, Z: static.Z, Bound: static.Bound}.Scale(c - 1).Add(rest)
	change := float64(portable.Abs(c-1)*static.Norm()) + rest.Norm()
	out.Bound += float64(off*change) + float64(size*(pf.Bound+float64(portable.Abs(c)*p0.Bound)))
	out.Quad = size * pf.Quad
	if share := f.endShare(q.Z); share > 0 {
		out.Bound += float64(share * math.Max(change, leftAlone*answer(f, &still, q)*static.Norm()))
	}
	return out
}

// carriedWall takes a flux density in space to a frequency by the factor of the
// plane section; see carried for its model error and share.
func carriedWall(static, still, moving bounded.Estimate, share float64) bounded.Estimate {
	if still.Value == 0 {
		return static.Plus(bounded.Estimate{Value: moving.Value, Low: -moving.High, High: moving.High})
	}
	k := moving.Value / still.Value
	off := math.Abs(static.Value/still.Value - 1)
	slack := float64(math.Abs(k-1)*(off+share)*static.Value) + (moving.High-moving.Low)/2*static.Value/still.Value
	out := static.Scale(k)
	return bounded.Estimate{Value: out.Value, Low: math.Max(0, out.Low-slack), High: out.High + slack}
}
