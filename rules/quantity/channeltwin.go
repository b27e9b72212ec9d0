package quantity

import (
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// twinQuantities hold a channel against another one: its twin, which reads the
// same current, and the one that stands nearest.
func twinQuantities() []definition[*channel] {
	return []definition[*channel]{
		text("twin", "the other channel that reads the same current, of a circuit or one leg, the first of several; empty for none", func(c *channel) string {
			if t := c.twin(); t != nil {
				return t.ID
			}
			return ""
		}),
		number("twin_difference", "1", "difference of the two readings per ampere that they read over the own one",
			func(c *channel) enforce.Value {
				return c.withTwin(func(own, other bounded.Estimate) bounded.Estimate {
					return other.Over(own).Plus(bounded.Exact(-1)).Magnitude()
				})
			}),
		number("twin_common_current", "A", "largest difference between the currents that the two tell in a uniform field as strong as the Earth's", twinEarth),
		text("nearest_channel", "the channel that stands nearest; empty for none", func(c *channel) string {
			if n := c.nearest(); n != nil {
				return n.ID
			}
			return ""
		}),
		number("channel_distance", "m", "from the sensor's place to that of the nearest other channel",
			func(c *channel) enforce.Value {
				n := c.nearest()
				if n == nil {
					return undecided("there is no other channel")
				}
				return exactly(n.At.Point().Sub(c.s.At.Point()).Norm())
			}),
	}
}

func (c *channel) twin() *layout.Sensor {
	for i := range c.l.Sensors {
		if s := &c.l.Sensors[i]; layout.SensorIndex(i) != c.i && s.Circuit == c.s.Circuit && s.Leg == c.s.Leg {
			return s
		}
	}
	return nil
}

func (c *channel) nearest() *layout.Sensor {
	var best *layout.Sensor
	least := 0.0
	for i := range c.l.Sensors {
		if layout.SensorIndex(i) == c.i {
			continue
		}
		if d := c.l.Sensors[i].At.Point().Sub(c.s.At.Point()).Norm(); best == nil || d < least {
			best, least = &c.l.Sensors[i], d
		}
	}
	return best
}

func (c *channel) withTwin(of func(own, other bounded.Estimate) bounded.Estimate) enforce.Value {
	t := c.twin()
	if t == nil {
		return undecided("no other channel reads its current")
	}
	own, err := c.m.OwnPerAmpere(c.s)
	if err != nil {
		return undecided("%v", err)
	}
	other, err := c.m.OwnPerAmpere(t)
	return estimated(of(own, other), err)
}

// twinEarth is, with f the response to a uniform field along each axis and g the
// signed own reading per ampere,
//
//	B |f/g − f'/g'|
//
// largest over the directions of a field B, since the difference of two responses
// is a vector again.
func twinEarth(c *channel) enforce.Value {
	t := c.twin()
	if t == nil {
		return undecided("no other channel reads its current")
	}
	own, err := c.amperesPerT(c.s)
	if err != nil {
		return undecided("%v", err)
	}
	other, err := c.amperesPerT(t)
	if err != nil {
		return undecided("sensor %q: %v", t.ID, err)
	}
	var v, half float64
	for k := range own {
		v = portable.Hypot(v, own[k].value-other[k].value)
		half = portable.Hypot(half, own[k].half+other[k].half)
	}
	return valued(bounded.Estimate{Value: v, Low: math.Max(0, v-half), High: v + half}.Scale(probe.EarthT))
}

// signed is a number of either sign with the half width of its bounds.
type signed struct{ value, half float64 }

// over divides a steady phasor by another one; NaN where that may be zero.
func over(a, by bounded.Phasor) signed {
	least := math.Abs(real(by.V)) - by.Bound - by.Quad - by.Far
	if !(least > 0) {
		return signed{math.NaN(), math.NaN()}
	}
	q := real(a.V) / real(by.V)
	return signed{q, (a.Bound + a.Quad + a.Far + float64(math.Abs(q)*(by.Bound+by.Quad+by.Far))) / least}
}

// amperesPerT returns the current that a sensor tells per tesla of a steady
// uniform field along x, y and z.
func (c *channel) amperesPerT(s *layout.Sensor) ([3]signed, error) {
	f, err := c.m.Field(0)
	if err != nil {
		return [3]signed{}, err
	}
	around, err := c.m.Foreign(s, 0)
	if err != nil {
		return [3]signed{}, err
	}
	own := f.Own(s).Axis.Scale(complex(s.Sign, 0)) // in the direction of the circuit
	return [3]signed{over(around.X, own), over(around.Y, own), over(around.Z, own)}, nil
}
