package load

import (
	"fmt"
	"math"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// mostCuts keeps what looks at every two cuts, and the flow round them, within reason.
const mostCuts = 100

// cuts reads the cuts in the plan of b. Its section, length and run must be read
// before.
func cuts(s *spot, b *layout.Bar) []layout.Cut {
	items, ok := s.items()
	if !ok {
		return nil
	}
	if len(items) > mostCuts {
		s.problem(ruleForm, "%s has %d cuts: %d at most", s.label(), len(items), mostCuts)
		return nil
	}
	if len(items) > 0 && (b.Section.Kind == layout.Round || b.Section.Kind == layout.Outline) {
		s.problemAt(s.edit, ruleForm, "%s need a section of width and thickness. The plan that they are cut into is that of a flat bar", s.label())
	}
	out := make([]layout.Cut, len(items))
	kinds := make([]*spot, len(items)) // nil: broken
	for i, item := range items {
		item.called("cut %d of %s", i+1, s.up.label())
		out[i], kinds[i] = cut(item, i+1)
	}
	if b.Section.Kind == layout.Rectangle && known(&b.Section) {
		checkCuts(kinds, out, b)
	}
	return out
}

// cut reads one cut and returns it with the spot of what it is; nil where that is
// not known or a number is missing or broken.
func cut(s *spot, number int) (layout.Cut, *spot) {
	out := layout.Cut{
		AlongM: s.unset(0), AcrossM: s.unset(0), LengthM: s.none(), WidthM: s.none(), DepthM: s.none(), DiameterM: s.none(),
		Span: s.where(),
	}
	if !s.mapping() {
		return out, nil
	}
	var kind *spot
	whole := false
	for _, k := range []struct {
		word string
		kind layout.CutKind
	}{{"neck", layout.Neck}, {"notch", layout.Notch}, {"hole", layout.Hole}, {"slot", layout.Slot}} {
		c := s.at(k.word)
		c.called("%s (cut %d) of %s", k.word, number, s.up.up.label())
		if c.mapping() {
			kind, out.Kind = c, k.kind
			whole = cutNumbers(c, &out)
		}
	}
	if _, one := s.exactlyOne("neck", "notch", "hole", "slot"); !one || !whole {
		return out, nil
	}
	return out, kind
}

// cutNumbers reads the numbers of a cut of a known kind and reports whether all
// are there.
func cutNumbers(c *spot, out *layout.Cut) bool {
	whole := true
	need := func(key string) layout.Num {
		n := c.at(key).need().quantity(si.Length, size())
		whole = whole && n.Set
		return n
	}
	may := func(key string) layout.Num {
		n := c.at(key).quantity(si.Length, coordinate())
		whole = whole && (n.Set || !c.at(key).present())
		return or(n, 0)
	}
	out.AlongM = may("along")
	switch out.Kind {
	case layout.Neck:
		out.LengthM, out.WidthM = need("length"), need("width")
	case layout.Notch:
		out.LengthM, out.DepthM = need("length"), need("depth")
		side, ok := c.at("side").need().word("left", "right")
		whole = whole && ok
		out.Side = 1
		if side == "left" {
			out.Side = -1
		}
	case layout.Hole:
		out.AcrossM = may("across")
		out.DiameterM = need("diameter")
	case layout.Slot:
		out.AcrossM = may("across")
		out.WidthM, out.LengthM = need("width"), need("length")
	}
	return whole
}

// checkCuts holds the cuts of b against its edges, its ends and each other. Cuts
// without a spot are reported already.
func checkCuts(kinds []*spot, cuts []layout.Cut, b *layout.Bar) {
	low, high, err := b.FullZ()
	if err != nil { // a run that is reported already
		low, high = math.Inf(-1), math.Inf(1)
	}
	bent := len(b.Run) > 2
	for i, c := range kinds {
		if c == nil || beyondEdge(c, &cuts[i], b.Section.WidthM.V) || beyondEnd(c, &cuts[i], low, high, bent) {
			kinds[i] = nil
			continue
		}
		for j := range i {
			if kinds[j] != nil && cuts[i].GapM(&cuts[j], b.Section.WidthM.V) <= layout.OffPlaceM {
				f := c.problem(ruleRange, "%s overlaps or touches the %s. Move one of the two, or make one cut of them",
					c.label(), cutWord(kinds[j], j+1))
				f.Related = []finding.Related{{Span: kinds[j].n.Span, Message: "the other cut"}}
				break
			}
		}
	}
}

func cutWord(c *spot, number int) string { return fmt.Sprintf("%s (cut %d)", c.key, number) }

// beyondEdge reports a cut that leaves nothing of the width, and a hole or slot
// that is not inside it.
func beyondEdge(c *spot, k *layout.Cut, widthM float64) bool {
	less := func(key string, n layout.Num, why string) bool {
		if n.V < widthM-layout.OffPlaceM {
			return false
		}
		v := c.at(key)
		v.problem(ruleRange, "%s is %s: it must be less than the width of the bar, %s%s", v.label(), clip(v.n.Text), si.Format(widthM, "m"), why)
		return true
	}
	half := 0.0
	switch k.Kind {
	case layout.Neck:
		return less("width", k.WidthM, ". It is what is left in the middle")
	case layout.Notch:
		return less("depth", k.DepthM, "")
	case layout.Hole:
		half = k.DiameterM.V / 2
	case layout.Slot:
		if k.WidthM.V > k.LengthM.V {
			v := c.at("width")
			v.problem(ruleRange, "%s is %s: it must not be more than its length, %s. A slot runs along the bar",
				v.label(), clip(v.n.Text), clip(c.at("length").n.Text))
			return true
		}
		half = k.WidthM.V / 2
	}
	over := math.Abs(k.AcrossM.V) + half - widthM/2
	if over < -layout.OffPlaceM {
		return false
	}
	side, at := "right", c
	if k.AcrossM.V < 0 {
		side = "left"
	}
	if a := c.at("across"); a.present() {
		at = a
	}
	what := "reaches the " + side + " edge of the bar"
	if over > layout.OffPlaceM {
		what = fmt.Sprintf("reaches %s beyond the %s edge of the bar", si.Format(over, "m"), side)
	}
	at.problem(ruleRange, "%s %s. Move it in or make it smaller, or cut a notch", c.label(), what)
	return true
}

// beyondEnd reports a cut that is not wholly within the straight piece that passes
// the section, from low to high along z, in metres.
func beyondEnd(c *spot, k *layout.Cut, low, high float64, bent bool) bool {
	from, to := k.Reach()
	over, end := low-from, low
	if to-high > over {
		over, end = to-high, high
	}
	if over < -layout.OffPlaceM {
		return false
	}
	at := c
	if a := c.at("along"); a.present() {
		at = a
	}
	by, thing, todo := "reaches", "the end of the bar at", "Move it in or make it smaller"
	if over > layout.OffPlaceM {
		by = fmt.Sprintf("reaches %s beyond", si.Format(over, "m"))
	}
	if bent {
		thing, todo = "its straight piece, full to", "A cut belongs on that piece"
	}
	at.problem(ruleRange, "%s %s %s z = %s. %s", c.label(), by, thing, length(end), todo)
	return true
}
