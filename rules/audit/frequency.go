package audit

import (
	"fmt"
	"math"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/rules/report/figure"
)

// mostFrequencies is how many frequencies the table holds: a waveform given by points has
// hundreds.
const mostFrequencies = 40

// someOf returns at most mostFrequencies of a rising list, the first and the last among
// them, at equal steps of their places.
func someOf(all []float64) []float64 {
	n := len(all)
	if n <= mostFrequencies {
		return all
	}
	var out []float64
	for k := range mostFrequencies {
		out = append(out, all[k*(n-1)/(mostFrequencies-1)])
	}
	return out
}

// atFrequency is the own reading of a sensor and that of the strongest other circuit per
// ampere of each at one frequency.
type atFrequency struct {
	own, other complex128
	best       layout.CircuitIndex // layout.None: there is no other
}

func (b *builder) atFrequency(f *field.Field, s *layout.Sensor) atFrequency {
	out := atFrequency{own: f.Own(s).Axis.V, best: layout.None}
	for k := range b.l.Circuits {
		c := layout.CircuitIndex(k)
		if !s.Hears(c) {
			continue
		}
		if v := f.Beside(s, c).Axis.V; out.best == layout.None || portable.Abs(v) > portable.Abs(out.other) {
			out.best, out.other = c, v
		}
	}
	return out
}

// row is the line of the table at one frequency.
func (b *builder) row(hz float64, at atFrequency) []string {
	out := []string{hertz(hz), si.Format(portable.Abs(at.own), "T") + "/A", phase(at.own), "none", "", "", ""}
	if at.best != layout.None {
		out[3], out[4], out[5] = b.l.Circuits[at.best].ID, si.Format(portable.Abs(at.other), "T")+"/A", phase(at.other)
		out[6] = si.Percent(portable.Abs(at.other) / portable.Abs(at.own))
	}
	return out
}

// frequencyCurve is field per ampere and the part of the strongest other circuit against
// frequency, at the frequencies that duties declare.
func (b *builder) frequencyCurve(x *seen) *Curve {
	noun := b.noun()
	own, other := figure.Series{Name: "own " + noun, Points: true},
		figure.Series{Name: "strongest other " + noun, Points: true}
	lag, lagOther := own, other
	out := &Curve{Name: frequencyCurveName,
		Head: []string{"frequency", "own field per ampere", "phase", "strongest other " + noun, "its field per ampere",
			"phase", "part of own"}}
	still := 0.0
	others := false
	all := b.Model.Frequencies()
	for _, hz := range someOf(all) {
		f, err := b.Model.Field(hz)
		if err != nil {
			out.Rows = append(out.Rows, []string{hertz(hz), "not known: " + err.Error(), "", "", "", "", ""})
			continue
		}
		at := b.atFrequency(f, x.s)
		out.Rows = append(out.Rows, b.row(hz, at))
		if hz == 0 {
			still = portable.Abs(at.own)
			continue
		}
		add := func(amplitude, angle *figure.Series, v complex128, known bool) {
			size, turn := math.NaN(), math.NaN()
			if known {
				size, turn = portable.Abs(v), away(v)
			}
			amplitude.X, amplitude.Y = append(amplitude.X, hz), append(amplitude.Y, size)
			angle.X, angle.Y = append(angle.X, hz), append(angle.Y, turn)
		}
		others = others || at.best != layout.None
		add(&own, &lag, at.own, true)
		add(&other, &lagOther, at.other, at.best != layout.None)
	}
	out.Text = "Amplitude on the axis per ampere, and phase against the current (a field against the axis counts as in phase). " +
		"Computed at the frequencies that duties declare, and nowhere between."
	if len(all) > mostFrequencies {
		out.Text += fmt.Sprintf(" %d of %d frequencies are shown.", mostFrequencies, len(all))
	}
	if len(own.X) == 0 {
		out.Text = "No duty declares a frequency: direct current alone."
		return out
	}
	amplitude := figure.Panel{Y: figure.Axis{Title: "flux density per ampere", Unit: "T/A", Log: true},
		Series: []figure.Series{own}}
	angle := figure.Panel{Y: figure.Axis{Title: "phase", Unit: "rad"}, Series: []figure.Series{lag}}
	if others {
		amplitude.Series, angle.Series = append(amplitude.Series, other), append(angle.Series, lagOther)
	}
	if still > 0 {
		amplitude.Marks = append(amplitude.Marks, figure.Mark{At: still, Label: "own, direct current"})
	}
	out.Chart = figure.Chart{X: figure.Axis{Title: "frequency", Unit: "Hz", Log: true},
		Panels: []figure.Panel{amplitude, angle}}
	if f := own.X; len(f) == 1 {
		out.Chart.X.Min, out.Chart.X.Max = f[0]/10, f[0]*10
	}
	out.Chart.Title = "Field per ampere of " + x.s.ID + " against frequency"
	out.Chart.Desc = out.Text
	return out
}

// away is the phase of a reading against the current, a quarter turn at most: the sign
// of the axis is taken away.
func away(v complex128) float64 {
	p := portable.Phase(v)
	switch {
	case p > math.Pi/2:
		return p - math.Pi
	case p < -math.Pi/2:
		return p + math.Pi
	}
	return p
}

func phase(v complex128) string { return fmt.Sprintf("%.2f°", away(v)*180/math.Pi) }
