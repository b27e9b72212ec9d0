package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// togetherT returns the flux density of the wall of shield i where the steady currents of duty d, nil: none, the
// declared uniform field and the wires stand in the direction, the wires all with one sign or all with the other, in
// which they fill it most, were its iron linear: that of the true state of the iron there. The wall surely reaches
// its lower bound. False where that is not computed: in space, and where a current of the duty or of a wire
// alternates, since eddy currents may then keep flux out. Magnets are left out.
func (m *Model) togetherT(i layout.ShieldIndex, d *layout.Duty) (wallT bounded.Estimate, known bool, err error) {
	around := &m.Layout.Surroundings
	if m.inSpace() || !field.Saturable(m.Layout) || !around.Uniform.FluxDensityT.Set && len(around.Wires) == 0 {
		return wallT, false, nil
	}
	for k := range around.Wires {
		if around.Wires[k].FreqHz.V > 0 {
			return wallT, false, nil
		}
	}
	barsA, ok, err := m.SteadyBarsA(d)
	if err != nil || !ok {
		return wallT, false, err
	}
	n, first := m.Stated().Rest(), layout.BarIndex(0)
	if len(around.Wires) > 0 {
		n, first = n.WithWires()
		barsA = append(barsA, make([]float64, len(around.Wires))...)
	}
	f, err := n.Field(0)
	if err != nil {
		return wallT, false, err
	}
	var best drivenWall
	for _, u := range uniformsOf(around) {
		for _, sign := range []float64{-1, 1} {
			a := append([]float64(nil), barsA...)
			for k := range around.Wires {
				a[int(first)+k] = sign * around.Wires[k].Amount.PeakValueA()
			}
			w, err := f.DriveWall(i, a, u[0], u[1])
			if err != nil {
				return wallT, false, err
			}
			if best.barsA == nil || w.Value > best.wallT {
				best = drivenWall{w.Value, a, u}
			}
		}
	}
	wallT, err = n.WallIn(i, best.barsA, best.uniformT[0], best.uniformT[1])
	return wallT, err == nil, err
}

// drivenWall is what a wall carries for currents in a uniform field.
type drivenWall struct {
	wallT    float64
	barsA    []float64
	uniformT [2]float64
}

// uniformsOf returns the declared uniform field either way along its direction, or in directions all round; none: zero.
func uniformsOf(around *layout.Surroundings) (out [][2]float64) {
	u := around.Uniform
	if !u.FluxDensityT.Set {
		return [][2]float64{{}}
	}
	angles := []float64{u.DirectionRad.V, u.DirectionRad.V + math.Pi}
	if !u.DirectionRad.Set {
		angles = nil
		for k := range 2 * directions {
			angles = append(angles, math.Pi*float64(k)/directions)
		}
	}
	for _, a := range angles {
		sin, cos := portable.Sincos(a)
		out = append(out, [2]float64{u.FluxDensityT.V * cos, u.FluxDensityT.V * sin})
	}
	return out
}
