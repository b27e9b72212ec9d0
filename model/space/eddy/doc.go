// Package eddy computes eddy currents in pieces of metal of finite depth, magnetic or not, in
// space, driven by any source field of one frequency.
//
// # Equation
//
// The pieces are prisms along z, cut in hexahedra. J is the current density, B_s the source in
// empty space:
//
//	J/σ + jω (μ0/4π) ∫ J(r')/|r−r'| dV' + ∇V = −jω A_s,   div J = 0,   n·J = 0 on the surface
//
// J = curl T with T in the lowest edge elements. T has no part along the surface, so
// that no current leaves the metal and no piece carries a net current; an opening through a
// piece has an unknown of its own, the current round it. Tested with curl T, V drops out:
//
//	(R + jωL) t = −jω b,   b = ∫ T·B_s dV
//
// R is sparse. L = CᵀKC + S, where C takes the unknowns to the mean current of each cell and K is the
// mean of 1/|r−r'| over pairs of cells: near by the closed form of a polyhedron at Gauss points,
// far by second moments. S is what the currents store that the mean of a cell does not see. Of the edges
// within, those of a tree are nought: only curl T counts.
//
// Why this and not finite elements: no mesh of the air, cells that fit thin walls, a smooth
// field at the sensor. Why b from B and not from A: it is what the bars of model/space give,
// with their bends and cuts, and it has no gauge.
//
// Sources: R. Albanese, G. Rubinacci, IEE Proc. A 135 (1988) 457-462 (integral formulation with
// edge elements and the tree); the same, Finite element methods for the solution of 3D eddy current
// problems, Adv. Imaging Electron Phys. 102 (1998) 1-86 (both from memory).
//
// # Magnetic metal
//
// Where a piece has a permeability above 1 the field within is H = T − ∇φ on the same cells, and L t the flux
// ∫T·μH dV of a T with the φ that answers to it: see permeable for its equation. Permeabilities are real and do not change
// with the field. Pieces that are not magnetic, bars that carry current among them, have the φ of what answers alone; pieces may
// be of iron that does not conduct. In the two together there is no difference of large fields, at high permeability or where
// flux goes in and turns round within a skin.
//
// # All frequencies
//
// R and L are real and made once. The sources span a Krylov space of R⁻¹L, with R factored; in its basis
// a frequency costs a dense system of some tens of unknowns: see reduction.
//
// # Two meshes
//
// Every problem is solved on two meshes. Values are extrapolated from both, bounds come from
// their difference: see bound.go. The bound is an estimate tested against references, not a
// proof; it is relative to the field of the eddy currents, so that of what a closed wall leaves
// inside, one part in a hundred, it is large. Cells crowd at faces and rims as the cosine:
// with a skin that is thin against the first of them the answer is that of a perfect conductor
// whose surface lies half that cell deep.
//
// # Symmetry
//
// Pieces that share a mid-plane are meshed to one side of it, and the source is split in the part that
// drives currents through the plane and the part that drives them round along it.
//
// # Not seen
//
// Iron that saturates; openings through a piece in the presence of iron, closed rings too; pieces that touch or are joined; pieces
// of which a current enters or leaves, but for bars that carry an even one; displacement currents. Outlines whose sides are neither square to each other nor those of
// a ring are refused.
package eddy
