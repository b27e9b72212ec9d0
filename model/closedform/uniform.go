package closedform

import (
	"busgauss/model/geom"
	"busgauss/model/portable"
)

// UniformB returns the flux density in tesla of a uniform field of magnitude
// fluxDensityT whose direction makes angleRad with +x, counter-clockwise:
//
//	B = (b cos φ, b sin φ)
//
// Source: definition.
func UniformB(fluxDensityT, angleRad float64) geom.Point {
	s, c := portable.Sincos(angleRad)
	return geom.Point{X: fluxDensityT * c, Y: fluxDensityT * s}
}
