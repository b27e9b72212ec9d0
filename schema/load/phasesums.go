package load

import (
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
)

// phaseSums reads the sums of three channels.
func (r *reader) phaseSums(section *spot) {
	items, ok := section.items()
	if !ok {
		return
	}
	for i, s := range items {
		s.called("phase-sum %d", i+1)
		r.out.PhaseSums = append(r.out.PhaseSums, r.phaseSum(s))
	}
}

func (r *reader) phaseSum(s *spot) layout.PhaseSum {
	out := layout.PhaseSum{Span: s.edit, DerivedBar: layout.None}
	out.Channels = [3]layout.SensorIndex{layout.None, layout.None, layout.None}
	if !s.mapping() {
		return out
	}
	measured := s.at("measured")
	out.Measured = layout.Choice[int]{V: 3, Span: measured.where()}
	if w, ok := measured.word("three", "two"); ok {
		out.Measured.Set = true
		if w == "two" {
			out.Measured.V = 2
		}
	}
	channels := s.at("channels").need()
	if items, ok := channels.items(); ok {
		if len(items) != 3 {
			channels.problem(ruleForm, "%s must be three sensors [a, b, c], not a list of %d", channels.label(), len(items))
		} else {
			sumChannels(items, &out)
		}
	}
	if channels.present() && !measured.present() {
		r.assume(s.edit, "", "all three channels of %s are measured", s.label())
	}
	out.ThresholdA = s.at("threshold").quantity(si.Current, positive())
	out.Ripple = s.at("ripple").share(budget())
	return out
}

// sumChannels reads the three names and reports one that stands twice. A phase that
// is not measured has no sensor of its own, and its bar will do.
func sumChannels(items []*spot, out *layout.PhaseSum) {
	for i, item := range items {
		kinds := []namedKind{aSensor}
		if i == 2 && out.Measured.V == 2 {
			kinds = append(kinds, aBar)
			if len(item.r.names.index[aCircuit]) > 0 {
				kinds = append(kinds, aCircuit)
			}
		}
		kind, index, ok := item.reference(kinds...)
		switch {
		case !ok:
			continue
		case kind == aBar:
			out.DerivedBar = layout.BarIndex(index)
			continue
		case kind == aCircuit:
			out.DerivedBar = item.r.out.FirstBar(item.r.circuitAt[index])
			continue
		}
		out.Channels[i] = layout.SensorIndex(index)
		for j := range i {
			if out.Channels[j] == out.Channels[i] {
				f := item.problem(ruleForm, "%s is sensor %s again. Each channel stands once", item.label(), item.quoted())
				f.Related = []finding.Related{{Span: items[j].n.Span, Message: "first " + item.quoted()}}
				break
			}
		}
	}
}
