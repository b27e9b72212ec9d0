// Package fem computes the plane magnetic field of long bars and shields with
// finite elements: linear statics, saturating iron, and eddy currents.
//
// Convention, everywhere in the package: x to the right, y up, z out of the
// plane and along positive current; the unknown is A_z in Wb/m with Bx = ∂A/∂y,
// By = −∂A/∂x; phasors are peak-valued with e^{+jωt}; SI units.
//
// # Split
//
// A = As + Ar: As is the closed form of the sources in empty space (bars with
// uniform current density, a uniform field), Ar the reaction of iron and eddy
// currents. Ar is the unknown; inside iron and conductors the elements carry
// As + Ar with As taken at the nodes, outside Ar alone. Without iron at direct
// current Ar vanishes and nothing is discretised. Every source of Ar has no net
// current, so that Ar decays at infinity whatever the bars carry.
// Source of the split: O. Biro, K. Preis, IEEE Trans. Magn. 26 (1990) 1572 and
// references there (reduced potentials; from memory).
//
// # Open boundary
//
// The mesh ends on a circle around all pieces. Outside, Ar is a series of
// r^-n cos nθ and r^-n sin nθ, whose relation between Ar and ∂Ar/∂r on the circle is
// exact: a dense block for the nodes of the circle, no truncation of space.
// Source: J. B. Keller, D. Givoli, Exact non-reflecting boundary conditions, J.
// Comput. Phys. 82 (1989) 172; D. Givoli, Numerical Methods for Problems in
// Infinite Domains, Elsevier 1992 (from memory).
//
// # Currents
//
// In a conducting piece J = Js − σ (jωA + V) with one unknown V for each insulated
// piece, or each bonded group, found from its net current. Sheet (laminated)
// iron carries no current along z: its sheets lie on edge in the plane and are
// insulated, and it enters with the complex permeability of the sheet.
//
// # Values at points
//
// Flux density in air is not the derivative of the elements there but the field
// of the magnetisation and eddy currents found, by Biot and Savart: a smooth
// integral over the pieces whose error is the product of two energy-norm errors.
// Its bound is that product, from an estimator of the field and of the field of
// a line dipole at the point; a place near a sensor takes it from there, see near. Sources: R. Becker, R. Rannacher, An optimal
// control approach to a posteriori error estimation, Acta Numerica 10 (2001)
// 1-102; estimator: R. E. Bank, A. Weiser, Math. Comp. 44 (1985) 283, with the
// jumps shared in proportion to reluctivity: C. Bernardi, R. Verfürth, Numer.
// Math. 85 (2000) 579 (all three from memory).
//
// # Skin effect
//
// Conductors get rows of flat triangles at their surface, sized by the skin depth
// and bent along circles, up to a megahertz; there is no surface impedance.
package fem
