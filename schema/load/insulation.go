package load

import (
	"math"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// What is assumed of an insulation that the file leaves open. Pollution degree 2
// and 2000 m are the ordinary case of IEC 60664-1 (common practice); group IIIa
// is the one to take for a material that nobody has tested.
const (
	usualKind      = "basic"
	usualPollution = 2
	usualGroup     = "IIIa"
	usualAltitudeM = 2000
)

// insulation reads the distances that must insulate.
func (r *reader) insulation(s *spot) {
	items, _ := s.items()
	for i, item := range items {
		item.called("insulation %d", i+1)
		r.out.Insulation = append(r.out.Insulation, r.distance(item))
	}
}

func (r *reader) distance(s *spot) layout.Insulation {
	out := layout.Insulation{Span: s.edit}
	if !s.mapping() {
		return out
	}
	if m := s.n.Members; len(m) > 0 {
		// The first key of the item is the token to edit; the item itself may
		// run over many lines.
		out.Span = m[0].KeySpan
		s.edit = m[0].KeySpan
	}
	objectsBetween(s, &out)
	kind := s.at("kind")
	if out.Kind, out.KindSet = kind.word("functional", "basic", "supplementary", "reinforced"); !out.KindSet {
		out.Kind = usualKind
	}
	out.WorkingV, out.WorkingIsDC = voltage(s.at("working"))
	out.SupplyV, out.SupplyIsDC = voltage(s.at("supply"))
	out.Category = s.at("category").whole(between(1, 4))
	out.TemporaryV = peakVoltage(s.at("temporary"), "rms", "peak")
	out.RecurringV = peakVoltage(s.at("recurring"), "peak")
	out.ImpulseV = s.at("impulse").quantity(si.Voltage, positive())
	out.PollutionDegree = or(s.at("pollution-degree").whole(between(1, 3)), usualPollution)
	group := s.at("material-group")
	out.GroupSpan = group.where()
	if out.Group, out.GroupSet = group.word("I", "II", "IIIa", "IIIb"); !out.GroupSet {
		out.Group = usualGroup
	}
	out.AltitudeM = or(s.at("altitude").quantity(si.Length, altitude()), usualAltitudeM)
	out.ClearanceM = s.at("clearance").quantity(si.Length, size())
	out.CreepageM = s.at("creepage").quantity(si.Length, size())
	out.PrintedBoard, _ = s.at("printed-board").flag()
	r.usual(s, &out)
	return out
}

// altitude runs from the shore of the Dead Sea to where the correction factors
// of IEC 60664-1, table A.2, end.
func altitude() bounds {
	return bounds{kind: fromLoToHi, lo: -500, hi: 20000, unit: "m", why: "IEC 60664-1 corrects up to 20 km"}
}

// objectsBetween reads the two objects.
func objectsBetween(s *spot, out *layout.Insulation) {
	b := s.at("between").need()
	items, ok := b.items()
	if !ok {
		return
	}
	if len(items) != 2 {
		b.problem(ruleForm, "%s must be two names [a, b], not a list of %d", b.label(), len(items))
	}
	for i, item := range items {
		item.reference(aBar, aShield, aSensor)
		if i < 2 && item.n.Kind == node.Text {
			out.Between[i], out.BetweenSpan[i] = item.n.Text, item.n.Span
		}
	}
	if len(items) == 2 && out.Between[0] != "" && out.Between[0] == out.Between[1] {
		f := items[1].problem(ruleForm, "%s names %s twice. Insulation lies between two objects", b.label(), quote(out.Between[1]))
		f.Related = []finding.Related{{Span: out.BetweenSpan[0], Message: "first " + quote(out.Between[0])}}
	}
}

// voltage reads {rms} or {dc}.
func voltage(s *spot) (v layout.Num, direct bool) {
	if !s.mapping() {
		return s.none(), false
	}
	s.exactlyOne("rms", "dc")
	rms := s.at("rms").quantity(si.Voltage, positive())
	dc := s.at("dc").quantity(si.Voltage, positive())
	if dc.Set {
		return dc, true
	}
	return rms, false
}

// peakVoltage reads a voltage that is said by exactly one of keys, rms (of a sine) or
// peak, as its peak.
func peakVoltage(s *spot, keys ...string) layout.Num {
	if !s.mapping() {
		return s.none()
	}
	s.exactlyOne(keys...)
	out := s.none()
	for _, k := range keys {
		v := s.at(k).quantity(si.Voltage, positive())
		if !v.Set {
			continue
		}
		if k == "rms" {
			v.V *= math.Sqrt2
		}
		out = v
	}
	return out
}

// usual lists what is assumed.
func (r *reader) usual(s *spot, out *layout.Insulation) {
	pair := quote(out.Between[0]) + " and " + quote(out.Between[1])
	list := func(key, text string) {
		if !s.at(key).present() {
			r.assume(out.Span, out.Between[0], "insulation between %s: %s", pair, text)
		}
	}
	list("kind", "kind "+usualKind)
	list("pollution-degree", "pollution degree 2")
	list("material-group", "material group "+usualGroup)
	list("altitude", "altitude up to 2000 m")
}
