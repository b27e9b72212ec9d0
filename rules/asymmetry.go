package rules

import (
	"fmt"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/waveform"
)

// fullyOffset is the first peak over that of the alternating current which is reckoned with where
// R/X of a short circuit is not known: κ = 1.02 + 0.98·e^(−3R/X) of IEC 60909-0 gives
// 1.8 at R/X = 0.076. Common practice.
const fullyOffset = 1.8

// ifOffset says in a sentence, of the faults whose alternating currents are given without asymmetry, what the
// first peak would take if it were fully asymmetric, where that is more than found: take gives
// the share of one duty. Empty where no fault is given so.
func ifOffset(l *layout.Layout, found bounded.Estimate, take func(d *layout.Duty) (bounded.Estimate, error)) string {
	var unknown []string
	top, worst := found.Value, ""
	for i := range l.Duties {
		d := l.Duties[i]
		if d.Kind != layout.Fault || d.Asymmetry != nil {
			continue
		}
		d.Asymmetry = &layout.Asymmetry{PeakFactor: layout.Num{V: fullyOffset, Set: true}}
		if len(waveform.Of(l, &d).Offsets) == 0 {
			continue // direct current
		}
		share, err := take(&d)
		switch {
		case err != nil || share.Value != share.Value:
			unknown = append(unknown, fmt.Sprintf("%q", d.ID))
		case share.Value > top*(1+1e-9):
			top, worst = share.Value, d.ID
		}
	}
	switch {
	case len(unknown) > 0:
		return fmt.Sprintf("Fault %s counts as symmetrical: what a fully asymmetric first peak (factor %.3g) would take is not known",
			strings.Join(unknown, ", "), fullyOffset)
	case worst != "":
		return fmt.Sprintf("Fault %q counts as symmetrical: a fully asymmetric first peak (factor %.3g) would take %s",
			worst, fullyOffset, si.Percent(top))
	}
	return ""
}
