package probe

import (
	"fmt"
	"math"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// EarthT is the flux density of the Earth's field that is always counted, in
// tesla. It lies between 0.025 and 0.065 mT over the globe (textbook range,
// from memory); 0.05 mT is common practice for temperate latitudes.
const EarthT = 50e-6

// Outside is one foreign source at a sensor: the largest that its field may put
// on the axis, in tesla and in amperes of the channel.
type Outside struct {
	Name    string
	AxisT   float64
	Amperes Estimate
}

// Ambient returns every foreign source at sensor s and the sum of their
// amperes, which is the worst case of their signs and phases.
func (m *Model) Ambient(s *layout.Sensor) ([]Outside, Estimate, error) {
	perA, err := m.OwnPerAmpere(s)
	if err != nil {
		return nil, Estimate{}, err
	}
	u := s.Axis.U
	around := &m.Layout.Surroundings
	uniform := 1.0
	if s.Pair != nil {
		uniform = 0 // both elements see the same
	}
	var list []Outside
	earth := EarthT
	if d := around.Uniform; d.FluxDensityT.Set {
		switch {
		case d.DirectionRad.Set:
			sin, cos := math.Sincos(d.DirectionRad.V)
			list = append(list, Outside{Name: "declared uniform field",
				AxisT: uniform * math.Abs(d.FluxDensityT.V*(u.X*cos+u.Y*sin))})
		case d.FluxDensityT.V >= EarthT:
			// A declared field of any direction contains the Earth's.
			earth = 0
			list = append(list, Outside{Name: "declared uniform field", AxisT: uniform * d.FluxDensityT.V})
		}
	}
	if earth > 0 {
		list = append(list, Outside{Name: "Earth", AxisT: uniform * earth})
	}
	if i := around.Immunity; i.RMSAPerM.Set || i.PeakAPerM.Set {
		h := i.PeakAPerM.V
		if i.RMSAPerM.Set {
			h = i.RMSAPerM.V * math.Sqrt2
		}
		list = append(list, Outside{Name: "immunity level", AxisT: uniform * si.Mu0HPerM * h})
	}
	for i := range around.Wires {
		w := &around.Wires[i]
		list = append(list, Outside{Name: fmt.Sprintf("wire %q", w.ID), AxisT: math.Abs(wireOnAxis(s, w))})
	}
	for i := range around.Magnets {
		g := &around.Magnets[i]
		list = append(list, Outside{Name: fmt.Sprintf("magnet %q", g.ID), AxisT: math.Abs(magnetOnAxis(s, g))})
	}
	total := Exact(0)
	for i := range list {
		list[i].Amperes = Exact(list[i].AxisT).Over(perA)
		total = total.Plus(list[i].Amperes)
	}
	return list, total, nil
}

// wireOnAxis returns the reading of s, in tesla, at the peak of a foreign wire.
func wireOnAxis(s *layout.Sensor, w *layout.Wire) float64 {
	i := w.Amount.PeakValueA()
	sum := 0.0
	for _, e := range s.Elements() {
		b := closedform.FilamentB(e.At.Sub(w.At.Point()), i)
		sum += e.Sign * (b.X*s.Axis.U.X + b.Y*s.Axis.U.Y)
	}
	return sum
}

// magnetOnAxis returns the reading of s, in tesla, in the field of a magnet.
func magnetOnAxis(s *layout.Sensor, g *layout.Magnet) float64 {
	sum := 0.0
	for _, e := range s.Elements() {
		r := geom.Point3{X: e.At.X - g.At.X.V, Y: e.At.Y - g.At.Y.V, Z: zOf(s.At) - zOf(g.At)}
		var b geom.Point3
		switch g.Kind {
		case layout.Disc:
			b = closedform.DiscMagnetB(r, g.U, g.DiameterM.V, g.ThicknessM.V, g.RemanenceT.V)
		default:
			size := geom.Point3{X: g.WidthM.V, Y: g.HeightM.V, Z: g.DepthM.V}
			j := geom.Point3{X: g.U.X * g.RemanenceT.V, Y: g.U.Y * g.RemanenceT.V, Z: g.U.Z * g.RemanenceT.V}
			b = closedform.BlockMagnetB(r, size, j)
		}
		sum += e.Sign * (b.X*s.Axis.U.X + b.Y*s.Axis.U.Y + b.Z*s.Axis.U.Z)
	}
	return sum
}

func zOf(p layout.Place) float64 {
	if p.Z.Set {
		return p.Z.V
	}
	return 0
}
