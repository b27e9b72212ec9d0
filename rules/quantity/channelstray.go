package quantity

import (
	"math"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// strayQuantities are what other circuits and foreign fields do to a reading.
func strayQuantities() []definition[*channel] {
	return slices.Concat(
		eachKind("stray_ratio", "1", "reading of other circuits over the own one, or over full scale where it idles, worst of the %s duties (rule stray-ratio)",
			func(c *channel, k layout.DutyKind) enforce.Value {
				return c.strayOver(k, func(r probe.Stray) bounded.Estimate { return r.Ratio })
			}),
		eachKind("stray_current", "A", "reading of other circuits as a current that it reads, worst of the %s duties",
			func(c *channel, k layout.DutyKind) enforce.Value {
				return c.strayOver(k, func(r probe.Stray) bounded.Estimate { return r.WholeA })
			}),
		[]definition[*channel]{
			number("crosstalk", "1", "reading of another circuit over the own one at equal direct currents, largest of all; 0 without another",
				func(c *channel) enforce.Value {
					e, _, err := c.crosstalk()
					return estimated(e, err)
				}),
			{enforce.Quantity{Name: "crosstalk_bar", Type: enforce.Text, Doc: "bar or circuit that crosstalk comes from, by its nominal value; the first of equals, empty without another"},
				func(c *channel) enforce.Value {
					_, from, err := c.crosstalk()
					if err != nil {
						return undecided("%v", err)
					}
					return enforce.Word(from)
				}},
			number("crosstalk_given", "1", "share that the current it reads makes of another channel's reading at equal direct currents, largest of all", crosstalkGiven),
			number("ambient_current", "A",
				"sum of all foreign fields, the Earth's among them, as a current that it reads (rule ambient-field)",
				func(c *channel) enforce.Value {
					_, total, err := c.m.Ambient(c.s)
					return estimated(total, err)
				}),
			number("ambient_share", "1", "ambient_current over full_scale", func(c *channel) enforce.Value {
				_, total, err := c.m.Ambient(c.s)
				return c.ofFullScale(total, err)
			}),
			number("earth_share", "1", "the Earth's field in its worst direction, as a share of full_scale", earthShare),
		})
}

func (c *channel) strayOver(k layout.DutyKind, pick func(probe.Stray) bounded.Estimate) enforce.Value {
	var top largest
	c.duties(k, func(d *layout.Duty) {
		r, err := c.m.Stray(c.s, d)
		if err == nil && r.OwnA == 0 {
			return // nothing to hold it against
		}
		top.add(pick(r), err)
	})
	return top.value("no %s duty gives it a current to hold it against", k)
}

// crosstalk returns the largest share of another circuit, and its name.
func (c *channel) crosstalk() (bounded.Estimate, string, error) {
	list, err := c.m.CircuitShares(c.s)
	if err != nil {
		return bounded.Estimate{}, "", err
	}
	top, from := bounded.Exact(0), layout.CircuitIndex(layout.None)
	size := -1.0
	for _, b := range list {
		top = bounded.Most(top, b.Ratio.Magnitude())
		if v := math.Abs(b.Ratio.Value); v > size {
			from, size = b.Circuit, v
		}
	}
	if from == layout.None {
		return top, "", nil
	}
	return top, c.l.Circuits[from].ID, nil
}

// crosstalkGiven looks from the other channels at the own circuit. Channels of the
// same circuit read it rightly and do not count.
func crosstalkGiven(c *channel) enforce.Value {
	top := largest{e: bounded.Exact(0), any: true}
	for i := range c.l.Sensors {
		other := &c.l.Sensors[i]
		if other.Circuit == c.s.Circuit {
			continue
		}
		list, err := c.m.CircuitShares(other)
		if err != nil {
			return undecided("sensor %q: %v", other.ID, err)
		}
		for _, b := range list {
			if b.Circuit == c.s.Circuit {
				top.add(b.Ratio.Magnitude(), nil)
			}
		}
	}
	return top.value("")
}

func (c *channel) ofFullScale(e bounded.Estimate, err error) enforce.Value {
	full := c.m.FullScaleA(c.s)
	if full == 0 {
		return undecided("it reads no continuous or peak current, so it has no full scale")
	}
	return estimated(e.Scale(1/full), err)
}

func earthShare(c *channel) enforce.Value {
	perA, err := c.m.OwnPerAmpere(c.s)
	if err != nil {
		return undecided("%v", err)
	}
	around, err := c.m.Foreign(c.s, 0)
	return c.ofFullScale(around.Any().Scale(probe.EarthT).Over(perA), err)
}
