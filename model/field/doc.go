// Package field computes the flux density of a layout: at a point per ampere of a bar,
// in the wall of a shield, and in a uniform field from outside. pick.go picks the
// method - the closed form of bare bars, finite elements in the plane section, bars and
// iron in space, the true state of saturating iron - and each says its bound.
package field
