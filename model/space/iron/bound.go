package iron

import (
	"math"

	"busgauss/model/geom"
)

// The fine mesh is the coarse one with every cell cut in two each way, so the errors e
// of a smooth functional stand as e_coarse = 2^p e_fine. p is 2 where the field is
// smooth, 4/3 where the edges of the iron rule; between the two lies
//
//	limit = fine + (fine − coarse)/(2^p − 1)
//
// What the two meshes differ by at a place is no bound: errors of opposite sign cancel on
// both. What each cell of the coarse mesh adds to the field differs too, and those
// differences d do not cancel in the root of the sum of their squares:
//
//	bound = the larger of |limit − fine| and cellShare s √Σ d²
//
// with s the scale of the meshes. cellShare is calibrated on seeded pieces against a third mesh:
// see TestBoundsAgainstFiner; TestRingBoundsAgainstFiner holds it of rings. Walls take the largest difference of a station in
// place of the root. A difference of two answers is an answer.
//
// Source: extrapolation of L. F. Richardson; P. J. Roache, Verification and Validation
// in Computational Science and Engineering, Hermosa 1998, chapter 5 (from memory). The root of the sum of squares
// of cells is common practice of error indicators, its factor our own.
const (
	assumedOrder = 1.65
	cellShare    = 0.65
	acrossShare  = 0.3 // of the squares of all directions that counts along each

	// Where the meshes have no cells in common, and in the iron:
	boundShare = 0.7
	floorField = 0.004 // of the field, but
	floorIron  = 0.05  // no more than this of what the iron adds
)

func limitStep() float64 { return 1 / (math.Pow(2, assumedOrder) - 1) }

func extrapolated(coarse, fine geom.Point3) geom.Point3 {
	return fine.Add(fine.Sub(coarse).Scale(limitStep()))
}

// limit3 returns the field extrapolated from two meshes and its bound where they have no cells in common. ironT is the
// size of what the iron adds.
func limit3(coarse, fine geom.Point3, ironT, scale float64) (geom.Point3, float64) {
	d := fine.Sub(coarse)
	floor := math.Min(floorField*math.Max(fine.Norm(), ironT), floorIron*ironT)
	return extrapolated(coarse, fine), boundShare*d.Norm() + math.Pow(scale, assumedOrder)*floor
}

// Shares of the largest difference of a station that a number of a wall may be off by on the standard meshes, and of
// the number itself. They rise with the square of the scale.
const (
	peakShare = 0.38
	midShare  = 0.38
	endShare  = 0.50
	rmsShare  = 0.33
	floorWall = 0.004
)

// limit1 returns a number of a wall extrapolated from two meshes and its bound: most is the largest difference of its
// stations.
func limit1(coarse, fine, share, most, scale float64) (float64, float64) {
	v := fine + (fine-coarse)*limitStep()
	return v, math.Max(math.Abs(v-fine), share*scale*scale*most) + floorWall*math.Abs(v)
}
