package rules

import (
	"busgauss/model/layout"
	"busgauss/rules/engine"
)

// eachIron calls do for every shield of iron in layout order; of the others it
// says that what is asked does not apply.
func eachIron(run *engine.Run, what string, do func(layout.ShieldIndex, *layout.Shield, *layout.Material)) {
	for i := range run.Layout.Shields {
		s := &run.Layout.Shields[i]
		m := &run.Layout.Materials[s.Material]
		if !m.Magnetic() {
			run.NotApplicable(s.ID, s.Span, "this shield is not magnetic and %s", what)
			continue
		}
		do(layout.ShieldIndex(i), s, m)
	}
	for _, b := range ironBars(run.Layout) {
		run.Undecided(b.ID, b.MetalSpan, "", "this bar is of iron, which is computed with one permeability alone. Where it carries no current draw it as a shield")
	}
}

// leastIron is the relative permeability from which on a bar is iron and not a steel that hardly is: common practice.
const leastIron = 2

// ironBars returns the bars that are of iron.
func ironBars(l *layout.Layout) []*layout.Bar {
	var out []*layout.Bar
	for i := range l.Bars {
		if b := &l.Bars[i]; !(b.MuRel < leastIron) {
			out = append(out, b)
		}
	}
	return out
}

// wallSpan is where the size of the wall of a shield stands in the file.
func wallSpan(s *layout.Shield) layout.Num {
	switch f := &s.Form; f.Kind {
	case layout.Channel, layout.Ring:
		return f.WallM
	case layout.Plate:
		return f.ThicknessM
	default:
		return layout.Num{Span: f.Span}
	}
}
