// Package decouple turns what sensors read of bars into what bars carry.
//
// A coupling matrix A has a row for each sensor and a column for each bar; its
// entry is the reading per ampere, in T/A or V/A, complex where it is taken at a
// frequency (peak phasors, e^{+jωt}). Where circuits of several bars are declared,
// a circuit stands for a bar in all that follows.
//
// Inverse gives the currents from the readings of as many sensors as bars,
// LeastSquares also from those of more, or of fewer where sums of currents are known
// to be zero. Condition says how much the way back enlarges errors of the readings,
// LeftoverOf what an inverse made for one matrix leaves with another, and Worst the
// same over many; a Fit has both for itself.
//
// # Constants for firmware
//
// Float and Fixed make Constants from a real inverse, square or not, which Format
// writes. The text is UTF-8, a fact to a line, free to use in any firmware:
//
//	# busgauss decoupling constants, version 1
//	# i = (sum of constant * reading - offset) / 2^shift, in amperes, by bar
//	layout sha256:6f1c0a
//	frequency_hz 0
//	form fixed
//	input count
//	width_bits 16
//	shift 14
//	sensors s1 s2
//	bars u v
//	zero 2048 2048.5
//	reading_min 0 0
//	reading_max 4095 4095
//	constant u 16501 -124
//	constant v -103 16501
//	offset u 33540034
//	offset v 33591355
//	accumulator_bits u 28
//	accumulator_bits v 28
//	error_bound_a u 0.126
//	error_bound_a v 0.126
//	worked_reading 3450 2100
//	worked u ( 16501*3450 -124*2100 -33540034 ) / 2^14 = 1411.62 A
//	worked v ( -103*3450 +16501*2100 -33591355 ) / 2^14 = 43.0539 A
//
// What the keys mean:
//
//	layout            content hash of the layout, as the caller gives it
//	frequency_hz      of the matrix that was inverted
//	form              fixed or float
//	input             unit of the readings: count, V or T; fixed takes counts alone
//	width_bits        fixed: width of a constant, signed, two's complement
//	shift             fixed: constants are multiples of 2^-shift A per count
//	sensors, bars     names, in the order of all that follows
//	zero              reading without current, by sensor
//	reading_min, _max range of the readings, by sensor
//	constant          of a bar, by sensor; float: A per unit of input
//	offset            fixed: the constants times the zeros, a whole number
//	accumulator_bits  fixed: signed width that holds every partial sum
//	error_bound_a     largest error of the rounded form in amperes, rounded up
//	worked_reading    readings of an example, by sensor
//	worked            the example worked out for a bar
//
// The current of a bar is, with all sums in the order of the sensors,
//
//	fixed   i = (Σ constant·reading − offset) / 2^shift
//	float   i = Σ constant·(reading − zero), in IEEE 754 single precision
//
// Blank lines, and lines that start with # after the first, mean nothing. Keys
// may come in any order; the order above is what is written. Words are parted
// by spaces. A name that is not made of letters A to Z and a to z, digits, point,
// hyphen and underscore is quoted, with the escapes of the Go language. The
// lines offset, accumulator_bits, error_bound_a and worked follow from the
// others, and a reader may check them so.
//
// Constants hold for the bars and sensors of the layout as drawn. What
// tolerance, frequency and temperature add is another matter: Worst says it.
// Anything that switches or protects by such a current needs its own safety
// measures under the standards of its field.
package decouple
