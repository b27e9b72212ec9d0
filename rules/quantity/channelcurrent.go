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
		eachKind("current", "A",
			"largest magnitude over all time of %s duties of the current that it reads; 0 where there is none",
			func(c *channel, k layout.DutyKind) enforce.Value { return c.peakA(k) }),
		eachKind("own_field", "T", "on-axis flux density of the current that it reads alone, at its largest in %s duties, coupling at direct current",
			func(c *channel, k layout.DutyKind) enforce.Value {
				var top largest
				c.duties(k, func(d *layout.Duty) {
					perA, err := c.m.For(d).OwnPerAmpere(c.s)
					top.add(perA.Scale(c.m.OwnPeakA(c.s, d)), err)
				})
				return top.value("the layout has no %s duty", k)
			}),
		eachKind("field", "T",
			"largest on-axis flux density of an element in %s duties, all circuits together, at the place as drawn",
			func(c *channel, k layout.DutyKind) enforce.Value {
				var top largest
				c.duties(k, func(d *layout.Duty) { top.add(c.elementT(c.s, d)) })
				return top.value("the layout has no %s duty", k)
			}),
		eachKind("linear_range_share", "1",
			"largest share of the linear range in %s duties, all circuits together, at the worst placement",
			func(c *channel, k layout.DutyKind) enforce.Value {
				if open := c.rangeOpen(); open != "" {
					return undecided("%s", open)
				}
				var top largest
				c.duties(k, func(d *layout.Duty) {
					r, err := c.m.RangeIn(c.s, d)
					top.add(r.Share, err)
				})
				return top.value("the layout has no %s duty", k)
			}),
		[]definition[*channel]{
			number("full_scale", "A",
				"largest magnitude of the current that it reads in continuous and peak duties; 0 where there is none",
				func(c *channel) enforce.Value { return c.peakA(layout.Continuous, layout.Peak) }),
			number("linear_range_share", "1", "largest share of the linear range over all duties and the claimed range, at the worst placement (rule linear-range)", linearRangeShare),
			number("range_use", "1",
				"own field at the largest continuous current over the end of the linear range (rule range-use)",
				rangeUse),
			number("linearity", "1", "change of the own reading per ampere from small currents to the largest continuous or peak one, as iron saturates (rule shield-linearity)", linearity),
		})
}

// peakA returns the largest current that the sensor reads in duties of some kinds.
func (c *channel) peakA(kinds ...layout.DutyKind) enforce.Value {
	_, top, err := c.m.LargestOwn(c.s, kinds...)
	return estimated(bounded.Exact(top), err)
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
		top.add(bounded.Most(w.High, w.Low.Scale(-1)), nil)
	}
	return top.e, nil
}

// rangeOpen says why the sensor has no linear range that a field could be held against; empty where it has one.
func (c *channel) rangeOpen() string {
	part := c.l.PartOf(c.s)
	switch {
	case part == nil || !part.LinearHighT.Set:
		return "it has no linear range: name a part that declares one"
	case !(part.LinearLowT.V < 0 && part.LinearHighT.V > 0):
		return "the linear range of its part does not hold zero, and no bias field is known"
	}
	return ""
}

func linearRangeShare(c *channel) enforce.Value {
	if open := c.rangeOpen(); open != "" {
		return undecided("%s", open)
	}
	worst, err := c.m.WorstRange(c.s)
	if err == nil && !worst.Asked() {
		return undecided("no duty and no need gives a current")
	}
	return estimated(worst.Share, err)
}

func rangeUse(c *channel) enforce.Value {
	if open := c.rangeOpen(); open != "" {
		return undecided("%s", open)
	}
	_, topA, err := c.m.LargestOwn(c.s, layout.Continuous)
	switch {
	case err != nil:
		return undecided("%v", err)
	case topA == 0:
		return undecided("it reads no continuous current")
	}
	return estimated(c.m.RangeUsed(c.s, topA))
}

func linearity(c *channel) enforce.Value {
	iron, unknown := probe.Iron(c.l)
	if unknown != "" {
		return undecided("material %q declares no saturation and no curve", unknown)
	}
	if !iron {
		return exactly(0)
	}
	at, _, err := c.m.LargestOwn(c.s, layout.Continuous, layout.Peak)
	switch {
	case err != nil:
		return undecided("%v", err)
	case at == nil:
		return undecided("it reads no continuous or peak current")
	}
	r, err := c.m.Linearity(c.s, at)
	return estimated(r.Change, err)
}
