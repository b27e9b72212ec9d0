package quantity

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/portable"
	"busgauss/rules/enforce"
)

// fieldQuantities are those of the place and the axis of a sensor.
func fieldQuantities() []definition[*channel] {
	return []definition[*channel]{
		number("coupling", "T/A", "own reading per ampere at direct current (busgauss coupling)",
			func(c *channel) enforce.Value { return estimated(c.m.OwnPerAmpere(c.s)) }),
		number("axis_share", "1", "part of the own field that the axis reads (rule sensor-axis)",
			func(c *channel) enforce.Value { return estimated(c.axisShare()) }),
		number("axis_angle", "rad", "between the axis and the own field, from 0 to 90 deg: arc cosine of axis_share",
			func(c *channel) enforce.Value {
				share, err := c.axisShare()
				angle := func(v float64) float64 { return portable.Acos(math.Max(0, math.Min(1, v))) }
				return estimated(bounded.Estimate{Value: angle(share.Value), Low: angle(share.High),
					High: angle(share.Low)}, err)
			}),
		number("tenth_mm_change", "1", "change of the own reading when the sensor moves 0.1 mm straight away from its bar", tenthChange),
		number("placement_change", "1", "largest change of the whole reading within the placement tolerances, in continuous and peak duties (rule placement)", placementChange),
		number("plane_error", "1", "how far the plane section may be off, as bars and shields end (rule plane-validity)",
			func(c *channel) enforce.Value {
				e, err := c.m.PlaneError(c.s)
				return estimated(e.Worst, err)
			}),
	}
}

func (c *channel) axisShare() (bounded.Estimate, error) {
	a, err := c.m.Alignment(c.s)
	switch {
	case err != nil:
	case math.IsNaN(a.OwnT):
		err = &field.Unknown{Reason: "its own field is not known there"}
	case !(a.OwnT > 0):
		err = &field.Unknown{Reason: "its own field is zero there: no axis reads it"}
	}
	return a.Share, err
}

// tenthChange compares two readings so near to each other that their errors are
// nearly the same: the difference carries the bound in proportion to the change,
// as that of probe.Placement does.
func tenthChange(c *channel) enforce.Value {
	here, err := c.m.OwnPerAmpere(c.s)
	if err != nil {
		return undecided("%v", err)
	}
	moved := c.outward(tenthM)
	there, err := c.m.OwnPerAmpere(&moved)
	if err != nil {
		return undecided("%v", err)
	}
	change := math.Abs(there.Value/here.Value - 1)
	half := float64(change * here.Certainty())
	return valued(bounded.Estimate{Value: change, Low: change - half, High: change + half})
}

func placementChange(c *channel) enforce.Value {
	if c.s.Placement == nil {
		return undecided("it declares no placement tolerances")
	}
	worst, at, err := c.m.WorstPlacement(c.s)
	if err == nil && at == nil {
		return undecided("it reads no continuous or peak current")
	}
	return estimated(worst.Total, err)
}
