package quantity

import (
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// currentQuantities are the currents of the own bar and the fields that they make.
func currentQuantities() []definition[*channel] {
	return slices.Concat(
		eachKind("current", "A", "largest current of the own bar in %s duties, sum of the amplitudes of its frequencies; 0 where it carries none",
			func(c *channel, k layout.DutyKind) enforce.Value { return exactly(c.peakA(k)) }),
		eachKind("own_field", "T", "on-axis flux density of the own bar alone at its largest current in %s duties, coupling at direct current",
			func(c *channel, k layout.DutyKind) enforce.Value {
				var top largest
				c.duties(k, func(d *layout.Duty) {
					perA, err := c.m.For(d).OwnPerAmpere(c.s)
					top.add(perA.Scale(c.m.OwnPeakA(c.s, d)), err)
				})
				return top.value("the layout has no %s duty", k)
			}),
		eachKind("field", "T", "largest on-axis flux density of an element in %s duties, all bars together, at the place as drawn",
			func(c *channel, k layout.DutyKind) enforce.Value {
				var top largest
				c.duties(k, func(d *layout.Duty) { top.add(c.elementT(c.s, d)) })
				return top.value("the layout has no %s duty", k)
			}),
		eachKind("linear_range_share", "1", "largest share of the linear range in %s duties, all bars together, at the worst placement",
			func(c *channel, k layout.DutyKind) enforce.Value {
				part, open := c.linearPart()
				if open != "" {
					return undecided("%s", open)
				}
				var top largest
				c.duties(k, func(d *layout.Duty) { c.rangeShare(&top, part, d) })
				return top.value("the layout has no %s duty", k)
			}),
		[]definition[*channel]{
			number("full_scale", "A", "largest current of the own bar in continuous and peak duties; 0 where it carries none",
				func(c *channel) enforce.Value { return exactly(c.m.FullScaleA(c.s)) }),
			number("linear_range_share", "1", "largest share of the linear range over all duties and the claimed range, at the worst placement (rule linear-range)", linearRangeShare),
			number("range_use", "1", "field of the own bar at its largest continuous current over the end of the linear range (rule range-use)", rangeUse),
			number("linearity", "1", "change of the own reading per ampere from small currents to the largest continuous or peak one, as iron saturates (rule shield-linearity)", linearity),
		})
}

// peakA returns the largest current of the own bar in duties of a kind.
func (c *channel) peakA(k layout.DutyKind) float64 {
	top := 0.0
	c.duties(k, func(d *layout.Duty) { top = max(top, c.m.OwnPeakA(c.s, d)) })
	return top
}

// elementT returns the largest magnitude of flux density on the axis of an
// element of s over the period of d.
func (c *channel) elementT(s *layout.Sensor, d *layout.Duty) (bounded.Estimate, error) {
	var top largest
	swings, err := c.m.ElementSwing(s, d)
	if err != nil {
		return bounded.Estimate{}, err
	}
	for _, w := range swings {
		top.add(most(w.High, w.Low.Scale(-1)), nil)
	}
	return top.e, nil
}

// linearPart returns the part of the sensor, or why it has no linear range that
// a field could be held against.
func (c *channel) linearPart() (part *layout.Part, open string) {
	part = c.l.PartOf(c.s)
	switch {
	case part == nil || !part.LinearHighT.Set:
		return nil, "it has no linear range: name a part that declares one"
	case !(part.LinearLowT.V < 0 && part.LinearHighT.V > 0):
		return nil, "the linear range of its part does not hold zero, and no bias field is known"
	}
	return part, ""
}

// rangeShare adds the shares of the linear range that d takes.
func (c *channel) rangeShare(top *largest, part *layout.Part, d *layout.Duty) {
	places := probe.WithinTolerance(c.s)
	for p := range places {
		swings, err := c.m.ElementSwing(&places[p], d)
		if err != nil {
			top.add(bounded.Estimate{}, err)
			return
		}
		for _, w := range swings {
			top.add(most(w.High.Scale(1/part.LinearHighT.V), w.Low.Scale(1/part.LinearLowT.V)), nil)
		}
	}
}

func linearRangeShare(c *channel) enforce.Value {
	part, open := c.linearPart()
	if open != "" {
		return undecided("%s", open)
	}
	var top largest
	for i := range c.l.Duties {
		c.rangeShare(&top, part, &c.l.Duties[i])
	}
	if claim, ok := c.l.NeedFor(c.s.ID, func(n *layout.Need) layout.Num { return n.RangeA }); ok {
		f, err := c.m.Field(0)
		if err != nil {
			return undecided("%v", err)
		}
		end := min(part.LinearHighT.V, -part.LinearLowT.V)
		places := probe.WithinTolerance(c.s)
		for p := range places {
			for _, e := range f.ElementPerAmpere(&places[p], c.s.Reads) {
				top.add(e.Abs().Scale(claim.V/end), nil)
			}
		}
	}
	return top.value("no duty and no need gives a current")
}

func rangeUse(c *channel) enforce.Value {
	part, open := c.linearPart()
	if open != "" {
		return undecided("%s", open)
	}
	topA := c.peakA(layout.Continuous)
	if topA == 0 {
		return undecided("its bar carries no continuous current")
	}
	perA, err := c.m.OwnPerAmpere(c.s)
	return estimated(perA.Scale(topA/min(part.LinearHighT.V, -part.LinearLowT.V)), err)
}

func linearity(c *channel) enforce.Value {
	iron, unknown := c.hasIron()
	if unknown != "" {
		return undecided("material %q declares no saturation and no curve", unknown)
	}
	if !iron {
		return exactly(0)
	}
	var at *layout.Duty
	top := 0.0
	c.duties(0, func(d *layout.Duty) {
		if a := c.m.OwnPeakA(c.s, d); a > top {
			at, top = d, a
		}
	})
	if at == nil {
		return undecided("its bar carries no continuous or peak current")
	}
	r, err := c.m.Linearity(c.s, at)
	return estimated(r.Change, err)
}
