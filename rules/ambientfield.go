package rules

import (
	"fmt"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// AmbientField reports a sensor whose reading may shift too far in foreign
// fields: the Earth, a declared uniform field, foreign wires, magnets, an
// immunity level.
//
//	Quantity  sum over the sources of the largest |B·u|, divided by own |B·u| per ampere: amperes of the channel
//	Formula   Earth 0.065 mT in the worst direction, or a declared field of any direction that is larger; wires as long
//	          filaments, beside bare bars two of opposite currents that stand close together as one cable; magnets in exact form, from the
//	          sensor's z (0 when not given); all at their worst sign, each at its worst place within the sensor's
//	          placement tolerances, plus what each tolerance of shields and their materials lets in at its worse end. A
//	          pair does not see a uniform field. Iron counts as it stands at rest and as each continuous and peak duty
//	          and the foreign sources themselves fill it, with the slopes of its curve up to the flux density of its
//	          wall: it lets through more where it is full
//	Valid     long bars; undecided where the own field is not known
//	Source    Earth: 25 to 65 µT at the surface (International Geomagnetic Reference Field, from memory); two per cent of
//	          the largest current of the channel in continuous and peak duties is common practice
//	Not seen  iron nearby that gathers a field, foreign currents that the file does not name
var AmbientField = engine.Rule{
	ID:    "ambient-field",
	Title: "foreign fields shift a sensor",
	Level: finding.Error,
	Limits: []engine.Limit{{
		Key: "share", Unit: "1", Default: 0.02, Of: finding.Share{Whole: finding.FullScale},
		Reason: "common practice: two per cent of the channel's full scale",
	}},
	Needs:    []engine.Need{{Key: "ambient", Of: func(n *layout.Need) layout.Num { return n.AmbientA }}},
	Check:    checkAmbientField,
	OfFields: true,
}

func checkAmbientField(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		limit, ok := ambientLimit(run, s)
		if !ok {
			run.NotApplicable(s.ID, s.Span,
				"reads no current in a continuous or peak duty. No need says how much of a foreign field it may read")
			return
		}
		list, total, err := run.Model.Ambient(s)
		if err != nil {
			undecided(run, s, "", err)
			return
		}
		run.Judge(engine.Case{
			Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Span: s.At.Span,
			Found: total, Limit: limit,
			Says: "foreign fields shift the reading up to", Why: append(sources(list), ofFullScale(run, s, total.Value)),
			Related: foreign(run, s),
			Ways: func() remedy.Ways {
				ways := betterPlace(run, i, limit, func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
					_, sum, err := m.Ambient(s)
					return sum, err
				})
				ways.Also = awayFrom(list, limit.Value, total.Value)
				return ways
			},
		})
	})
}

// ambientLimit returns the limit in amperes: the share of the full scale, or
// the layout's need where that is less.
func ambientLimit(run *engine.Run, s *layout.Sensor) (engine.Bound, bool) {
	b := run.Limit("share", s.ID)
	full := run.Model.FullScaleA(s)
	need, ok := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.AmbientA })
	share := b.Value
	b.Value, b.Unit = share*full, "A"
	b.Origin = fmt.Sprintf("%s: %s of %s", b.Origin, si.Percent(share), si.Format(full, "A"))
	if ok && (full == 0 || need.V < b.Value) {
		b.Value, b.Span, b.Origin = need.V, need.Span, `need "ambient" of the layout`
	}
	return b, ok || full > 0
}

func ofFullScale(run *engine.Run, s *layout.Sensor, a float64) string {
	if full := run.Model.FullScaleA(s); full > 0 {
		return fmt.Sprintf("In all %s of full scale", si.Percent(a/full))
	}
	return ""
}

// leastT is a field that nobody measures beside a bus bar: what arithmetic leaves of one across an axis.
const leastT = 1e-12

// sources has a sentence for each source.
func sources(list []probe.Outside) []string {
	var out []string
	for _, o := range list {
		if o.AxisT < leastT {
			out = append(out, engine.Sentence(o.Name)+": nothing")
			continue
		}
		out = append(out, fmt.Sprintf("%s: %s, read as %s%s", engine.Sentence(o.Name), si.Format(o.AxisT, "T"), si.Format(o.Amperes.Value, "A"), asDrawn(&o)))
	}
	return out
}

// asDrawn says what of a foreign field is there without tolerances, where that is another number.
func asDrawn(o *probe.Outside) string {
	const seen, some = 0.995, 5e-4 // shares that a number of three digits shows
	switch share := o.DrawnA.Value / o.Amperes.Value; {
	case share < some:
		return " by tolerances"
	case share < seen:
		return fmt.Sprintf(", %s of it as drawn", si.Percent(share))
	}
	return ""
}

// foreign points at the wires and magnets.
func foreign(run *engine.Run, s *layout.Sensor) []finding.Related {
	var out []finding.Related
	returns := probe.WireReturns(run.Layout)
	for i := range run.Layout.Surroundings.Wires {
		w := &run.Layout.Surroundings.Wires[i]
		d := w.At.Point().Sub(s.At.Point()).Norm()
		falls := "its field falls as one over the distance"
		if k := returns[i]; k >= 0 {
			falls = fmt.Sprintf("far off its field and that of %q together fall as one over the square of the distance",
				run.Layout.Surroundings.Wires[k].ID)
		}
		out = append(out, finding.Related{Span: w.At.Span,
			Message: fmt.Sprintf("wire %q stands %s away; %s", w.ID, si.Format(d, "m"), falls)})
	}
	for i := range run.Layout.Surroundings.Magnets {
		g := &run.Layout.Surroundings.Magnets[i]
		d := g.At.Point().Sub(s.At.Point()).Norm()
		out = append(out, finding.Related{Span: g.At.Span, Message: fmt.Sprintf(
			"magnet %q stands %s away; far off its field falls as one over the cube of the distance", g.ID, si.Format(d, "m"))})
	}
	return out
}

// awayFrom says what the strongest wire or magnet would have to give, when
// moving it alone is enough.
func awayFrom(list []probe.Outside, limitA, totalA float64) string {
	for _, o := range list {
		rest := totalA - o.Amperes.Value
		if (strings.HasPrefix(o.Name, "wire") || strings.HasPrefix(o.Name, "magnet")) && rest < limitA {
			return fmt.Sprintf("take %s away until it makes at most %s", o.Name, si.Format(limitA-rest, "A"))
		}
	}
	return ""
}
