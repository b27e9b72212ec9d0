package channel

import (
	"cmp"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
)

// Assumed returns everything that is taken for granted about a layout, sorted by
// place: what the layout itself lists, and what its channels have as assumed after
// FromLayout and its kin, each datum once. A sensor without a readout has no channel
// to assume anything of. The caller owns the slice.
func Assumed(l *layout.Layout) []finding.Assumption {
	out := slices.Clone(l.Assumed)
	listed := map[string]bool{}
	for i := range l.Sensors {
		s := &l.Sensors[i]
		if r := l.ReadoutOf(s); !r.Given {
			continue
		}
		_, missing := FromLayout(l, s, Field{})
		_, setup := SetupFromLayout(l, s)
		_, trip := TripFromLayout(l, s)
		_, zeroing := ZeroingFromLayout(l, s)
		for _, list := range [][]Missing{missing, setup, trip, zeroing} {
			for _, m := range list {
				if m.Undecided || listed[m.Key] {
					continue
				}
				listed[m.Key] = true
				out = append(out, finding.Assumption{
					Span: m.Span, Object: object(l, s, m.Key), Text: finding.Clean(m.Text + " (" + m.Key + ")"),
				})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b finding.Assumption) int {
		return cmp.Or(
			cmp.Compare(a.Span.Start.Line, b.Span.Start.Line),
			cmp.Compare(a.Span.Start.Column, b.Span.Start.Column))
	})
	return out
}

// object returns the named object that a key belongs to; empty for what is common.
func object(l *layout.Layout, s *layout.Sensor, key string) string {
	if p := l.PartOf(s); p != nil && strings.HasPrefix(key, "parts."+p.ID+".") {
		return p.ID
	}
	for _, section := range []string{"readout.channels.", "needs.", "calibration."} {
		if strings.HasPrefix(key, section+s.ID+".") {
			return s.ID
		}
	}
	return ""
}
