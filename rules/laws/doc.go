// Package laws holds the rules to what is true of every layout, whatever stands in it. It has
// no code of the product, only tests: a seeded generator writes layouts as a user would, in
// YAML; each is loaded and checked in the public way; then the layout is changed in a way whose
// effect on the verdicts is known, and checked again.
//
//	same     move, turn, mirror, rename, reorder, other units, rms for peak, another zero of time,
//	         an idle bar far away: no verdict and no value changes beyond the stated bounds
//	spelling a bar in two joined halves, a plate in two, a pair as an array, a series circuit as two currents:
//	         two ways to write one thing
//	worse    one more duty, need, foreign source, ripple, tolerance; a larger body, more current, a
//	         smaller range, a coarser converter, a slower filter: no verdict gets better
//	less     a datum taken away: a pass may become undecided, nothing else may become a pass
//	limit    a limit set just inside or outside a value: the right side or undecided, and the value
//	         found by the finest field lies in the bound of the first
//	oracle   the value of a rule, computed a second time by sums that share no code with it
//
// A layout that breaks a law is shrunk and printed. Run as many as wanted, from any seed:
//
//	go test ./rules/laws -run TestLaws -layouts 1000 -seed 7
//	go test ./rules/laws -run TestLaws -layouts 10000 -seed 7 -kind closed -laws 4
//	go test ./rules/laws -run TestLaws -layouts 1 -seed 7 -from 412 -v
package laws
