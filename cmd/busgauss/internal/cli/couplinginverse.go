package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/rules/report"
)

// leftoverChannel is what an inverse leaves in the channel of one bar or circuit.
type leftoverChannel struct {
	Bar          string              `json:"bar"`
	OwnAmplitude *float64            `json:"own_amplitude"`
	OwnPhaseRad  *float64            `json:"own_phase_rad"`
	CrosstalkSum *float64            `json:"crosstalk_sum"`
	PerBar       map[string]complexT `json:"a_per_a"`
}

// leftoverExtremes is the worst of one channel over places of the sensors.
type leftoverExtremes struct {
	Bar          string   `json:"bar"`
	OwnAmplitude *float64 `json:"own_amplitude"`
	CrosstalkSum *float64 `json:"crosstalk_sum"`
}

// add puts the inverse and its condition into the report.
func (f *couplingFrequency) add(l *layout.Layout, c *probe.Coupling) {
	for j, row := range c.Fit.Inverse {
		bar := inverseBar{Bar: l.Circuits[c.Circuits[j]].ID, PerSensor: map[string]complexT{}}
		for i, v := range row {
			bar.PerSensor[l.Sensors[i].ID] = pair(v)
		}
		f.Inverse = append(f.Inverse, bar)
	}
	f.Condition = report.Number(c.Fit.Condition)
}

// unreadCircuit is what one ampere in a circuit that no sensor reads adds to the currents that
// an inverse tells.
type unreadCircuit struct {
	Bar   string              `json:"bar"`
	AddsA map[string]complexT `json:"a_per_a"`
}

// unreadOf returns what circuits that no sensor reads do at the frequency of c.
func unreadOf(l *layout.Layout, c *probe.Coupling) []unreadCircuit {
	var out []unreadCircuit
	for k := range l.Circuits {
		if slices.Contains(c.Circuits, layout.CircuitIndex(k)) {
			continue
		}
		one := unreadCircuit{Bar: l.Circuits[k].ID, AddsA: map[string]complexT{}}
		for j, circuit := range c.Circuits {
			one.AddsA[l.Circuits[circuit].ID] = pair(told(c, c, j, layout.CircuitIndex(k)))
		}
		out = append(out, one)
	}
	return out
}

// told returns what row j of an inverse makes of one ampere in a circuit at the frequency of at.
func told(inverse, at *probe.Coupling, j int, circuit layout.CircuitIndex) complex128 {
	var sum complex128
	for i := range at.PerCircuit {
		sum += portable.Times(inverse.Fit.Inverse[j][i], at.PerCircuit[i][circuit].V)
	}
	return sum
}

// leftoverOf returns what the inverse at direct current leaves of the matrix of
// another frequency, of circuits that no sensor reads too.
func leftoverOf(l *layout.Layout, still, at *probe.Coupling) []leftoverChannel {
	left := still.Fit.LeftoverOf(at.Matrix)
	var out []leftoverChannel
	for j, circuit := range still.Circuits {
		one := leftoverChannel{
			Bar: l.Circuits[circuit].ID, OwnAmplitude: report.Number(left.OwnAmplitude(j)),
			OwnPhaseRad: report.Number(left.OwnPhaseRad(j)),
			PerBar:      map[string]complexT{},
		}
		for k, other := range still.Circuits {
			one.PerBar[l.Circuits[other].ID] = pair(left.E[j][k])
		}
		sum := left.CrosstalkSum(j)
		for k := range l.Circuits {
			if c := layout.CircuitIndex(k); !slices.Contains(still.Circuits, c) {
				e := told(still, at, j, c)
				one.PerBar[l.Circuits[k].ID] = pair(e)
				sum += portable.Abs(e)
			}
		}
		one.CrosstalkSum = report.Number(sum)
		out = append(out, one)
	}
	return out
}

// placementLeftover returns the worst that the inverse of the sensors as drawn
// leaves where they stand elsewhere within their tolerances: each by itself, and all
// of them shifted one way, as one board does. Nil without tolerances.
func placementLeftover(m *probe.Model, c *probe.Coupling) []leftoverExtremes {
	l := m.Layout
	f, err := m.Field(0)
	if err != nil {
		return nil
	}
	places := make([][]layout.Sensor, len(l.Sensors))
	most := 1
	for i := range l.Sensors {
		places[i] = within(&l.Sensors[i])
		most = max(most, len(places[i]))
	}
	if most == 1 {
		return nil
	}
	rows := make([][][]complex128, len(l.Sensors)) // by sensor and place
	for i := range places {
		for k := range places[i] {
			var row []complex128
			for _, circuit := range c.Circuits {
				row = append(row, f.PerAmpere(&places[i][k], circuit).Axis.V)
			}
			rows[i] = append(rows[i], row)
		}
	}
	var matrices [][][]complex128
	for i := range places {
		for k := range rows[i][1:] {
			matrices = append(matrices, replaced(c.Matrix, func(j int) []complex128 {
				if j == i {
					return rows[i][k+1]
				}
				return nil
			}))
		}
	}
	for k := 1; k < most; k++ {
		matrices = append(matrices, replaced(c.Matrix, func(j int) []complex128 {
			if k < len(rows[j]) {
				return rows[j][k]
			}
			return nil
		}))
	}
	var out []leftoverExtremes
	for j, x := range c.Fit.Worst(matrices) {
		name := l.Circuits[c.Circuits[j]].ID
		out = append(out, leftoverExtremes{name, report.Number(x.OwnAmplitude.Value),
			report.Number(x.CrosstalkSum.Value)})
	}
	return out
}

// within returns s as drawn and at either end of x, y and tilt, one at a time and
// all at once: where a reading that bends little over its tolerances is worst.
func within(s *layout.Sensor) []layout.Sensor {
	out := []layout.Sensor{*s}
	p := s.Placement
	if p == nil {
		return out
	}
	for _, x := range []float64{-1, 0, 1} {
		for _, y := range []float64{-1, 0, 1} {
			for _, t := range []float64{-1, 0, 1} {
				corner := x != 0 && y != 0 && t != 0
				alone := float64(x*x)+float64(y*y)+float64(t*t) == 1
				if corner || alone {
					out = append(out, s.Moved(geom.Point{X: x * p.XM.V, Y: y * p.YM.V}, t*p.TiltRad.V))
				}
			}
		}
	}
	return out
}

// replaced returns a with the rows that row gives; nil keeps one.
func replaced(a [][]complex128, row func(i int) []complex128) [][]complex128 {
	out := make([][]complex128, len(a))
	for i := range a {
		if out[i] = row(i); out[i] == nil {
			out[i] = a[i]
		}
	}
	return out
}

// inverseText prints the inverse in amperes per millitesla, its condition and what it
// leaves.
func inverseText(b *strings.Builder, f *couplingFrequency, l *layout.Layout) {
	if len(f.Inverse) == 0 {
		return
	}
	others := "all other bars"
	if l.HasCircuits() {
		others = "all other circuits"
	}
	b.WriteString("  inverse, A/mT:\n")
	for _, row := range f.Inverse {
		fmt.Fprintf(b, "  %-12s", finding.Clean(row.Bar))
		for _, s := range f.Sensors {
			fmt.Fprintf(b, " %20s", perMilliteslaText(row.PerSensor[s.Sensor]))
		}
		b.WriteString("\n")
	}
	if f.Condition != nil {
		fmt.Fprintf(b, "  condition number %s\n", si.Format(*f.Condition, "1"))
	}
	for _, x := range f.Unread {
		for _, row := range f.Inverse {
			fmt.Fprintf(b, "  no sensor reads %s: each ampere of it adds %s to %s\n", finding.Clean(x.Bar),
				amperesText(x.AddsA[row.Bar]), finding.Clean(row.Bar))
		}
	}
	for _, x := range f.Leftover {
		fmt.Fprintf(b, "  the inverse at 0 Hz leaves on %s: amplitude %s, phase %s, %s of %s at the worst phase\n",
			finding.Clean(x.Bar), percentText(x.OwnAmplitude), degreesText(x.OwnPhaseRad), percentText(x.CrosstalkSum),
			others)
	}
	if len(f.Unread) > 0 {
		others += " that sensors read"
	}
	for _, x := range f.PlacementLeftover {
		fmt.Fprintf(b, "  placement leaves on %s: amplitude %s, %s of %s at the worst signs\n",
			finding.Clean(x.Bar), percentText(x.OwnAmplitude), percentText(x.CrosstalkSum), others)
	}
}

// perMilliteslaText prints A/T as A/mT, with its phase when it is not real.
func perMilliteslaText(c complexT) string {
	if c[1] == 0 {
		return si.Format(1e-3*c[0], "1")
	}
	return fmt.Sprintf("%s ∠ %s", si.Format(1e-3*portable.Hypot(c[0], c[1]), "1"), phaseText(complex(c[0], c[1])))
}

func percentText(v *float64) string {
	if v == nil {
		return "not known"
	}
	return si.Percent(*v)
}

func degreesText(v *float64) string {
	if v == nil {
		return "not known"
	}
	return fmt.Sprintf("%.2f deg", *v*180/math.Pi)
}
