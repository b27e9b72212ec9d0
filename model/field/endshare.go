package field

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
)

// nearWidths is how many of its widths a conducting piece must go on to either side for
// its eddy currents to be those of the plane section at all.
const nearWidths = 3.0

// endShare returns the share of a change with frequency that the plane section may be off
// by at height zM because pieces that conduct end: the largest over the bars and shields,
//
//	1            the piece is shorter than three of its widths w, or ends within three of z
//	(3 w/e)²     else, e the distance from z to its nearer end or bend
//
// The eddy currents of an endless piece close on themselves at infinity. What is missing
// beyond a cut e away is a row of magnetic dipoles, whose field falls with e². A channel of copper 200 mm deep
// and 22 mm wide is within 2 % of the plane's change, a ninth being left by the
// formula; one of 12 mm has a third of it (fixtures/reference/space-frequency.yaml). Sheet
// and ferrite do not conduct along z. A shield of unknown depth may end anywhere.
func (f *Field) endShare(zM float64) float64 {
	if f.FreqHz == 0 {
		return 0
	}
	return math.Max(f.wallsEndShare(zM), f.barsEndShare(zM))
}

// wallsEndShare is endShare of the shields.
func (f *Field) wallsEndShare(zM float64) float64 {
	worst := 0.0
	l := f.layout
	for i := range l.Shields {
		s := &l.Shields[i]
		if m := &l.Materials[s.Material]; !(m.SigmaSPerM.V > 0) || m.SheetM.Set || s.Long {
			continue
		}
		if !s.DepthM.Set {
			return 1
		}
		worst = math.Max(worst, endShareOf(s.Region().Box(), s.DepthM.V, s.DepthM.V/2-math.Abs(zM-s.At.Z.V)))
	}
	return worst
}

// barsEndShare is endShare of the bars.
func (f *Field) barsEndShare(zM float64) float64 {
	worst := 0.0
	l := f.layout
	for i := range l.Bars {
		b := &l.Bars[i]
		if !(b.SigmaSPerM > 0) || crowding(b, f.FreqHz) < nothingCrowds {
			continue
		}
		lengthM := pathM(b)
		if lengthM == 0 {
			continue
		}
		at := layout.Sensor{}
		at.At.Z.V = zM
		worst = math.Max(worst, endShareOf(b.Polygon().Box(), lengthM, straightM(b, &at)))
	}
	return worst
}

// nothingCrowds is the crowding below which a bar changes nothing worth a bound: its own
// field by a millionth, see uniformDensityBound.
const nothingCrowds = 0.1

func endShareOf(section geom.Box, lengthM, toEndM float64) float64 {
	size := section.Size()
	widthM := math.Max(size.X, size.Y)
	if !(lengthM > nearWidths*widthM && toEndM > nearWidths*widthM) {
		return 1
	}
	k := nearWidths * widthM / toEndM
	return k * k
}

// endsChange returns the bound that endShare stands for where the plane section is used, in
// T/A of bar b at q.
func (f *Field) endsChange(q geom.Point3, b layout.BarIndex) float64 {
	if f.steady == nil || f.rough {
		return 0
	}
	share := f.endShare(q.Z)
	if share == 0 {
		return 0
	}
	still, err := f.steady()
	if err != nil {
		return math.NaN()
	}
	before := still.section.at(q.XY(), b, true)
	change := f.section.at(q.XY(), b, true).Add(before.Scale(-1)).Norm()
	return share * math.Max(change, leftAlone*answer(f, still, q)*before.Norm())
}

// leftAlone is the share of what a uniform field loses at a place that any field there may
// change by where pieces end: eddy currents of an endless piece may happen to leave it alone.
const leftAlone = 0.25

// answer returns the largest relative change of a uniform field at q from still to f in the
// plane section.
func answer(f, still *Field, q geom.Point3) float64 {
	x0, y0 := still.section.uniform(q.XY(), true)
	x, y := f.section.uniform(q.XY(), true)
	return math.Max(x.Add(x0.Scale(-1)).Norm(), y.Add(y0.Scale(-1)).Norm())
}
