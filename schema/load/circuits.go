package load

import "busgauss/model/layout"

// circuits fills the circuits of the layout: a bar that no circuit of the file names
// is one by itself.
func (r *reader) circuits() {
	for i := range r.out.Bars {
		b := &r.out.Bars[i]
		r.out.Circuits = append(r.out.Circuits, layout.Circuit{
			ID: b.ID, Span: b.Span, Kind: layout.Single,
			Members: []layout.Member{{Bar: layout.BarIndex(i), Factor: 1, Span: b.Span}},
		})
	}
}
