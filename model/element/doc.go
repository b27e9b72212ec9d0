// Package element holds the six-node triangle: shape functions, element
// matrices and quadrature on the reference triangle.
//
// The reference triangle has corners (0,0), (1,0), (0,1) and area 1/2. Nodes
// 0, 1, 2 are the corners, nodes 3, 4, 5 lie between corners 0 and 1, 1 and 2,
// 2 and 0. λ0 = 1 − ξ − η, λ1 = ξ, λ2 = η are the area coordinates.
//
// Source: O. C. Zienkiewicz, R. L. Taylor, The Finite Element Method, vol. 1,
// 5th ed., section 8.8 (triangular family; reference from memory).
package element
