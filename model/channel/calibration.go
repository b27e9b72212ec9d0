package channel

import (
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
)

// Turns are the wires of a coil that stands in for a bar at calibration, in the
// frame of the bar's section (centre of the section, width along x). They carry
// one current in one direction; where they go back is far away.
type Turns []geom.Point

// Ribbon returns n turns side by side with their centres pitchM apart along x,
// centred on the bar's centre, heightM above it.
func Ribbon(n int, pitchM, heightM float64) Turns {
	t := make(Turns, n)
	for i := range t {
		t[i] = geom.Point{X: (float64(i) - float64(n-1)/2) * pitchM, Y: heightM}
	}
	return t
}

// Bundle returns n turns in a round bundle about the bar's centre, as seen from
// outside it: all in its middle, where an evenly filled round bundle acts.
func Bundle(n int) Turns { return make(Turns, n) }

// ReadingError returns the relative error of a reading when turns carry a current
// whose ampere-turns are those of the bar they stand in for, bar widthM × thicknessM:
//
//	e = (Σ_i B_wire,i · u)/N / (B_bar · u) − 1
//
// at the point at in the frame of the section, along u. −0.135 means that the coil
// reads 13.5 % less than the bar, and a gain set by it makes the channel read
// 1/(1 − 0.135) − 1 = 15.6 % high. A point in the middle of a round wire, or turns
// that are none, give NaN.
//
// An example of what is at stake: 5 mm over the face of a bar of 20 mm × 3 mm
// (6.5 mm over its centre), with the conductors centred where the bar was, a round
// bundle reads +54.3 %. Ten turns of ribbon read −13.2 % at a pitch of 2.54 mm,
// −13.5 % at 2.553 mm (25.5 mm wide) and −0.1 % at 2 mm (as wide as the bar). Wires
// count as filaments, which is exact outside round ones.
//
// Source: closedform.RectangleB, closedform.FilamentB. Straight, long conductors;
// the ends and the way back of the coil come on top.
func (t Turns) ReadingError(at, u geom.Point, widthM, thicknessM float64) float64 {
	if len(t) == 0 {
		return math.NaN()
	}
	var coil float64
	for _, wire := range t {
		coil += closedform.FilamentB(at.Sub(wire), 1).Dot(u)
	}
	bar := closedform.RectangleB(at, widthM, thicknessM, 1).Dot(u)
	return coil/float64(len(t))/bar - 1
}
