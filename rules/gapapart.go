package rules

import (
	"fmt"
	"math"
	"slices"

	"busgauss/model/layout"
	"busgauss/model/word"
	"busgauss/rules/engine"
)

// airGap is the way through air between the two of an insulation. Sure counts only what insulation entries hold apart as
// apart; Likely leaves out all bars with a potential of their own: nobody said what holds those.
type airGap struct{ Likely, Sure layout.Gap }

// gapOf returns the gap of in; needM is the distance that an entry needs, m.
func gapOf(run *engine.Run, in *layout.Insulation, needM func(*layout.Insulation) (float64, error)) (out airGap, err error) {
	live, held := run.Layout.Live(), heldApart(run, in, needM)
	a, b := in.Between[0], in.Between[1]
	out.Likely, err = run.Layout.GapBetween(a, b, func(name string) bool { return live[name] || held(name) })
	if err == nil {
		out.Sure, err = run.Layout.GapBetween(a, b, held)
	}
	return out, err
}

// unheld says which entries would hold apart what only the sure way passes.
func (g *airGap) unheld(in *layout.Insulation) string {
	var pairs []string
	for _, x := range g.Sure.Over {
		if !slices.Contains(g.Likely.Over, x) {
			pairs = append(pairs, fmt.Sprintf("between %q and %q", in.Between[0], x), fmt.Sprintf("between %q and %q", x, in.Between[1]))
		}
	}
	return "say what insulation is " + word.And(pairs) + ", which together must need as much"
}

// neededTo is the distance that an insulation entry needs to what is called to.
type neededTo struct {
	to        string
	distanceM float64
}

// heldApart returns for the two of in whether insulation holds a third object apart from both: entries name it with each,
// and what they need adds up to at least what in needs.
func heldApart(run *engine.Run, in *layout.Insulation, needM func(*layout.Insulation) (float64, error)) func(name string) bool {
	l := run.Layout
	of := func(a string) (list []neededTo) {
		for i := range l.Insulation {
			k := &l.Insulation[i]
			for _, ends := range [2][2]string{k.Between, {k.Between[1], k.Between[0]}} {
				if !l.OnePotential(ends[0], a) {
					continue
				}
				if m, err := needM(k); err == nil {
					list = append(list, neededTo{ends[1], m})
				}
			}
		}
		return list
	}
	left, right := of(in.Between[0]), of(in.Between[1])
	most := func(list []neededTo, name string) float64 {
		top := 0.0
		for _, n := range list {
			if l.OnePotential(n.to, name) {
				top = math.Max(top, n.distanceM)
			}
		}
		return top
	}
	want, err := needM(in)
	return func(name string) bool {
		a, b := most(left, name), most(right, name)
		return err == nil && a > 0 && b > 0 && a+b >= want
	}
}
