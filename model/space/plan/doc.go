// Package plan finds how a direct current flows in a flat bar whose plan is not
// full (necks, notches, holes, slots, corners in its own plane), and the field of
// that flow in space.
//
// The local frame is that of a bar's section: x across, y through the thickness,
// z along. The bar fills |y| <= t/2; its plan is a region of the plane (x, z), held
// as a geom.Region with X across and Y along. One ampere enters at the near end and
// leaves towards +z. Fields are in tesla per ampere, with components along x, y, z.
//
// The sheet current K (A/m, the same through the thickness) follows from a stream
// function, K = (−∂ψ/∂z, ∂ψ/∂x): ψ is 0 on the left rim and 1 A on the right one, an
// unknown constant on the rim of each hole, and linear along the ends, where the
// current enters and leaves evenly. Every ampere then goes through every section to
// rounding, whatever the mesh. A second solution of the same mesh, the potential φ
// with K = −∇φ, has the opposite merit: it holds Ohm's law exactly and the
// current only nearly. The resistance lies between the two energies, and
//
//	‖K − Kψ‖² + ‖K − Kφ‖² = ‖Kψ − Kφ‖²
//
// gives the error of either in each triangle. The mesh is refined on it, and the
// field of ψ is reported with its distance to the field of φ as bound.
//
// Elements are six-node triangles, so K is linear in each; the field of such a
// triangle, as thick as the bar, is a closed form (kernel.go), and groups of
// triangles further away are seen as points at the nodes of an interpolation
// (cell.go).
//
// Sources: W. Prager, J. L. Synge, Approximations in elasticity based on the
// concept of function space, Quart. Appl. Math. 5 (1947) 241-269 (the identity
// above); D. R. Wilton et al., IEEE Trans. Antennas Propag. 32 (1984) 276-281 (potentials of
// linear sources on polygons); A. Bossavit, Computational Electromagnetism (1998),
// chapter 6 (complementary solutions; the last two from memory).
package plan
