package remedy

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
)

// Suspect is one thing that a layout says and that may not be so: by an amount that is 0 as drawn.
type Suspect struct {
	Name      string  // "height", "place along the bar", "axis", "pitch", "permeability", "current of the source", "zero"
	Low, High float64 // the amounts that are tried
	// Tolerance is how large an amount the layout allows for; 0 where it says nothing.
	Tolerance float64
	// Apply returns the layout with it; nil where the layout stays and Reads says what changes.
	Apply func(amount float64) *layout.Layout
	// Reads returns what is read then of a flux density that is computed, T; nil: that itself.
	Reads func(amount, computedT float64) float64
	// Solves says that a step moves bars or iron, so that the field must be solved again.
	Solves bool
	Say    func(amount float64) string // "S stands 0.6 mm higher than drawn: 4.0 → 4.6 mm above go"
}

// How far a suspect is followed. A board in a wrong slot, a nut or a washer too many, a sheet of another grade: common
// practice, no more than a person would take for a slip.
const (
	mostMoveM  = 10e-3
	mostTurn   = 30 * math.Pi / 180
	mostScale  = 0.5
	mostFactor = 20
)

// Suspects returns what may lie behind readings of the sensor at index at: its height, its place along the face of
// its bar, its axis, the distance of the next bar, the permeability of shields, the current that flowed, and where
// steady is true a zero that was not taken off, up to mostT.
func Suspects(l *layout.Layout, at layout.SensorIndex, steady bool, mostT float64) []Suspect {
	list := standing(l, at)
	list = append(list, leaning(l, at)...)
	list = append(list, pitchSuspect(l, at)...)
	list = append(list, ironSuspects(l)...)
	list = append(list, Suspect{Name: "current of the source", Low: -mostScale, High: 2 * mostScale,
		Reads: func(x, t float64) float64 { return t * (1 + x) },
		Say: func(x float64) string {
			return fmt.Sprintf("the current of the source was %s %s than stated", si.Percent(math.Abs(x)), word(x, "higher", "lower"))
		}})
	if steady {
		list = append(list, Suspect{Name: "zero", Low: -mostT, High: mostT,
			Reads: func(x, t float64) float64 { return t + x },
			Say: func(x float64) string {
				return "a field of " + si.Format(x, "T") + " with no current was not taken off"
			}})
	}
	return list
}

// word returns one of two words by the sign of x.
func word(x float64, more, less string) string {
	if x < 0 {
		return less
	}
	return more
}

// standing moves the sensor away from its bar and along its face.
func standing(l *layout.Layout, at layout.SensorIndex) []Suspect {
	s := &l.Sensors[at]
	bar := &l.Bars[s.Reads]
	out, gap := l.Outward(s), bar.DistanceM(s.At.Point())
	along := geom.Point{X: -out.Y, Y: out.X}
	var tolerance geom.Point
	if p := s.Placement; p != nil {
		tolerance = geom.Point{X: p.XM.V, Y: p.YM.V}
	}
	within := func(d geom.Point) float64 {
		if v := float64(math.Abs(d.X)*tolerance.X) + float64(math.Abs(d.Y)*tolerance.Y); v > 0 {
			return v
		}
		return 0
	}
	by := func(d geom.Point) func(float64) *layout.Layout {
		return func(x float64) *layout.Layout { return l.WithSensor(at, s.Moved(d.Scale(x), 0)) }
	}
	side, more, less := "beside", "further away", "nearer"
	switch {
	case out.Y > 0.7:
		side, more, less = "above", "higher", "lower"
	case out.Y < -0.7:
		side, more, less = "below", "lower", "higher"
	}
	return []Suspect{{
		Name: "height", Low: -gap, High: mostMoveM, Tolerance: within(out), Apply: by(out),
		Say: func(x float64) string {
			return fmt.Sprintf("%s stands %s mm %s than drawn: %s → %s mm %s %s", s.ID, hundredths(math.Abs(x)),
				word(x, more, less), hundredths(gap), hundredths(gap+x), side, bar.ID)
		},
	}, {
		Name: "place along the bar", Low: -mostMoveM, High: mostMoveM, Tolerance: within(along), Apply: by(along),
		Say: func(x float64) string {
			return fmt.Sprintf("%s stands %s mm beside the place drawn, along the face of %s: [%s mm, %s mm] → [%s mm, %s mm]", s.ID,
				hundredths(math.Abs(x)), bar.ID, hundredths(s.At.X.V), hundredths(s.At.Y.V),
				hundredths(s.At.X.V+float64(along.X*x)), hundredths(s.At.Y.V+float64(along.Y*x)))
		},
	}}
}

// leaning turns the axis of the sensor; none where it leans out of the plane.
func leaning(l *layout.Layout, at layout.SensorIndex) []Suspect {
	const degree = math.Pi / 180
	s := &l.Sensors[at]
	if s.Axis.U.Z != 0 {
		return nil
	}
	tolerance := 0.0
	if s.Placement != nil && s.Placement.TiltRad.Set {
		tolerance = s.Placement.TiltRad.V
	}
	return []Suspect{{
		Name: "axis", Low: -mostTurn, High: mostTurn, Tolerance: tolerance,
		Apply: func(x float64) *layout.Layout { return l.WithSensor(at, s.Moved(geom.Point{}, x)) },
		Say: func(x float64) string {
			angle := portable.Atan2(s.Axis.U.Y, s.Axis.U.X) / degree
			return fmt.Sprintf("the axis of %s is turned by %.1f deg: %.1f → %.1f deg", s.ID, x/degree, angle, angle+x/degree)
		},
	}}
}

// pitchSuspect moves the bar that is nearest to that of the sensor, and nothing else.
func pitchSuspect(l *layout.Layout, at layout.SensorIndex) []Suspect {
	own := l.Sensors[at].Reads
	centre := l.Bars[own].Centre()
	next, pitch, gap := layout.None, math.Inf(1), 0.0
	for b := range l.Bars {
		if d := l.Bars[b].Centre().Sub(centre).Norm(); layout.BarIndex(b) != own && d > 0 && d < pitch {
			next, pitch = b, d
			gap, _, _ = geom.GapM(l.Bars[own].Polygon(), l.Bars[b].Polygon())
		}
	}
	if next == layout.None {
		return nil
	}
	bar := &l.Bars[next]
	away := bar.Centre().Sub(centre).Scale(1 / pitch)
	tolerance := 0.0
	if p := bar.Placement; p != nil {
		if v := float64(math.Abs(away.X)*p.XM.V) + float64(math.Abs(away.Y)*p.YM.V); v > 0 {
			tolerance = v
		}
	}
	return []Suspect{{
		Name: "pitch", Low: -math.Min(0.9*gap, 0.4*pitch), High: 0.4 * pitch, Tolerance: tolerance, Solves: true,
		Apply: func(x float64) *layout.Layout {
			return l.DisplacedBar(layout.BarIndex(next), layout.Shift{DX: away.X * x, DY: away.Y * x})
		},
		Say: func(x float64) string {
			return fmt.Sprintf("%s stands %s mm %s %s than drawn: pitch %s → %s mm", bar.ID, hundredths(math.Abs(x)),
				word(x, "further from", "nearer to"), l.Bars[own].ID, hundredths(pitch), hundredths(pitch+x))
		},
	}}
}

// ironSuspects scale the permeability of the materials of shields; the amount is the logarithm of the factor.
func ironSuspects(l *layout.Layout) []Suspect {
	var out []Suspect
	for i := range l.Materials {
		mat, at := &l.Materials[i], layout.MaterialIndex(i)
		if !mat.Magnetic() || !l.Shielding(at) {
			continue
		}
		tolerance := 0.0
		if mat.PermeabilityTol.Set {
			tolerance = portable.Log1p(mat.PermeabilityTol.V)
		}
		out = append(out, Suspect{
			Name: "permeability", Low: -portable.Log(mostFactor), High: portable.Log(mostFactor), Tolerance: tolerance, Solves: true,
			Apply: func(x float64) *layout.Layout { return l.WithPermeability(at, portable.Exp(x)) },
			Say: func(x float64) string {
				text := fmt.Sprintf("the permeability of %s is %.2f times what is declared", mat.ID, portable.Exp(x))
				if mat.MuRel.Set && len(mat.Curve) == 0 {
					text += fmt.Sprintf(": %.0f → %.0f", mat.MuRel.V, mat.MuRel.V*portable.Exp(x))
				}
				return text
			},
		})
	}
	return out
}

// hundredths prints a length in millimetres with one or two decimals, without its unit.
func hundredths(m float64) string { return decimal(math.Round(m*1e5) / 1e2) }

// stands reports whether no element of the sensor is in metal.
func stands(m *probe.Model, at layout.SensorIndex) bool {
	const clearM = 0.1e-3
	return clearOf(m.Layout, at, clearM)
}
