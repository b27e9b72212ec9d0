// Package uncertainty adds up the uncertainty of a result from its causes, as
// the Guide to the expression of uncertainty in measurement does (JCGM
// 100:2008, in short the guide).
//
// A Budget holds Lines, one for each input quantity x_i: how far it may lie from
// its estimate (a Spread), and the sensitivity c_i = ∂y/∂x_i, which the caller
// takes from its model of the result y. Evaluate gives the combined standard
// uncertainty, the expanded uncertainty, the worst case and the contributors in
// falling order. One budget stands for one value of y: full range, a tenth of
// it and the smallest current are three budgets with three sets of
// sensitivities.
//
// The guide propagates to first order: it is exact where y is linear in its
// inputs over their spreads, and blind where a sensitivity passes through zero
// (clause 5.1.2, note). JCGM 101:2008, the Monte Carlo supplement, is what the
// tests compare with.
//
// # Correlation
//
// Lines that name the same Cause are moved by one thing, such as temperature or
// a shifted board: their parts add with sign before they are squared (clause
// 5.2.2, note 1). A Pair states the correlation coefficient of two lines in
// general (clause 5.2.2, equation 16).
//
// # Calibration
//
// A line says which share of its spread each kind of calibration leaves, and
// which kinds bring it in (the uncertainty of the reference itself, say). The
// package knows no kinds; the caller names them. Budget.After picks one.
//
// # What is missing
//
// Anything missing, not a number or contradictory makes every number of the
// result NaN, with the reasons in Result.Missing. A missing number is never
// taken as zero; a zero that the caller means is written as zero.
//
// Lengths, volts and amperes may all appear in one budget, so numbers carry
// their unit as text and not in the name.
package uncertainty
