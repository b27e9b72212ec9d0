package rules

import (
	"slices"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/waveform"
	"busgauss/rules/engine"
)

// sumsIn returns the errors of a sum for every balanced set of every continuous and peak duty.
func sumsIn(run *engine.Run, sum *layout.PhaseSum) ([]*summed, error) {
	var out []*summed
	for i := range run.Layout.Duties {
		d := &run.Layout.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		sets, err := setsOf(run, sum, d, nil)
		if err != nil {
			return nil, err
		}
		out = append(out, sets...)
	}
	return out, nil
}

// setsOf returns the errors of a sum for every balanced set of duty d, with each other, after the kind given, or the declared one.
func setsOf(run *engine.Run, sum *layout.PhaseSum, d *layout.Duty, after *channel.After) ([]*summed, error) {
	var sets []*summed
	for _, trio := range channel.TriosOf(run.Layout, sum, d) {
		s, err := sumIn(run.Model, trio, d, after)
		if err != nil {
			return nil, err
		}
		sets = append(sets, s)
	}
	addTogether(sets)
	return sets, nil
}

// addTogether adds to the false sum of each set of a duty those of the others, which flow at the same time at any phase.
func addTogether(sets []*summed) {
	moving := 0.0
	for _, s := range sets {
		moving += s.falseA - s.steadyA
	}
	for _, s := range sets {
		s.falseA = s.steadyA + moving
	}
}

// noSet returns the first continuous or peak duty in which circuits of a sum carry alternating currents that are none of all
// sets; nil where there is none.
func noSet(l *layout.Layout, sum *layout.PhaseSum, all []*summed) *layout.Duty {
	var circuits []layout.CircuitIndex
	for _, k := range sum.Channels {
		if k != layout.None {
			circuits = append(circuits, l.Sensors[k].Circuit)
		}
	}
	if sum.DerivedBar != layout.None {
		if k, _ := l.CircuitOf(sum.DerivedBar); k != layout.None {
			circuits = append(circuits, k)
		}
	}
	for i := range l.Duties {
		d := &l.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		for _, c := range waveform.Of(l, d).Components {
			if !c.Fundamental() || slices.ContainsFunc(all, func(s *summed) bool { return s.duty == d && s.trio.Is(&c) }) {
				continue
			}
			if slices.ContainsFunc(circuits, func(k layout.CircuitIndex) bool { return c.PeakA[k] != 0 }) {
				return d
			}
		}
	}
	return nil
}
