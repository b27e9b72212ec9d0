package rules

import (
	"fmt"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// judgeSmallest holds what zeroing swallows against the smallest current that the layout asks the channel to tell
// from none: shift is what the window hides of it beyond itself, and known the part of that which is sure. Without the whole
// only a sure failure is said; the rule then says by itself what is missing.
func judgeSmallest(run *engine.Run, s *layout.Sensor, z *channel.Zeroing, shift, known bounded.Estimate, whole bool) {
	smallest, asked := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.SmallestCurrentA })
	if !asked {
		return
	}
	window := bounded.Exact(z.WindowA)
	says, least, swallowed := "zeroing takes up to", "", shift.Plus(window)
	if !whole || !finite(swallowed.Low) || !finite(swallowed.High) {
		says, least, swallowed = "zeroing takes at least", " at least", known.Plus(window)
		if engine.Decide(swallowed, smallest.V, false) != finding.Fail {
			return
		}
	}
	at := run.Layout.ReadoutOf(s).Zeroing.WindowA.Span
	run.Judge(engine.Case{
		Object: s.ID, Cause: "smallest", Span: at, Found: swallowed,
		Limit: engine.Bound{Value: smallest.V, Unit: "A", Origin: `need "smallest-current" of the layout`, Span: smallest.Span},
		Says:  says, Rest: "for none",
		Why: []string{fmt.Sprintf("It is to tell %s from none", si.Format(smallest.V, "A")), fmt.Sprintf("The window is ±%s", si.Format(z.WindowA, "A"))},
		Ways: func() remedy.Ways {
			if w := neat(smallest.V-shift.High, false); w > 0 && w >= leastWindow(z, shift.High) {
				return waysOut(run, "", way{fmt.Sprintf("a window of %s instead of %s", si.Format(w, "A"), si.Format(z.WindowA, "A")), windowAs(s, w)})
			}
			return remedy.Words(fmt.Sprintf("no window is both wide enough for the offset and narrow enough for %s: calibrate the zero of %s once and check it against a window around that, or ask for a smallest current of %s%s",
				si.Format(smallest.V, "A"), s.ID, si.Format(neat(swallowed.High, true), "A"), least))
		},
	})
}
