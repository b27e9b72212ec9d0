package probe

import (
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

// Alignment is how well the axis of a sensor lies along its own bar's field.
type Alignment struct {
	OwnT      float64             // magnitude of the own field, T/A
	Share     bounded.Estimate    // part of the own field that the axis reads, 0 to 1
	BestRad   float64             // angle of the own field of a positive current, -π to π
	QuietRad  float64             // angle at which the strongest neighbour is not read at all
	QuietLoss float64             // share of the own field that the quiet axis would read
	Neighbour layout.CircuitIndex // None when there is no other circuit
}

// shareOnAxis returns |B·u|/|B| = cos θ of a reading with |B| = n. An error of the
// vector by its bound turns it by at most ε, sin ε = bound/n, so the share lies
// between the cosines of θ + ε and of θ − ε.
func shareOnAxis(r field.Reading, n float64) bounded.Estimate {
	v := cmplx.Abs(r.Axis.V) / n
	theta, e := math.Acos(math.Min(1, v)), math.Asin(math.Min(1, (r.B.Bound+r.B.Far)/n))
	return bounded.Estimate{Value: v, Low: math.Max(0, math.Cos(math.Min(theta+e, math.Pi/2))), High: math.Cos(math.Max(0, theta-e))}
}

// Alignment returns the alignment of s at direct current.
func (m *Model) Alignment(s *layout.Sensor) (Alignment, error) {
	f, err := m.Field(0)
	if err != nil {
		return Alignment{}, err
	}
	own := f.Own(s)
	n := own.B.Norm()
	out := Alignment{
		OwnT:      n,
		Share:     shareOnAxis(own, n),
		BestRad:   math.Atan2(real(own.B.Y), real(own.B.X)),
		Neighbour: layout.None,
	}
	var strongest field.Vec
	for k := range m.Layout.Circuits {
		c := layout.CircuitIndex(k)
		if c == s.Circuit {
			continue
		}
		if v := f.Beside(s, c).B; v.Norm() > strongest.Norm() {
			strongest, out.Neighbour = v, c
		}
	}
	if out.Neighbour != layout.None {
		quiet := geom.Point{X: -real(strongest.Y), Y: real(strongest.X)}.Scale(1 / strongest.Norm())
		along := quiet.X*real(own.B.X) + quiet.Y*real(own.B.Y)
		if along < 0 {
			quiet, along = quiet.Scale(-1), -along
		}
		out.QuietRad = math.Atan2(quiet.Y, quiet.X)
		out.QuietLoss = along / n
	}
	return out, nil
}
