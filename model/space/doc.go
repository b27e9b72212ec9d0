// Package space gives the field of bars in space: with ends, bends and cuts.
//
// A bar is its declared centre line with its section carried along
// (layout.Leg). Each straight piece is a prism, cut at its bends by the plane that
// halves the angle, with its current spread evenly over the section: the
// integral of Biot and Savart over such a prism is a closed form. The mitre keeps
// the current continuous, so a closed run is a closed circuit. Direct current only.
//
// What it does not hold: whatever joins a bar beyond its declared ends (an open
// run is part of a circuit, its field alone is not that of any closed one), and the
// shape of a bend beyond what is declared. The current of a bend crowds at its inner
// corner; that is added (bend), and what the addition leaves out is in the bound.
//
// Frame, units and signs are those of the layout: metres, x right, y up, z out of
// the page along a positive current, tesla per ampere. Conductors are not changed
// once made and may be used from several goroutines.
//
// Subpackages: plan for the flow round necks, notches, holes and slots, iron for
// shields of finite depth.
package space
