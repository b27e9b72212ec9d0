// Package probe computes what rules ask of a layout at its sensors and shields from the
// fields of package field: own reading, coupling, stray, phase, tolerance, fill, heat.
package probe
