package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
)

// What a layout does not say of its surroundings makes an allowance beside the bound of the
// computation. It comes from far away and is smooth near a sensor, so
// that a pair hardly sees it. It is the same whatever the method.

// usuallyClearM is the distance up to which a layout that does not say so has neither iron nor a
// conducting wall around it.
const usuallyClearM = 1.0

func clearM(l *layout.Layout) float64 {
	if r := l.Surroundings.ClearM.V; r > 0 {
		return r
	}
	return usuallyClearM
}

// imagesOf returns what an enclosure R away from the middle of the bars in use may add
// to the field of each bar, in T/A: the field of the bar's image in a circle of
// that radius, which near the middle is uniform,
//
//	ΔB = μ0 d / (2π R²)
//
// with d the way from the middle to the bar and R the distance of surroundings.clear. The sense of the image hangs on
// what the enclosure is of, and is the same for all bars: the images of bars add as their d do. Source: method of
// images for a line in a circular boundary (W. R. Smythe, Static and Dynamic Electricity,
// 3rd ed., chapter 4; from memory).
func imagesOf(l *layout.Layout) []geom.Point {
	out := make([]geom.Point, len(l.Bars))
	middle, r := middleOf(l), clearM(l)
	for b := range out {
		out[b] = l.Bars[b].Centre().Sub(middle).Scale(si.Mu0HPerM / (2 * math.Pi * r * r))
	}
	return out
}

// images returns the images of the bars, in T/A, computed once.
func (m *Model) images() []geom.Point {
	c := m.cache
	c.farOnce.Do(func() { c.images = imagesOf(m.Layout) })
	return c.images
}

// farOf returns the allowance of a reading of elements in T/A of a bar whose image makes image T/A, of the whole vector
// and on the axes. The field of an image is uniform but for the share x/R over a distance x; answer, where given, is
// the response to a uniform field at a place, else it passes unchanged.
func farOf(l *layout.Layout, elements []layout.Element, image float64, answer func(geom.Point) (x, y Vec)) (wholeT,
	axisT float64) {
	if len(elements) == 1 {
		t := math.Abs(elements[0].Weight) * image
		return t, t
	}
	var about geom.Point
	for _, e := range elements {
		about = about.Add(e.At.XY().Scale(1 / float64(len(elements))))
	}
	var weight, onX, onY complex128
	spread, most := 0.0, 1.0
	for _, e := range elements {
		x, y := Vec{X: 1}, Vec{Y: 1}
		if answer != nil {
			x, y = answer(e.At.XY())
			most = math.Max(most, math.Max(x.Norm(), y.Norm()))
		}
		w := complex(e.Weight, 0)
		weight += w
		onX, onY = onX+portable.Times(w, OnAxis(x, e.U).V), onY+portable.Times(w, OnAxis(y, e.U).V)
		spread += float64(math.Abs(e.Weight) * e.At.XY().Sub(about).Norm())
	}
	uneven := image * most * spread / clearM(l)
	return float64(image*most*portable.Abs(weight)) + uneven, float64(image*portable.Hypot(portable.Abs(onX), portable.Abs(onY))) + uneven
}

// withFar puts the allowance of a reading in the place of the sum over its elements.
func (f *Field) withFar(r Reading, elements []layout.Element, b layout.BarIndex) Reading {
	if f.rough {
		return r
	}
	var answer func(geom.Point) (x, y Vec)
	if _, closed := f.section.(bare); !closed && len(f.layout.Shields) > 0 && f.FreqHz > 0 {
		answer = func(q geom.Point) (x, y Vec) { return f.section.uniform(q, true) }
	}
	r.B.Far, r.Axis.Far = farOf(f.layout, elements, f.images[b].Norm(), answer)
	return r
}

// farOf returns the allowance of what elements read where the bars carry barsA, T: of the whole vector
// and on the axes.
func (m *Model) farOf(elements []layout.Element, barsA []float64) (wholeT, axisT float64) {
	if m.rough {
		return 0, 0
	}
	var image geom.Point
	for b, a := range barsA {
		image = image.Add(m.images()[b].Scale(a))
	}
	return farOf(m.Layout, elements, image.Norm(), nil)
}
