package field

import (
	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
)

// Change is a reading per ampere at direct current and by how much it differs at a frequency,
// in T/A on the axes. The bound of By is that of the difference: what both sides share, the
// iron and the bars at steady current and what surroundings add, is not in it twice.
type Change struct {
	Still, By bounded.Phasor
}

// At returns the reading at the frequency over that at direct current, as a phasor.
func (c Change) At() bounded.Phasor {
	a := portable.Abs(c.Still.V)
	ratio := bounded.Phasor{V: 1 + portable.Quotient(c.By.V, c.Still.V), Bound: c.By.Bound / a, Quad: c.By.Quad / a}
	if room := a - c.Still.Bound; room > 0 {
		ratio.Bound += portable.Abs(c.By.V) / a * c.Still.Bound / room
		return ratio
	}
	ratio.Bound = notKnown.Bound
	return ratio
}

// OwnChange returns how what s reads of its own current per ampere changes from still to f,
// two sides of one layout at direct current and at a frequency.
func (f *Field) OwnChange(still *Field, s *layout.Sensor) Change {
	if s.Leg != layout.None {
		return f.changes(still, s, func(in *Field, ofBar func(layout.BarIndex) Reading) Reading { return ofBar(s.Leg) })
	}
	sign := complex(s.Sign, 0)
	return f.changes(still, s, func(in *Field, ofBar func(layout.BarIndex) Reading) Reading {
		return in.shares.sum(s.Circuit, ofBar).Scale(sign)
	})
}

// BesideChange is OwnChange of circuit c beside the current that s reads.
func (f *Field) BesideChange(still *Field, s *layout.Sensor, c layout.CircuitIndex) Change {
	return f.changes(still, s, func(in *Field, ofBar func(layout.BarIndex) Reading) Reading {
		switch {
		case s.Leg != layout.None:
			return in.shares.sum(c, ofBar).Add(ofBar(s.Leg).Scale(-in.shares.of(s.Leg, c)))
		case c == s.Circuit:
			return Reading{}
		}
		return in.shares.sum(c, ofBar)
	})
}

// changes takes the sum over bars at 0 Hz, and of their differences; with the shares of the
// frequency where bars divide a current, and what those shares change.
func (f *Field) changes(still *Field, s *layout.Sensor,
	sum func(*Field, func(layout.BarIndex) Reading) Reading) Change {
	// By has no allowance: both sides stand in the same surroundings.
	out := Change{Still: sum(still, func(b layout.BarIndex) Reading { return still.OfBar(s, b) }).Axis}
	out.By = sum(f, func(b layout.BarIndex) Reading { return f.barChange(still, s, b) }).Axis
	if f.shares != still.shares {
		before := sum(still, func(b layout.BarIndex) Reading { return still.OfBar(s, b) }).Axis
		after := sum(f, func(b layout.BarIndex) Reading { return still.OfBar(s, b) }).Axis
		out.By = out.By.Add(bounded.Phasor{V: after.V - before.V, Bound: after.Bound + before.Bound})
	}
	return out
}

// barChange returns how the reading of s per ampere of bar b changes from still to f.
func (f *Field) barChange(still *Field, s *layout.Sensor, b layout.BarIndex) Reading {
	return f.way.change(f, still, s, b)
}

func (long) change(f, still *Field, s *layout.Sensor, b layout.BarIndex) Reading {
	r := Summed(s.Elements(), func(e layout.Element) Vec {
		v := f.section.at(e.At.XY(), b, f.rough).Add(still.section.at(e.At.XY(), b, still.rough).Scale(-1))
		v.Bound += f.endsChange(e.At, b)
		return v
	})
	own := still.inSection(s.Elements(), b)
	_, axis := f.sectionEndsT(s.Elements(), b)
	if n := portable.Abs(own.Axis.V); n > 0 { // ends take the same share of the change
		r.Axis.Bound += portable.Abs(r.Axis.V) * axis / n
	}
	return finiteDepth(f.layout, s, b, r)
}

func (w solid) change(f, still *Field, s *layout.Sensor, b layout.BarIndex) Reading {
	before, _ := still.way.(solid)
	return Summed(s.Elements(), func(e layout.Element) Vec {
		if v, ok := w.solved(f, e.At, func(p *phasorField) Vec { return p.change(f, e.At, b) }); ok {
			if was, ok := before.solved(still, e.At, func(p *phasorField) Vec { return p.change(still, e.At, b) }); ok {
				return v.Add(was.Scale(-1))
			}
			if before.base == nil {
				return v
			}
		}
		static := w.space.at(e.At, int(b), f.rough)
		section := func(g *Field) Vec { return g.section.at(e.At.XY(), b, g.rough) }
		return w.carries(f, e.At, int(b), static, section).Add(before.carries(still, e.At, int(b), static, section).Scale(-1))
	})
}

func (w blend) change(f, still *Field, s *layout.Sensor, b layout.BarIndex) Reading {
	r := f.OfBar(s, b).Add(still.OfBar(s, b).Scale(-1))
	r.B.Far, r.Axis.Far = 0, 0
	return r
}
