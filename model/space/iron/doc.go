// Package iron computes the field of iron pieces of finite depth in space, static, linear or
// saturating, driven by any source field, and alternating where it does not conduct along z.
//
// # Equation
//
// The pieces are prisms along z, cut in tetrahedra. H_s is the source in empty space,
// M the magnetisation, φ the total scalar potential in the iron:
//
//	H = −∇φ + R        M = χ(|H|) H        φ = φ_s + (1/4π) ∫ M·(r−r')/|r−r'|³ dV'
//
// φ is linear in each tetrahedron, so that H and M are constant there and the potential
// of a tetrahedron is M·∮ n dS'/|r−r'|, in closed form. The equation is asked at the
// nodes (collocation). Only the iron is meshed: space is open without a boundary, the
// field outside is that of the magnetised tetrahedra, and the total potential, unlike
// the reduced one, loses no digits at high permeability.
//
// φ_s is fitted to the line integrals of H_s along the edges of the mesh. What cannot be
// fitted is the circulation of a current that the iron encloses, or of a bar with open
// ends; the lowest edge elements carry it into the tetrahedra as R. A closed ring round a
// wire has nothing but R.
//
// Why this and not finite elements: no mesh of the air between bars, shields and
// sensors, some hundred unknowns instead of some ten thousand, a smooth field at the
// sensor. Why tetrahedra and not a thin shell: outlines are free, walls may be thick.
//
// Sources: M. J. Friedman, SIAM J. Appl. Math. 39 (1980) 14 (the equation and its
// solution in non-linear iron); J. Simkin, C. W. Trowbridge, Int. J. Numer. Methods Eng.
// 14 (1979) 423 (total against reduced potential); O. Chadebec, J.-L. Coulomb, F. Janet,
// IEEE Trans. Magn. 42 (2006) 515 (review of integral methods) (references from memory).
//
// # Two meshes
//
// Every problem is solved on a coarse mesh and on the one with all its cells cut in
// eight. Values are the limit extrapolated from both, bounds come from what each cell of the coarse mesh
// changes on the fine one; see bound.go. Two answers on the same meshes have the errors of the meshes in common, so that
// their difference is bounded as an answer of its own. The meshes are coarse on purpose: alone the fine one is off by a few per
// cent. The diagonals of its cells lean to alternate sides, because cells that all lean one way
// guide the flux to that side.
//
// The bound is an estimate tested against reference values and against third meshes of seeded pieces
// (TestBoundsAgainstFiner), not a proof. It is relative
// to the field outside: of what a closed shield leaves inside, one part in a hundred, it
// may be several times as large.
//
// # Rings
//
// A ring is meshed in steps round it, finer beside a slit, places of interest and other pieces, as many cells through the wall as keep
// them no longer through it than round it. Both meshes follow the circles, with twice as many corners on the fine one: what
// straight edges change falls with the square of the step, as the other errors of the meshes do, and is in the difference that bounds
// come from (TestRingBoundsAgainstFiner). What a closed ring does by itself about a current, no field but in the ring, is taken
// out before the meshes see it: see swirl.go.
//
// # Pieces apart
//
// What a piece does to itself is a full matrix, shared by equal pieces. What it does to another is smooth and of low rank: it is
// kept as crosses, of which some tens leave less than single precision does; see crossed. Pieces so near that this does not pay
// have full matrices there too. Factors of what each piece does to itself, with the permeabilities of small signals, steer all
// linear systems, those of Newton's method too; states start from linear iron and what the coarse mesh says beyond it.
//
// # Symmetry
//
// Pieces that share a mid-plane are meshed to one side of it. A linear source is split
// in its even and odd part about the plane, and only the parts that exist are solved.
// Saturating iron keeps the mirror when the source is even or odd as a whole; otherwise
// both halves are meshed. Pieces of equal shape share what they do to themselves.
//
// # Not seen
//
// Eddy currents that flow along z, hysteresis, the direction of sheets (the iron is the same in all directions; Alternating
// takes what eddy currents do within a sheet as complex permeability), gaps between sheets. Permeability below 1 of pieces.
package iron
