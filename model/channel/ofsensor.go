package channel

import (
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
)

// Sensed is the chain of one sensor together with what the field model knows of
// it.
type Sensed struct {
	// Chain has the field per ampere of the model, with its sign, and as SlopeTol the
	// sum of Certainty and Placement.
	Chain   *Chain
	Missing []Missing // as FromLayout gives it
	// PerA is the own reading per ampere at direct current, T/A, signed, with its bounds.
	PerA      bounded.Estimate
	Certainty float64 // share: half width of the bound of PerA
	Placement float64 // share: largest change of PerA within the placement tolerances
	sensor    string
	part      string // empty: none
}

// Of returns the chain of sensor s in the field of m. The error is an
// *field.Unknown when the field is not known, or may be none at all.
func Of(m *probe.Model, s *layout.Sensor) (*Sensed, error) {
	f, err := m.Field(0)
	if err != nil {
		return nil, err
	}
	axis := f.Own(s).Axis
	out := &Sensed{sensor: s.ID, PerA: signed(axis)}
	if !(out.PerA.Low > 0 || out.PerA.High < 0) {
		return nil, &field.Unknown{Reason: field.ReadsNothing(m.Layout, s, out.PerA.Value)}
	}
	out.Certainty = out.PerA.Certainty()
	places := m.WithinTolerance(s)
	for i := range places[1:] {
		moved := real(f.Own(&places[i+1]).Axis.V)
		out.Placement = math.Max(out.Placement, math.Abs(moved/out.PerA.Value-1))
	}
	pieces, err := piecesMove(m, s)
	if err != nil {
		return nil, err
	}
	out.Placement += pieces
	field := Field{SlopeTPerA: out.PerA.Value, SlopeTol: out.Certainty + out.Placement}
	if len(s.Elements()) > 1 {
		for _, e := range f.ElementOwn(s) {
			field.EachTPerA = append(field.EachTPerA, real(e.V))
		}
	}
	out.Chain, out.Missing = FromLayout(m.Layout, s, field)
	if p := m.Layout.PartOf(s); p != nil {
		out.part = p.ID
	}
	return out, nil
}

// piecesMove returns the sum of the largest changes of the own reading per ampere by each
// tolerance of bars, shields and materials, as a share.
func piecesMove(m *probe.Model, s *layout.Sensor) (float64, error) {
	list, err := m.Displacements()
	if err != nil {
		return 0, err
	}
	if len(list) == 0 {
		return 0, nil
	}
	sum, most := 0.0, 0.0
	for i := range list {
		drawn, err := list[i].Drawn.Field(0)
		if err != nil {
			return 0, err
		}
		perA := real(drawn.Own(s).Axis.V)
		f, err := list[i].Model.Field(0)
		if err != nil {
			return 0, err
		}
		most = math.Max(most, math.Abs(real(f.Own(s).Axis.V)/perA-1))
		if i+1 == len(list) || list[i+1].Name != list[i].Name {
			sum, most = sum+most, 0
		}
	}
	return sum, nil
}

// signed returns a phasor at direct current, which is real, with its bounds.
func signed(p bounded.Phasor) bounded.Estimate {
	e := p.Abs()
	if real(p.V) < 0 {
		return e.Scale(-1)
	}
	return e
}

// Bounded returns what get gives for the chain with the field per ampere of the
// model and at both ends of its bound, as an estimate. Placement alone is left
// in SlopeTol then: it is a tolerance, no doubt of the model. For quantities that
// rise or fall with the field per ampere throughout; NaN anywhere makes the bounds NaN.
func (x *Sensed) Bounded(get func(c *Chain) float64) bounded.Estimate {
	at := func(perA float64) float64 {
		c := x.with(perA)
		return get(&c)
	}
	v, a, b := at(x.PerA.Value), at(x.PerA.Low), at(x.PerA.High)
	if math.IsNaN(v + a + b) {
		// Infinities of both signs would come here too, and say as little.
		return bounded.Estimate{Value: v, Low: math.NaN(), High: math.NaN()}
	}
	return bounded.Estimate{Value: v, Low: min(v, a, b), High: max(v, a, b)}
}

// with returns a copy of the chain at another field per ampere.
func (x *Sensed) with(perA float64) Chain {
	c := *x.Chain
	c.Element.SlopeTPerA, c.Element.SlopeTol = perA, x.Placement
	if each := c.Element.EachTPerA; each != nil {
		c.Element.EachTPerA = make([]float64, len(each))
		for i, k := range each {
			c.Element.EachTPerA[i] = k * perA / x.PerA.Value
		}
	}
	return c
}

// Edited returns x with a copy of its chain, its stages too, that edit has changed.
func (x *Sensed) Edited(edit func(c *Chain)) *Sensed {
	out := *x
	c := *x.Chain
	c.Output, c.Amplifier, c.Divider = copied(c.Output), copied(c.Amplifier), copied(c.Divider)
	c.Converter, c.Number, c.Firmware = copied(c.Converter), copied(c.Number), copied(c.Firmware)
	edit(&c)
	out.Chain = &c
	return &out
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}

// Open returns the missing data that nothing is assumed for, in the order of the
// signal, among the tails given; all of them when no tail is given. A tail is the
// path of a key without "parts.P.", "readout.", "readout.channels.S." and
// "sensors.S.": "sensitivity.set", "converter.bits", "part". A tail that ends in a dot
// stands for all that it begins.
func (x *Sensed) Open(tails ...string) []Missing {
	var out []Missing
	for _, m := range x.Missing {
		if m.Undecided && (len(tails) == 0 || within(x.tail(m.Key), tails)) {
			out = append(out, m)
		}
	}
	return out
}

func within(tail string, tails []string) bool {
	for _, t := range tails {
		if t == tail || strings.HasSuffix(t, ".") && strings.HasPrefix(tail, t) {
			return true
		}
	}
	return false
}

func (x *Sensed) tail(key string) string {
	for _, head := range []string{"parts." + x.part + ".", "sensors." + x.sensor + ".", "readout.channels." + x.sensor + ".", "readout."} {
		if rest, ok := strings.CutPrefix(key, head); ok {
			return rest
		}
	}
	return key
}

// FieldGain returns a gain of bar and shields as Timing.At wants it.
func FieldGain(g probe.Gain) complex128 {
	return portable.Rect(1+g.Change.Value, -g.LagRad.Value)
}
