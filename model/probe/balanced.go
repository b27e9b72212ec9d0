package probe

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// Balanced is how a balanced three-phase set reads on its three sensors at
// direct-current coupling: the relative error of each amplitude, the error of
// each phase in radians, and the magnitude of the sum of the three readings
// (each divided by its own field per ampere) over the current of one phase.
type Balanced struct {
	Amplitude, PhaseRad [3]float64
	FalseSum            bounded.Estimate
}

// Balanced returns the errors of the set t for the first sensor of each of its circuits; the second circuit lags
// the first by 120°, the third the second. With C the reading of each sensor per ampere of each circuit in the
// direction of the set and O its own reading,
//
//	told_k = Σ_j C_kj e^{−jj·120°} / O_k,  false sum = |Σ_k told_k|
//
// The own parts add up to nothing in that sum where no sensor reads one leg alone, and then their bounds do not
// count. The error is an *Unknown where a circuit has no sensor or a sensor may read nothing of it.
func (m *Model) Balanced(t *layout.ThreePhase) (Balanced, error) {
	var out Balanced
	sensors, err := m.sensorsOf(t)
	if err != nil {
		return out, err
	}
	f, err := m.Field(0)
	if err != nil {
		return out, err
	}
	var sum complex128
	half, size := 0.0, 0.0
	for k, s := range sensors {
		own := f.Own(s).Axis
		if !(own.Abs().Low > 0) {
			return out, &field.Unknown{Reason: fmt.Sprintf("sensor %q may read nothing of %s", s.ID,
				m.Layout.ReadName(s))}
		}
		var told complex128
		for j, c := range t.Circuits {
			turn := portable.Rect(t.Signs[j], -2*math.Pi/3*float64(j))
			part := f.PerAmpere(s, c).Axis
			q := portable.Quotient(part.V, own.V)
			told += portable.Times(q, turn)
			size += portable.Abs(q)
			if j != k || s.Leg != layout.None {
				half += (part.Abs().High - portable.Abs(part.V) + float64(portable.Abs(q)*(own.Abs().High-portable.Abs(own.V)))) /
					own.Abs().Low
			}
		}
		told = portable.Times(told, complex(float64(s.Sign*t.Signs[k]), 0)) // in the direction of the set
		sum += told
		q := portable.Times(told, portable.Rect(1, 2*math.Pi/3*float64(k)))
		out.Amplitude[k], out.PhaseRad[k] = portable.Abs(q)-1, portable.Phase(q)
	}
	v := portable.Abs(sum)
	if v <= noSum*size { // what arithmetic leaves of parts that cancel
		v = 0
	}
	out.FalseSum = bounded.Estimate{Value: v, Low: math.Max(0, v-half), High: v + half}
	return out, nil
}

// noSum is the share of what is summed below which a sum is nothing.
const noSum = 1e-11

func (m *Model) sensorsOf(t *layout.ThreePhase) (out [3]*layout.Sensor, err error) {
	for k, c := range t.Circuits {
		for i := range m.Layout.Sensors {
			if s := &m.Layout.Sensors[i]; s.Circuit == c && out[k] == nil {
				out[k] = s
			}
		}
		if out[k] == nil {
			return out, &field.Unknown{Reason: "no channel reads " + m.Layout.CircuitName(c)}
		}
	}
	return out, nil
}
