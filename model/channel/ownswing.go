package channel

import (
	"math"

	"busgauss/model/layout"
	"busgauss/model/probe"
)

// OwnSwing returns the lowest and the highest current in amperes that s reads over all
// time of duty d: between samples too, groups of components at any phase, a fault at its
// first peak. NaN where the shares of a circuit are not known.
func OwnSwing(m *probe.Model, s *layout.Sensor, d *layout.Duty) (lowA, highA float64) {
	own, err := m.OwnCurrent(s, d)
	if err != nil {
		return math.NaN(), math.NaN()
	}
	low, high := own.Extremes()
	return low.Low, high.High
}
