// Package channel is the way from the sensing element to the number in the
// controller: what each stage does with a current, where it clips, how finely
// and how late it tells, and what is left over when three channels are added.
//
// The arithmetic of a Chain takes numbers in SI units and knows no field: the flux
// density per ampere comes in as a number. FromLayout fills a Chain from a layout
// and names every datum that it had to assume or could not have. Of, AccuracyOf and
// what else takes a probe.Model ask it for the fields.
//
// One convention holds throughout: a stage is a straight line
//
//	q = q0 + k I
//
// over the current I that the sensor reads, in amperes, positive along +z in a bar.
// Angles of lag are positive when the reading comes late. NaN stands for what is not
// known and spreads to every result that hangs on it; comparisons are written so that
// NaN never passes.
package channel
