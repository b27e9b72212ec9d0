package cli

import (
	"fmt"
	"strings"

	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
)

// complexA is a phasor of a current as [re, im].
type complexA = [2]float64

// fieldCurrent is the current of one circuit, A peak, and what of it and of other circuits
// flows in each of its bars.
type fieldCurrent struct {
	Circuit string    `json:"circuit"`
	PeakA   complexA  `json:"peak_a"`
	Bars    []barPart `json:"bars,omitempty"`

	kind string // bar or circuit
}

type barPart struct {
	Bar   string   `json:"bar"`
	PeakA complexA `json:"peak_a"`
}

// fieldElement is one element of an array: the field there, and its part on the axis of
// the element, without the weight.
type fieldElement struct {
	At           [3]float64 `json:"at_m"`
	Weight       float64    `json:"weight"`
	BX           complexT   `json:"bx_t"`
	BY           complexT   `json:"by_t"`
	BZ           complexT   `json:"bz_t"`
	Axis         complexT   `json:"axis_t"`
	Certainty    *float64   `json:"certainty"`
	Surroundings *float64   `json:"surroundings"`
}

// currentsOf returns the currents of a component; nil where every bar stands by itself and
// the file says all.
func currentsOf(l *layout.Layout, f *field.Field, c *waveform.Component) []fieldCurrent {
	if !l.HasCircuits() {
		return nil
	}
	bars := f.BarsA(c.PeakA)
	var out []fieldCurrent
	for k := range l.Circuits {
		circuit := &l.Circuits[k]
		one := fieldCurrent{Circuit: circuit.ID, PeakA: pair(c.PeakA[k]), kind: circuitKind(l, layout.CircuitIndex(k))}
		if circuit.Kind != layout.Single {
			for _, m := range circuit.Members {
				one.Bars = append(one.Bars, barPart{l.Bars[m.Bar].ID, pair(bars[m.Bar])})
			}
		}
		out = append(out, one)
	}
	return out
}

// circuitKind is the word for a circuit: a bar that no circuit names is its own.
func circuitKind(l *layout.Layout, k layout.CircuitIndex) string {
	if l.Circuits[k].Kind == layout.Single {
		return "bar"
	}
	return "circuit"
}

// elementsOf returns what each element of an array gets; nil of others.
func elementsOf(m *probe.Model, s *layout.Sensor, c *waveform.Component) []fieldElement {
	if len(s.Array) == 0 {
		return nil
	}
	var out []fieldElement
	for _, e := range s.Elements() {
		v, err := m.TotalAt(e.At, c)
		if err != nil {
			return nil
		}
		out = append(out, fieldElement{
			At: [3]float64{rounded(e.At.X), rounded(e.At.Y), rounded(e.At.Z)}, Weight: e.Weight,
			BX: pair(v.X), BY: pair(v.Y), BZ: pair(v.Z), Axis: pair(field.OnAxis(v, e.U).V), Certainty: certainty(v),
			Surroundings: surroundings(v),
		})
	}
	return out
}

func currentsText(b *strings.Builder, d *fieldDuty) {
	for i := range d.Currents {
		c := &d.Currents[i]
		fmt.Fprintf(b, "  %s %s carries %s", c.kind, finding.Clean(c.Circuit), amperesText(c.PeakA))
		for k, p := range c.Bars {
			fmt.Fprintf(b, "%s %s in bar %s", map[bool]string{true: ":", false: ","}[k == 0], amperesText(p.PeakA),
				finding.Clean(p.Bar))
		}
		b.WriteString("\n")
	}
}

// amperesText prints a peak phasor, with its phase when it is not real.
func amperesText(a complexA) string {
	if a[1] == 0 {
		return si.Format(a[0], "A")
	}
	c := complex(a[0], a[1])
	return fmt.Sprintf("%s ∠ %s", si.Format(portable.Abs(c), "A"), phaseText(c))
}
