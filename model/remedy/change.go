package remedy

import (
	"fmt"
	"math"
	"strconv"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
)

// Places returns the changes of the place of the sensor at index at, of its axis and of the pitch
// of the bars, for OfSensor.
func Places(l *layout.Layout, at layout.SensorIndex) []Change {
	list := append(heights(l, at), sideways(l, at)...)
	list = append(list, Turns(l, at)...)
	if c, ok := pitchChange(l, at); ok {
		list = append(list, c)
	}
	return list
}

// A move of a sensor by one millimetre, a turn of its axis by two degrees and a
// pitch wider by half a millimetre cost the same: a board is moved before copper.
const (
	costPerMetre      = 1e3
	costPerDegree     = 0.5
	costPerPitchMetre = 2e3
)

// heights moves the sensor straight towards its bar and straight away from it.
func heights(l *layout.Layout, at layout.SensorIndex) []Change {
	s := &l.Sensors[at]
	bar := &l.Bars[s.Reads]
	out, gap, least := l.Outward(s), bar.DistanceM(s.At.Point()), clearOfMetalM(l, at)
	side := "beside"
	switch {
	case out.Y > 0.7:
		side = "above"
	case out.Y < -0.7:
		side = "below"
	}
	height := func(sign, maxM float64) Change {
		return Change{Kind: "height", Way: sign, Max: maxM, Step: 0.1e-3, Cost: costPerMetre,
			Apply: func(x float64) *layout.Layout { return l.WithSensor(at, s.Moved(out.Scale(sign*x), 0)) },
			Say: func(x float64) string {
				return fmt.Sprintf("move %s from %s to %s mm %s %s", s.ID, millimetres(gap), millimetres(gap+float64(sign*x)), side, bar.ID)
			}}
	}
	var list []Change
	if gap > least {
		list = append(list, height(-1, gap-least))
	}
	return append(list, height(1, probe.ReachM))
}

// sideways moves the sensor along the face of its bar, either way.
func sideways(l *layout.Layout, at layout.SensorIndex) []Change {
	s := &l.Sensors[at]
	bar := &l.Bars[s.Reads]
	out := l.Outward(s)
	along := geom.Point{X: -out.Y, Y: out.X}
	var list []Change
	for k, dir := range []geom.Point{along, along.Scale(-1)} {
		list = append(list, Change{Kind: "along", Way: 1 - 2*float64(k), Max: probe.ReachM, Step: 0.1e-3, Cost: costPerMetre,
			Apply: func(x float64) *layout.Layout { return l.WithSensor(at, s.Moved(dir.Scale(x), 0)) },
			Say: func(x float64) string {
				return fmt.Sprintf("move %s along the face of %s by %s mm to [%s mm, %s mm]", s.ID, bar.ID, millimetres(x),
					millimetres(s.At.X.V+float64(dir.X*x)), millimetres(s.At.Y.V+float64(dir.Y*x)))
			}})
	}
	return list
}

// Turns returns the turns of the sensor about z, either way; none when its axis
// leans out of the plane, where no angle says its direction.
func Turns(l *layout.Layout, at layout.SensorIndex) []Change {
	const degree = math.Pi / 180
	s := &l.Sensors[at]
	if s.Axis.U.Z != 0 {
		return nil
	}
	what := "the axis of " + s.ID
	if s.Pair != nil {
		what = s.ID + " with its pair"
	}
	var list []Change
	for _, sign := range []float64{1, -1} {
		list = append(list, Change{Kind: "turn", Way: sign, Max: 90, Step: 0.5, Cost: costPerDegree,
			Apply: func(x float64) *layout.Layout { return l.WithSensor(at, s.Moved(geom.Point{}, sign*x*degree)) },
			Say: func(x float64) string {
				angle := portable.Atan2(s.Axis.U.Y, s.Axis.U.X)/degree + float64(sign*x)
				return fmt.Sprintf("turn %s by %s deg to %s deg", what, decimal(sign*x), decimal(math.Mod(angle+360, 360)))
			}})
	}
	return list
}

// millimetres prints a length without its unit: a tenth at least, a micrometre at most.
func millimetres(m float64) string { return decimal(m * 1e3) }

// decimal prints v with one to three decimals: 4 is "4.0", 4.25 is "4.25".
func decimal(v float64) string {
	v = math.Round(v*1e3) / 1e3
	if v == math.Round(v*10)/10 {
		return strconv.FormatFloat(v+0, 'f', 1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// pitchChange moves every other bar, with its sensors, away from the bar of the
// sensor, by the same factor.
func pitchChange(l *layout.Layout, at layout.SensorIndex) (Change, bool) {
	own := l.Sensors[at].Reads
	centre := l.Bars[own].Centre()
	nearest, pitch := layout.None, math.Inf(1)
	for b := range l.Bars {
		if layout.BarIndex(b) == own {
			continue
		}
		if d := l.Bars[b].Centre().Sub(centre).Norm(); d > 0 && d < pitch {
			nearest, pitch = b, d
		}
	}
	if nearest == layout.None {
		return Change{}, false
	}
	return Change{
		Kind: "pitch", Way: 1, Max: 2 * pitch, Step: 0.5e-3, Cost: costPerPitchMetre, Rearranges: true,
		Apply: func(x float64) *layout.Layout {
			k := 1 + x/pitch
			bars := append([]layout.Bar(nil), l.Bars...)
			sensors := append([]layout.Sensor(nil), l.Sensors...)
			shields := append([]layout.Shield(nil), l.Shields...)
			for b := range bars {
				if layout.BarIndex(b) == own {
					continue
				}
				d := bars[b].Centre().Sub(centre).Scale(k - 1)
				bars[b].At.X.V += d.X
				bars[b].At.Y.V += d.Y
				for i := range sensors {
					if sensors[i].Reads == layout.BarIndex(b) {
						sensors[i] = sensors[i].Moved(d, 0)
					}
				}
				for i := range shields {
					// A shield that has the bar inside it goes with the bar.
					if l.Shields[i].Region().Box().Contains(l.Bars[b].Centre()) {
						shields[i].At.X.V += d.X
						shields[i].At.Y.V += d.Y
					}
				}
			}
			c := l.WithBars(bars)
			c.Sensors, c.Shields = sensors, shields
			return c
		},
		Say: func(x float64) string {
			rest := ""
			if len(l.Bars) > 2 {
				rest = ", all bars in proportion"
			}
			return fmt.Sprintf("widen the pitch of %s and %s from %s to %s mm%s, their sensors with them", l.Bars[own].ID,
				l.Bars[nearest].ID, millimetres(pitch), millimetres(pitch+x), rest)
		},
	}, true
}
