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
// The bound is larger than the step to the limit, and never below a share of what the
// iron adds, because errors of opposite sign may cancel on both meshes.
//
// Source: extrapolation of L. F. Richardson; P. J. Roache, Verification and Validation
// in Computational Science and Engineering, Hermosa 1998, chapter 5 (from memory).
const (
	assumedOrder = 1.65
	boundShare   = 0.7
	floorField   = 0.004 // of the field, but
	floorIron    = 0.05  // no more than this of what the iron adds
	floorWall    = 0.01
)

func limitStep() float64 { return 1 / (math.Pow(2, assumedOrder) - 1) }

// limit3 returns the field extrapolated from two meshes and its bound. ironT is the
// size of what the iron adds.
func limit3(coarse, fine geom.Point3, ironT, scale float64) (geom.Point3, float64) {
	d := fine.Sub(coarse)
	floor := math.Min(floorField*math.Max(fine.Norm(), ironT), floorIron*ironT)
	return fine.Add(d.Scale(limitStep())), boundShare*d.Norm() + math.Pow(scale, assumedOrder)*floor
}

// limit1 does the same for the mean flux density of a wall.
func limit1(coarse, fine, scale float64) (float64, float64) {
	d := fine - coarse
	v := fine + d*limitStep()
	return v, boundShare*math.Abs(d) + floorWall*math.Pow(scale, assumedOrder)*math.Abs(v)
}
