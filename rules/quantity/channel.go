package quantity

import (
	"slices"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// channel is one sensor with the model that answers for it.
type channel struct {
	*Facts
	i layout.SensorIndex
	s *layout.Sensor
}

func (f *Facts) channel(i layout.SensorIndex) *channel {
	return &channel{Facts: f, i: i, s: &f.l.Sensors[i]}
}

// channelQuantities are those of what is drawn, of the field, of the currents and
// of the chain behind the element.
func channelQuantities() []definition[*channel] {
	return slices.Concat(drawnQuantities(), currentQuantities(), fieldQuantities(), strayQuantities(),
		frequencyQuantities(), chainQuantities(), accuracyQuantities(), twinQuantities())
}

func drawnQuantities() []definition[*channel] {
	return []definition[*channel]{
		text("reads", "name of what the sensor reads: a bar, a circuit, or one leg of a circuit",
			func(c *channel) string {
				if c.s.Leg != layout.None {
					return c.l.Bars[c.s.Leg].ID
				}
				return c.l.Circuits[c.s.Circuit].ID
			}),
		text("bar", "name of the bar that the sensor stands at, of those that it reads",
			func(c *channel) string { return c.l.Bars[c.s.Reads].ID }),
		text("part", "name of the sensor's part; empty for none", func(c *channel) string {
			if p := c.l.PartOf(c.s); p != nil {
				return p.ID
			}
			return ""
		}),
		flag("is_pair", "the sensor is a pair of elements whose difference is read", func(c *channel) bool { return c.s.Pair != nil }),
		number("elements", "", "number of its elements: 2 of a pair", func(c *channel) enforce.Value {
			return exactly(float64(len(c.s.Elements())))
		}),
		flag("has_placement", "the sensor declares placement tolerances", func(c *channel) bool { return c.s.Placement != nil }),
		flag("has_readout", "something is declared behind the part's output", func(c *channel) bool { return c.l.ReadoutOf(c.s).Given }),
		flag("has_iron", "a shield of the layout is of iron",
			func(c *channel) bool { iron, _ := probe.Iron(c.l); return iron }),
		text("calibration", "kind of calibration that is declared: none, zero, one-point, two-point, matrix", func(c *channel) string {
			if k, ok := c.l.CalibrationOf(c.s.ID); ok && k.Kind.Set {
				return string(k.Kind.V)
			}
			return string(layout.CalibrationNone)
		}),
		number("distance", "m", "from the sensor's place to the surface of its bar", func(c *channel) enforce.Value {
			return exactly(c.l.Bars[c.s.Reads].DistanceM(c.s.At.Point()))
		}),
		number("air_gap", "m", "straight through air from the sensor's body to its bar at its worst placement; from none to the element's distance without a body", func(c *channel) enforce.Value {
			g, err := c.l.SurfaceGap(c.s.ID, c.l.Bars[c.s.Reads].ID)
			if err != nil {
				return undecided("%v", err)
			}
			return enforce.Num((g.LowM+g.HighM)/2, g.LowM, g.HighM)
		}),
		number("neighbour_distance", "m", "from the sensor's place to the surface of the nearest other bar",
			func(c *channel) enforce.Value {
				least, found := 0.0, false
				for b := range c.l.Bars {
					if layout.BarIndex(b) == c.s.Reads {
						continue
					}
					if d := c.l.Bars[b].DistanceM(c.s.At.Point()); !found || d < least {
						least, found = d, true
					}
				}
				if !found {
					return undecided("there is no other bar")
				}
				return exactly(least)
			}),
	}
}

// tenthM is the move for which a change with distance is told, in metres.
const tenthM = 0.1e-3

// outward returns the sensor moved straight away from its bar.
func (c *channel) outward(byM float64) layout.Sensor {
	out := c.l.Outward(c.s)
	return c.s.Moved(geom.Point{X: out.X * byM, Y: out.Y * byM}, 0)
}
