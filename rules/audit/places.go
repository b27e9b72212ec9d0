package audit

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/waveform"
)

// How many places of the section are sampled: many where the closed form holds, few
// where each costs an integral over the iron.
const (
	cheapPoints  = 1500
	costlyPoints = 200
)

// The places of a slide along x and along y, in its step.
var (
	slideX = [...]float64{-6, -3, -1, 0, 1, 3, 6}
	slideY = [...]float64{-6, -3, -1, 0, 1, 3, 6}
)

// viewBox is what the section shows: every piece and sensor with a margin.
func (b *builder) viewBox() geom.Box {
	box := geom.EmptyBox()
	for i := range b.l.Bars {
		box = box.Join(b.l.Bars[i].Polygon().Box())
	}
	for i := range b.l.Shields {
		box = box.Join(b.l.Shields[i].Region().Outer.Box())
	}
	for i := range b.l.Sensors {
		for _, e := range b.l.Sensors[i].Elements() {
			box = box.Extend(e.At.XY())
		}
	}
	if box.Empty() {
		return box
	}
	size := box.Size()
	return box.Grow(0.12 * math.Max(size.X, size.Y))
}

// points returns the places of the view at which the field is sampled: a grid whose
// steps are round numbers of millimetres, so that a reader can ask for the same place,
// and every element.
func (b *builder) points(view geom.Box, all []part) []geom.Point3 {
	if view.Empty() || len(all) == 0 {
		return nil
	}
	most := cheapPoints
	for i := range all {
		if f, err := b.Model.FieldOf(&all[i].c); err == nil && !f.Bare() {
			most = costlyPoints
		}
	}
	if in, _ := b.Model.InSpace(); in {
		most = costlyPoints
	}
	most = min(most, 6000/len(all))
	size := view.Size()
	stepMM := roundStep(1e3 * math.Sqrt(size.X*size.Y/float64(most)))
	var out []geom.Point3
	for j := math.Ceil(view.Min.Y * 1e3 / stepMM); j*stepMM <= view.Max.Y*1e3; j++ {
		for i := math.Ceil(view.Min.X * 1e3 / stepMM); i*stepMM <= view.Max.X*1e3; i++ {
			out = append(out, geom.Point3{X: i * stepMM / 1e3, Y: j * stepMM / 1e3})
		}
	}
	for i := range b.l.Sensors {
		for _, e := range b.l.Sensors[i].Elements() {
			out = append(out, e.At)
		}
	}
	return out
}

// roundStep returns the next of 1, 2, 2.5, 5, 10 times a power of ten at or above v.
func roundStep(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 1
	}
	decade := portable.Pow(10, math.Floor(portable.Log10(v)))
	for _, k := range []float64{1, 2, 2.5, 5} {
		if v <= k*decade*(1+1e-9) {
			return k * decade
		}
	}
	return 10 * decade
}

// slides returns the places of each sensor: steps of about a tenth of its distance
// from the bar.
func (b *builder) slides() []Slide {
	var out []Slide
	for i := range b.l.Sensors {
		s := &b.l.Sensors[i]
		bar := &b.l.Bars[s.Reads]
		gap := bar.DistanceM(s.At.Point())
		if !(gap > 0) {
			gap = 1e-3
		}
		step := roundStep(1e3*gap/10) / 1e3
		slide := Slide{Sensor: s.ID, AtM: s.At.Point()}
		for _, k := range slideX {
			slide.DX = append(slide.DX, k*step)
		}
		for _, k := range slideY {
			slide.DY = append(slide.DY, k*step)
		}
		out = append(out, slide)
	}
	return out
}

// slid computes what each sensor reads at the places of its slide, row by row from
// the lowest, across first.
func (b *builder) slid(m *probe.Model, c *waveform.Component, slides []Slide) [][]SlidPlace {
	nan := math.NaN()
	out := make([][]SlidPlace, len(slides))
	for i := range slides {
		s := &b.l.Sensors[i]
		for _, dy := range slides[i].DY {
			for _, dx := range slides[i].DX {
				moved := s.Moved(geom.Point{X: dx, Y: dy}, 0)
				place := SlidPlace{nan, nan, nan, nan}
				if !b.inMetal(&moved) {
					if r, err := m.Read(&moved, c); err == nil {
						place.PerAmpereT, place.PhaseRad = portable.Abs(r.PerAmpere.V), portable.Phase(r.PerAmpere.V)
						place.StrayA = portable.Abs(r.Stray.V) / place.PerAmpereT
						if own := portable.Abs(r.OwnA); own > 0 {
							place.StrayShare = place.StrayA / own
						}
					}
				}
				out[i] = append(out[i], place)
			}
		}
	}
	return out
}

// inMetal reports whether an element of s stands in a bar or a shield of the section.
func (b *builder) inMetal(s *layout.Sensor) bool {
	for _, e := range s.Elements() {
		p := e.At.XY()
		for i := range b.l.Bars {
			if !(b.l.Bars[i].DistanceM(p) > 0) {
				return true
			}
		}
		for i := range b.l.Shields {
			if r := b.l.Shields[i].Region(); r.Contains(p) {
				return true
			}
		}
	}
	return false
}
