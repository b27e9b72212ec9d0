package eddy

import "busgauss/model/portable"

// The fine mesh has 1/0.7 as many cells along each line as the coarse one, so errors of second
// order stand as 2 to 1 and the limit lies one more difference beyond the fine mesh. Less than that is
// taken, since the edges of thin walls converge more slowly at first, and the bound holds either.
// The floor is for errors of opposite sign that cancel on both meshes, and for numbers of cells that round to steps apart from
// 1/0.7. Both are calibrated on seeded pieces against a third mesh (TestBoundsAgainstFiner); what was found against
// closed forms and independent computations is in the tests.
//
// Source: extrapolation of L. F. Richardson; P. J. Roache, Verification and Validation in
// Computational Science and Engineering, Hermosa 1998, chapter 5 (from memory).
const (
	coarseScale = 0.7 // numbers of cells along a line over those of the fine mesh
	limitStep   = 0.7 // of the difference between the meshes
	boundShare  = 1.7 // of the difference
	boundFloor  = 0.0095

	// The same where some piece is magnetic: of 60 arrangements of TestIronBoundsAgainstFiner, of which 41 were small
	// enough, all 270 values covered, bound over error 1.3 at least, 4.0 in the middle.
	ironShare = 2.0
	ironFloor = 0.035
)

// limit returns the field extrapolated from two meshes and its bound.
func limit(coarse, fine vec3, iron bool) (b [3]complex128, boundT float64) {
	share, floor := boundShare, boundFloor
	if iron {
		share, floor = ironShare, ironFloor
	}
	var d vec3
	for k := range d {
		d[k] = fine[k] - coarse[k]
		b[k] = fine[k] + portable.Times(d[k], complex(limitStep, 0))
	}
	return b, float64(share*d.norm()) + float64(floor*vec3(b).norm())
}
