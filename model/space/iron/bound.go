package iron

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// The fine mesh is the coarse one with every cell cut in two each way, so the errors e
// of a smooth functional stand as e_coarse = 2^p e_fine. p is 2 where the field is
// smooth, 4/3 where the edges of the iron rule; between the two lies
//
//	limit = fine + (fine − coarse)/(2^p − 1)
//
// The largest flux density along a wall stands away from edges: p = 2.
//
// What the two meshes differ by at a place is no bound: errors of opposite sign cancel on
// both. What each cell of the coarse mesh adds to the field differs too, and those
// differences d do not cancel in the root of the sum of their squares:
//
//	bound = the larger of |limit − fine| and s √Σ (cellShare d)²
//
// with s the scale of the meshes. Beside a slit few cells rule, and what they differ by does not fall so fast. Where there is
// one
//
//	bound = 2 |limit − fine| + √Σ (cellShare d)²
//
// A number v of a wall has the largest difference u of a station in place of the root,
// and what no station shows is a share of the number, which falls as the errors of the meshes do:
//
//	bound = the larger of |limit − fine| and station u + number s^1.65 |v|
//
// At the end of a wall, where layers meet the open face, it falls with s alone.
//
// The shares hang on the shape of a piece, whose edges and curves set how fast its meshes converge. They are calibrated on
// seeded pieces of each shape against a third mesh, linear and saturating: TestBoundsAgainstFiner and its siblings. A
// difference of two answers is an answer.
//
// Source: extrapolation of L. F. Richardson; P. J. Roache, Verification and Validation
// in Computational Science and Engineering, Hermosa 1998, chapter 5 (from memory). The root of the sum of squares
// of cells is common practice of error indicators, its factors our own.
const (
	assumedOrder = 1.65
	smoothOrder  = 2.0
	acrossShare  = 0.35 // of the squares of all directions that counts along each

	// Where the meshes have no cells in common, and in the iron:
	boundShare = 0.7
	floorField = 0.004 // of the field, but
	floorIron  = 0.05  // no more than this of what the iron adds
)

// shape is what the shares of bounds hang on.
type shape int

const (
	straight shape = iota // no corner turns inwards
	bent
	slit   // ring with a slit
	closed // ring without
	shapes
)

func (s *section) shape() shape {
	switch {
	case s.annulus != nil && s.annulus.ring.SlitM > 0:
		return slit
	case s.annulus != nil:
		return closed
	case s.o.convex():
		return straight
	}
	return bent
}

// convex reports whether no corner turns inwards.
func (o *outline) convex() bool {
	for i := range o.a {
		n := o.next[i]
		if o.corner[n] && o.b[i].Sub(o.a[i]).Cross(o.b[n].Sub(o.a[n])) < 0 {
			return false
		}
	}
	return true
}

var cellShare = [shapes]float64{straight: 0.62, bent: 0.62, slit: 0.45, closed: 0.65}

const slitStep = 2 // |limit − fine| where there is a slit

// wallShare says of what a number of a wall may be off: of the largest difference of a station, and of the number itself on
// the standard meshes.
type wallShare struct{ station, number float64 }

var (
	peakShare = [shapes]wallShare{straight: {0.05, 0.020}, bent: {0.50, 0.0050}, slit: {0.40, 0.0050}, closed: {1.0, 0}}
	midShare  = [shapes]wallShare{straight: {0, 0.029}, bent: {0.30, 0.0125}, slit: {0.35, 0.0050}, closed: {1.3, 0}}
	endShare  = [shapes]wallShare{straight: {0.05, 0.041}, bent: {0.20, 0.0275}, slit: {0.25, 0.0200}, closed: {1.0, 0}}
	rmsShare  = [shapes]wallShare{straight: {0, 0.041}, bent: {0.40, 0.0085}, slit: {0.15, 0.0100}, closed: {1.5, 0}}
)

func limitStep(order float64) float64 { return 1 / (portable.Pow(2, order) - 1) }

func extrapolated(coarse, fine geom.Point3) geom.Point3 {
	return fine.Add(fine.Sub(coarse).Scale(limitStep(assumedOrder)))
}

// limit3 returns the field extrapolated from two meshes and its bound where they have no cells in common. ironT is the
// size of what the iron adds.
func limit3(coarse, fine geom.Point3, ironT, scale float64) (geom.Point3, float64) {
	d := fine.Sub(coarse)
	floor := math.Min(floorField*math.Max(fine.Norm(), ironT), floorIron*ironT)
	return extrapolated(coarse, fine), float64(boundShare*d.Norm()) + float64(portable.Pow(scale, assumedOrder)*floor)
}

// limit1 returns a number of a wall extrapolated from two meshes and its bound: most is the largest difference of its
// stations, grown the error of the meshes against that of the standard ones.
func limit1(coarse, fine, order float64, share wallShare, most, grown float64) (float64, float64) {
	v := fine + float64((fine-coarse)*limitStep(order))
	return v, math.Max(math.Abs(v-fine), float64(share.station*most)+float64(share.number*grown*math.Abs(v)))
}
