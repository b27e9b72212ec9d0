package channel

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
)

// Fill is what a channel must carry in one direction of its current: a current of its own, and the reading that
// goes with it once all foreign fields and, where they make it larger, all other circuits have added theirs.
type Fill struct {
	OwnA   float64          // the own current of the duty in that direction, without sign
	Duty   *layout.Duty     // that asks; nil: the claimed range, or a current named by the caller
	FieldT bounded.Estimate // the reading in that direction, without sign; 0 where nothing asks
	// Element is the most that the fullest element of a pair or an array takes of its range, be it in another duty,
	// and ElementOwnA the own current of that; a single one takes FieldT.
	Element     probe.RangeTaken
	ElementOwnA float64
}

// Filled is what a channel must carry either way.
type Filled struct {
	Reach              Reach // the own currents that ask for it
	Positive, Negative Fill
	Open               error // why foreign fields are not known; they are left out then
}

// Way returns one of the two directions.
func (f *Filled) Way(positive bool) *Fill {
	if positive {
		return &f.Positive
	}
	return &f.Negative
}

// add takes of g what fills more than f: its reading, what its fullest element takes, or both; NaN most of all.
func (f *Fill) add(g Fill) {
	more := func(a, b float64) bool { return !(a <= b) && !math.IsNaN(b) }
	if f.FieldT.Value == 0 || more(g.FieldT.High, f.FieldT.High) {
		f.OwnA, f.Duty, f.FieldT = g.OwnA, g.Duty, g.FieldT
	}
	if !f.Element.Asked() || more(g.Element.Share.High, f.Element.Share.High) {
		f.Element, f.ElementOwnA = g.Element, g.ElementOwnA
	}
}

// FillOf returns what s must carry over the duties of the kinds given and over the range that the layout claims
// for it. A direction in which its own current never flows is left empty, whatever else flows.
func FillOf(m *probe.Model, s *layout.Sensor, x *Sensed, kinds ...layout.DutyKind) (Filled, error) {
	var out Filled
	var err error
	if out.Reach, err = ReachOf(m, s, kinds...); err != nil {
		return out, err
	}
	var duties []*layout.Duty
	for i := range m.Layout.Duties {
		for _, k := range kinds {
			if d := &m.Layout.Duties[i]; d.Kind == k {
				duties = append(duties, d)
			}
		}
	}
	several := len(s.Elements()) > 1 && x.elementKnown()
	add := func(lowA, highA float64, d *layout.Duty, r probe.ReadingTaken, element probe.RangeTaken) {
		plus, minus := r.High, r.Low.Scale(-1)
		if x.PerA.Value < 0 {
			plus, minus = minus, plus
		}
		if out.Open == nil {
			out.Open = r.Open
		}
		// Fields of others that hold its own down are not counted upon.
		fill := func(f *Fill, ownA float64, reading bounded.Estimate) {
			alone := x.PerA.Magnitude().Scale(ownA * (1 + x.Placement)).Plus(r.ForeignT)
			f.add(Fill{OwnA: ownA, Duty: d, FieldT: bounded.Most(reading, alone), Element: element, ElementOwnA: ownA})
		}
		if out.Reach.HighA > 0 {
			fill(&out.Positive, math.Max(0, highA), plus)
		}
		if out.Reach.LowA < 0 {
			fill(&out.Negative, math.Max(0, -lowA), minus)
		}
	}
	readings, err := m.ReadingIn(s, duties)
	if err != nil {
		return out, err
	}
	for i, d := range duties {
		own, err := m.OwnCurrent(s, d)
		if err != nil {
			return out, err
		}
		var element probe.RangeTaken
		if several {
			if element, err = m.RangeIn(s, d); err != nil {
				return out, err
			}
		}
		low, high := own.Extremes()
		add(low.Low, high.High, d, readings[i], element)
	}
	if n, ok := m.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		reading, err := m.ReadingAt(s, n.V)
		if err != nil {
			return out, err
		}
		var element probe.RangeTaken
		if several {
			if element, err = m.RangeAt(s, n.V); err != nil {
				return out, err
			}
		}
		add(-n.V, n.V, nil, reading, element)
	}
	return out, nil
}

// elementKnown reports whether the element has a range on both sides of zero.
func (x *Sensed) elementKnown() bool { return x.Chain.Element.LowT < 0 && x.Chain.Element.HighT > 0 }

// FillAt returns the fill of currents without sign in each direction, at the worst place, and of nothing beside
// them; 0 asks for nothing.
func (x *Sensed) FillAt(positiveA, negativeA float64) Filled {
	at := func(a float64) Fill {
		f := Fill{OwnA: a, FieldT: x.PerA.Magnitude().Scale(a * (1 + x.Placement))}
		top := 0.0
		for _, k := range x.Chain.Element.EachTPerA {
			top = math.Max(top, math.Abs(k))
		}
		if top > 0 && x.elementKnown() {
			end := math.Min(x.Chain.Element.HighT, -x.Chain.Element.LowT)
			f.ElementOwnA = a
			f.Element = probe.RangeTaken{ClaimA: a, EndT: end, Share: f.FieldT.Scale(top / math.Abs(x.PerA.Value) / end)}
		}
		return f
	}
	return Filled{Reach: Reach{LowA: -negativeA, HighA: positiveA}, Positive: at(positiveA), Negative: at(negativeA)}
}

// EquivalentA returns the current of what is read that would alone give the reading of f.
func (x *Sensed) EquivalentA(f *Fill) bounded.Estimate {
	return f.FieldT.Scale(1 / math.Abs(x.PerA.Value))
}

// LargestSensitivityVPerT is that of the chain for the fill over a limit of its range.
func (x *Sensed) LargestSensitivityVPerT(f *Filled, limit float64) float64 {
	c := *x.Chain
	c.Element.SlopeTol = 0
	return c.LargestSensitivityVPerT(x.EquivalentA(&f.Positive).High/limit, x.EquivalentA(&f.Negative).High/limit)
}

// Taken is where a chain clips in one direction, and how much of that a fill takes.
type Taken struct {
	Clip     Clip             // on the own current alone, tolerances of place and field counted
	Share    bounded.Estimate // of the end that is nearest to being filled
	Swallows bool             // the current is cut off from the very start
}

// Taken returns what f takes of the channel in a direction: its reading over that at which the first stage clips
// with tolerances at their worst, and what the fullest element of several takes of its range. Field and place
// are in the reading, so that the ends are those of part and readout alone.
func (x *Sensed) Taken(f *Fill, positive bool) Taken {
	out := Taken{Clip: FirstClip(x.Chain.Stages(), positive)}
	c := *x.Chain
	c.Element.SlopeTol = 0
	stages := c.Stages()
	several := c.Element.EachTPerA != nil
	if several {
		stages = stages[1:]
	}
	sign := 1.0
	if !positive {
		sign = -1
	}
	ends := FirstClip(stages, positive)
	leastA := sign * ends.LeastA
	out.Swallows = f.FieldT.Value > 0 && leastA <= 0
	out.Share = f.FieldT.Scale(1 / (leastA * math.Abs(c.Element.SlopeTPerA)))
	if !several || math.IsInf(c.Element.HighT, 0) || f.Element.EndT == 0 {
		return out
	}
	end := f.Element.EndT
	if c.Element.HighT == -c.Element.LowT {
		end = c.Element.HighT // which a change of the part moves
	}
	element := f.Element.Share.Scale(f.Element.EndT / end)
	if math.IsNaN(ends.LeastA) || element.Value > out.Share.Value {
		out.Share = element
		out.Clip.LeastStage = ElementStage
	}
	return out
}
