package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/layout"
)

// Balanced is how a balanced three-phase set reads on its three sensors at
// direct-current coupling: the relative error of each amplitude, the error of
// each phase in radians, and the magnitude of the sum of the three readings
// (each divided by its own field per ampere) over the current of one phase.
type Balanced struct {
	Amplitude, PhaseRad [3]float64
	FalseSum            float64
}

// Balanced returns the errors for sensors s[0..2], which read three different
// bars; the second bar lags the first by 120°, the third the second.
func (m *Model) Balanced(s [3]*layout.Sensor) (Balanced, error) {
	f, err := m.Field(0)
	if err != nil {
		return Balanced{}, err
	}
	var out Balanced
	var sum complex128
	for k := range s {
		own := f.Own(s[k]).Axis.V
		var reading complex128
		for j := range s {
			turn := cmplx.Rect(1, -2*math.Pi/3*float64(j))
			reading += f.PerAmpere(s[k], s[j].Circuit).Axis.V * complex(s[j].Sign, 0) * turn
		}
		reading /= own
		sum += reading
		q := reading * cmplx.Rect(1, 2*math.Pi/3*float64(k))
		out.Amplitude[k], out.PhaseRad[k] = cmplx.Abs(q)-1, cmplx.Phase(q)
	}
	out.FalseSum = cmplx.Abs(sum)
	return out, nil
}
