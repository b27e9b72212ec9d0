// Package mesh divides a plane drawing of loops and lines into triangles fit for finite elements.
//
// The pipeline is: drawing → pieces (points merged, arcs divided, skin layers added) → Delaunay
// triangulation in a box → constraint edges recovered → outside carved away and regions assigned →
// refinement until no triangle is too large or too thin → Mesh.
//
// Lengths are metres, triangles turn counter-clockwise, edge i of a triangle is the one opposite its
// corner i. The same input gives the same mesh, bit for bit; nothing depends on map order, clock or
// number of processors.
//
// Sources: J. R. Shewchuk, Discrete Comput. Geom. 18 (1997) 305 (exact predicates); A. Bowyer, Comput. J.
// 24 (1981) 162 and D. F. Watson, Comput. J. 24 (1981) 167 (insertion); S. W. Sloan, Comput. Struct. 47
// (1993) 441 (recovering edges by flips); J. Ruppert, J. Algorithms 18 (1995) 548 and J. R. Shewchuk,
// Comput. Geom. 22 (2002) 21 (refinement); A. Üngör, Comput. Geom. 42 (2009) 109 (off-centres);
// G. L. Miller, S. E. Pav, N. J. Walkington, Int. J. Comput. Geom. Appl. 15 (2005) 421 (small angles).
package mesh
