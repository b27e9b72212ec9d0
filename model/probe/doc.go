// Package probe computes what rules ask of a layout at its sensors: own field,
// coupling, stray, phase, tolerance. It picks the method and says how far each
// number can be trusted.
package probe
