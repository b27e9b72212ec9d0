package probe

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// Alignment is how well the axis of a sensor lies along the own field.
type Alignment struct {
	OwnT      float64             // magnitude of the own field, T/A
	Share     bounded.Estimate    // part of the own field that the axis reads, 0 to 1
	BestRad   float64             // angle of the own field of a positive current, -π to π
	QuietRad  float64             // angle at which the strongest neighbour is not read at all
	QuietLoss float64             // share of the own field that the quiet axis would read
	Neighbour layout.CircuitIndex // None when there is no other circuit, and of an array

	// Of an array, whose elements stand in fields of different directions:
	Element int              // the one whose axis lies worst, from 0; BestRad is at it
	Kept    bounded.Estimate // reading over the sum of what its elements get, each without sign; 1 for one element
}

// crossed is the share below which an axis reads nothing but round-off.
const crossed = 1e-11

// shareOnAxis returns |B·u|/|B| = cos θ of a reading with |B| = n. An error of the
// vector by its bound turns it by at most ε, sin ε = bound/n, so the share lies
// between the cosines of θ + ε and of θ − ε. An axis along the field or across it lies at the end of
// what a share can be, where round-off must not put the bound beside the value.
func shareOnAxis(r field.Reading, n float64) bounded.Estimate {
	v := math.Min(1, portable.Abs(r.Axis.V)/n)
	theta, e := portable.Acos(v), portable.Asin(math.Min(1, (r.B.Bound+r.B.Far)/n))
	low, high := portable.Cos(math.Min(theta+e, math.Pi/2)), portable.Cos(math.Max(0, theta-e))
	return bounded.Estimate{Value: v, Low: math.Max(0, math.Min(low, v)), High: math.Max(high, v)}
}

// Alignment returns the alignment of s at direct current.
func (m *Model) Alignment(s *layout.Sensor) (Alignment, error) {
	f, err := m.Field(0)
	if err != nil {
		return Alignment{}, err
	}
	if len(s.Array) > 0 {
		return arrayAlignment(f, s), nil
	}
	own := f.Own(s)
	n := own.B.Norm()
	out := Alignment{
		OwnT:      n,
		Share:     shareOnAxis(own, n),
		BestRad:   portable.Atan2(real(own.B.Y), real(own.B.X)),
		Neighbour: layout.None,
		Kept:      bounded.Exact(1),
	}
	if s.Pair != nil {
		out.Kept = arrayAlignment(f, s).Kept
	}
	var strongest field.Vec
	for k := range m.Layout.Circuits {
		c := layout.CircuitIndex(k)
		if !s.Hears(c) {
			continue
		}
		if v := f.Beside(s, c).B; v.Norm() > 0 && m.leads(v.Norm(), c, strongest.Norm(), out.Neighbour) {
			strongest, out.Neighbour = v, c
		}
	}
	if out.Neighbour != layout.None {
		quiet := geom.Point{X: -real(strongest.Y), Y: real(strongest.X)}.Scale(1 / strongest.Norm())
		along := float64(quiet.X*real(own.B.X)) + float64(quiet.Y*real(own.B.Y))
		if along < 0 {
			quiet, along = quiet.Scale(-1), -along
		}
		if along <= crossed*n {
			along = 0
		}
		out.QuietRad = portable.Atan2(quiet.Y, quiet.X)
		out.QuietLoss = along / n
	}
	return out, nil
}

// arrayAlignment holds the axis of each element against the own field at that element:
//
//	Share = Σ |w·B·u| / Σ |w|·|B|,  Kept = |Σ w·B·u| / Σ |w·B·u|
//
// w the weight, B the own field and u the axis of an element. Kept is 0 for an array whose
// weights cancel what its elements get: it is blind to its own circuit.
func arrayAlignment(f *field.Field, s *layout.Sensor) Alignment {
	out := Alignment{Neighbour: layout.None}
	var along, all, bound float64
	worst := math.Inf(1)
	for i, e := range s.Elements() {
		e.Weight = math.Abs(e.Weight)
		r := f.OwnOf(s, []layout.Element{e})
		n, a := r.B.Norm(), portable.Abs(r.Axis.V)
		along, all, bound = along+a, all+n, bound+r.B.Bound
		if share := a / n; share < worst {
			worst, out.Element = share, i
			out.BestRad = portable.Atan2(real(r.B.Y), real(r.B.X))
		}
	}
	out.OwnT = all
	out.Share = alignedShare(along, all, bound)
	out.Kept = alignedShare(f.Own(s).Axis.Abs().Value, along, bound)
	return out
}

// alignedShare returns a/b, a at most b, both of which may be off by bound.
func alignedShare(a, b, bound float64) bounded.Estimate {
	high := math.Inf(1)
	if b > bound {
		high = (a + bound) / (b - bound)
	}
	v := math.Min(1, a/b) // round-off puts aligned axes above 1
	return bounded.Estimate{Value: v, Low: math.Min(v, math.Max(0, (a-bound)/(b+bound))), High: math.Max(v, math.Min(1, high))}
}
