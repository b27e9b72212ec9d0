package field

import (
	"fmt"

	"busgauss/model/si"
	"busgauss/model/waveform"
)

// Widened says what in the layout makes bounds of its fields wide and which key would narrow them, in layout
// order: shields of unknown depth, and pieces that conduct and end near, where a current alternates.
func (m *Model) Widened() []string {
	var out []string
	l := m.Layout
	alternates := false
	for i := range l.Duties {
		for _, c := range waveform.Of(l, &l.Duties[i]).Components {
			alternates = alternates || c.FreqHz > 0
		}
	}
	for i := range l.Shields {
		s := &l.Shields[i]
		mat := &l.Materials[s.Material]
		conducts := mat.SigmaSPerM.V > 0 && !mat.SheetM.Set
		switch {
		case DepthUnknown(s) && (mat.Magnetic() || conducts):
			out = append(out, fmt.Sprintf("shield %q declares no depth and may have any from %s up: say its `depth`, or `depth: long`", s.ID, si.Format(outerM(s), "m")))
		case alternates && conducts && !m.wallsInSpace() && s.DepthM.Set && endShareOf(s.Region().Box(), s.DepthM.V, s.DepthM.V/2) == 1:
			out = append(out, fmt.Sprintf("shield %q conducts and is %s deep: what it changes with frequency is carried from the plane section and counts whole; a `sheet` that insulates, or a depth of three widths to either side, narrows it",
				s.ID, si.Format(s.DepthM.V, "m")))
		}
	}
	return out
}
