package probe

import (
	"fmt"
	"math"

	"busgauss/model/field"
	"busgauss/model/layout"
)

// IronPathM returns the mean length of the path that flux of a bar takes
// through the iron of a shield, in metres: leg, floor and leg of a channel, from
// tip to tip along the middle of the wall; the width of a plate; the mean
// circumference of a slit ring less its slit. The error is an *Unknown for a ring
// without a slit, which closes on itself, and for an outline.
func IronPathM(f *layout.Form) (float64, error) {
	switch {
	case f.Kind == layout.Channel:
		t := f.WallM.V
		return f.OpeningM.V + t + 2*(f.LegM.V+t/2), nil
	case f.Kind == layout.Plate:
		return f.WidthM.V, nil
	case f.Kind == layout.Ring && f.SlitM.V > 0:
		return math.Pi*(f.InnerM.V+f.WallM.V) - f.SlitM.V, nil
	case f.Kind == layout.Ring:
		return 0, &field.Unknown{Reason: "a ring without a slit closes on itself, and what stays in it hangs on its history"}
	}
	return 0, &field.Unknown{Reason: "the path of flux through an outline is not known"}
}

// RemanenceA returns the largest offset, in amperes of a bar, that a shield can
// leave after its iron was driven far:
//
//	I ≤ Hc · l
//
// Round the loop through iron and air, without a current, Ampère's law is
// H_air·l_air + H·l = 0, and the loop of a circuit with a wide air gap meets the
// hysteresis loop near B = 0, where H = −Hc. The air then holds the
// magnetomotive force of a bar that carries Hc·l. It is an upper bound: a sensor
// below the tips of the legs has only the iron below it in its loop, and iron
// that was not driven to saturation keeps less than its coercivity. Without a
// coercivity NaN and an *Unknown.
//
// Source: permanent magnet circuits, A. E. Fitzgerald, C. Kingsley, S. D. Umans,
// Electric Machinery, 6th ed., section 1.5 (from memory).
func (m *Model) RemanenceA(i layout.ShieldIndex) (float64, error) {
	s := &m.Layout.Shields[i]
	mat := &m.Layout.Materials[s.Material]
	if !mat.CoercivityAPM.Set {
		return math.NaN(), &field.Unknown{Reason: fmt.Sprintf("material %q declares no coercivity", mat.ID)}
	}
	l, err := IronPathM(&s.Form)
	if err != nil {
		return math.NaN(), err
	}
	return mat.CoercivityAPM.V * l, nil
}

// NearestSensor returns the sensor nearest to shield i; None when there is none.
func NearestSensor(l *layout.Layout, i layout.ShieldIndex) layout.SensorIndex {
	region := l.Shields[i].Region()
	best, least := layout.SensorIndex(layout.None), math.Inf(1)
	for k := range l.Sensors {
		if d := region.DistanceM(l.Sensors[k].At.Point()); d < least {
			best, least = layout.SensorIndex(k), d
		}
	}
	return best
}
