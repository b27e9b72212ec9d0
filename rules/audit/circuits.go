package audit

import (
	"fmt"
	"strings"

	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/waveform"
)

// readID is the identifier of what a sensor reads: a bar, a circuit, or one leg of it.
func readID(l *layout.Layout, s *layout.Sensor) string {
	if s.Leg != layout.None {
		return l.Bars[s.Leg].ID
	}
	return l.Circuits[s.Circuit].ID
}

// readWords names what a sensor reads: bar U, circuit store, leg L1 of circuit store.
func readWords(l *layout.Layout, s *layout.Sensor) string {
	if s.Leg != layout.None {
		return "leg " + l.Bars[s.Leg].ID + " of " + circuitWords(l, s.Circuit)
	}
	return circuitWords(l, s.Circuit)
}

// circuitWords names a circuit, a bar by itself as one.
func circuitWords(l *layout.Layout, c layout.CircuitIndex) string {
	if l.Circuits[c].Kind == layout.Single {
		return "bar " + l.Circuits[c].ID
	}
	return "circuit " + l.Circuits[c].ID
}

// noun is what the currents of the layout flow through.
func (b *builder) noun() string {
	if b.l.HasCircuits() {
		return "circuit"
	}
	return "bar"
}

// currentWords says what flows in each declared circuit and what of it in its bars.
func (b *builder) currentWords(f *field.Field, c *waveform.Component) string {
	bars := f.BarsA(c.PeakA)
	var out []string
	for k := range b.l.Circuits {
		circuit := &b.l.Circuits[k]
		if circuit.Kind == layout.Single {
			continue
		}
		var parts []string
		for _, m := range circuit.Members {
			parts = append(parts, polar(bars[m.Bar], "A")+" in bar "+b.l.Bars[m.Bar].ID)
		}
		out = append(out, fmt.Sprintf("Circuit %s carries %s: %s.", circuit.ID, polar(c.PeakA[k], "A"),
			strings.Join(parts, ", ")))
	}
	return strings.Join(out, " ")
}

// ownPart is a bar of what a sensor reads, with its share of an ampere of that.
type ownPart struct {
	bar   *layout.Bar
	share float64
}

// ownParts returns the bars that carry the current which s reads, at direct current; nil
// where the shares are not known.
func (b *builder) ownParts(s *layout.Sensor) []ownPart {
	if s.Leg != layout.None {
		return []ownPart{{&b.l.Bars[s.Leg], 1}}
	}
	f, err := b.Model.Field(0)
	if err != nil {
		return nil
	}
	one := make([]complex128, len(b.l.Circuits))
	one[s.Circuit] = complex(s.Sign, 0)
	var out []ownPart
	for k, a := range f.BarsA(one) {
		if share := real(a); share != 0 {
			out = append(out, ownPart{&b.l.Bars[k], share})
		}
	}
	return out
}

// ownWords lists the parts of a reading that each bar makes, per ampere of the whole.
func ownWords(s *layout.Sensor, parts []ownPart, of func(*layout.Bar) float64) string {
	var terms []string
	for _, p := range parts {
		terms = append(terms, fmt.Sprintf("bar %s: %s × %s", p.bar.ID, figures(p.share), perAmpereSigned(of(p.bar))))
	}
	return strings.Join(terms, "; ")
}
