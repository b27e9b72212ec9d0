package probe

import (
	"fmt"

	"busgauss/model/closedform"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// WireField returns the flux density at q in tesla per ampere of a foreign wire, and MagnetField that of a magnet,
// shields and eddy currents included as Ambient has them, iron at rest. In the plane section beside shields the error
// is a *field.Unknown nearer to them than three times their size.
func (m *Model) WireField(w *layout.Wire, q geom.Point3) (field.Vec, error) {
	if m.inSpace() && len(m.Layout.Shields) > 0 {
		return m.WireAt(q, w)
	}
	b := closedform.FilamentB(q.XY().Sub(w.At.Point()), 1)
	return m.bentAt(q, geom.Point3{X: b.X, Y: b.Y}, w.At.Point(), w.FreqHz.V, w.ID)
}

// MagnetField: see WireField.
func (m *Model) MagnetField(g *layout.Magnet, q geom.Point3) (field.Vec, error) {
	if m.inSpace() && len(m.Layout.Shields) > 0 {
		return m.MagnetAt(q, g)
	}
	return m.bentAt(q, field.MagnetB(g, q), g.At.Point(), 0, g.ID)
}

// bentAt returns what bars and shields make at q of a source at from whose field in empty space is b there: as bent
// does of a reading.
func (m *Model) bentAt(q, b geom.Point3, from geom.Point, freqHz float64, id string) (field.Vec, error) {
	steady := field.Vec{X: complex(b.X, 0), Y: complex(b.Y, 0), Z: complex(b.Z, 0)}
	if freqHz == 0 && len(m.Layout.Shields) == 0 {
		return steady, nil
	}
	f, err := m.Field(freqHz)
	if err != nil {
		return steady, err
	}
	along := f.Uniform(q)
	sum := along[0].Scale(complex(b.X, 0)).Add(along[1].Scale(complex(b.Y, 0))).Add(along[2].Scale(complex(b.Z, 0)))
	if len(m.Layout.Shields) == 0 {
		return sum, nil
	}
	box := geom.EmptyBox()
	for i := range m.Layout.Shields {
		box = box.Join(m.Layout.Shields[i].Region().Box())
	}
	size, far := box.Size().Norm(), from.Sub(q.XY()).Norm()
	if !(far > 3*size) {
		return steady, &field.Unknown{Reason: fmt.Sprintf("%q stands nearer to the shields than three times their size, where their field is not known", id)}
	}
	sum.Bound += (along[0].Norm() + along[1].Norm()) * b.Norm() * size / far
	return sum, nil
}
