package rules

import (
	"fmt"

	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Conductivity of metals at 20 °C, S/m: see the rule.
const (
	leastMetal = 0.5e6
	mostMetal  = 63e6
	// insulator is above ferrite, the best conductor of the magnetic materials that are
	// no metal: some 10 S/m (common practice).
	insulator = 20.0
	// ferriteT is the most that ferrite is magnetised to, at 20 °C: 0.55 T (common practice).
	ferriteT = 0.6
)

// oddConductivities reports materials that conduct like no metal where one is meant: all
// above silver, and below the worst alloy what is a bar, a sheet, or a shield that is not
// magnetic or holds more flux than ferrite. Powder of iron holds as much and conducts
// little; only what would be a metal with the prefix M in place of m or none is odd there.
func oddConductivities(run *engine.Run) int {
	l := run.Layout
	odd := 0
	for i := range l.Materials {
		m := &l.Materials[i]
		s := m.SigmaSPerM.V
		if !m.SigmaSPerM.Set || s == 0 || s >= leastMetal && s <= mostMetal*(1+1e-3) {
			continue
		}
		metal := m.SheetM.Set || !m.Magnetic() && !powder(s)
		for b := range l.Bars {
			metal = metal || l.Bars[b].Material == layout.MaterialIndex(i)
		}
		if m.Magnetic() && m.SaturationT.Set && m.SaturationT.V > ferriteT {
			_, slip := otherMetal(s)
			metal = metal || slip && (s < 1 || s > mostMetal)
		}
		if !metal && s <= mostMetal {
			continue
		}
		odd++
		remedy := "say the conductivity of the metal at 20 °C"
		if w, ok := otherMetal(s); ok {
			remedy = fmt.Sprintf("%s would make sense, if the prefix slipped", si.Format(w, "S/m"))
		}
		run.Fail(m.ID, m.SigmaSPerM.Span, nil, remedy, "conducts %s, which no metal does. Metals conduct from %s to %s",
			si.Format(s, "S/m"), si.Format(leastMetal, "S/m"), si.Format(mostMetal, "S/m"))
	}
	return odd
}

// powder reports whether a conductivity is one of graphite or filled plastic.
func powder(sigmaSPerM float64) bool { return sigmaSPerM > insulator && sigmaSPerM < leastMetal }

// otherMetal is otherPrefix among metals, mS/m for MS/m first.
func otherMetal(sigmaSPerM float64) (float64, bool) {
	for _, k := range []float64{1e9, 1e6, 1e3, 1e-3, 1e-6} {
		if w := sigmaSPerM * k; w >= leastMetal && w <= mostMetal {
			return w, true
		}
	}
	return 0, false
}
