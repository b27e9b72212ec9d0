package load

import (
	"time"

	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema/node"
)

// measurements reads what sensors read on a bench. Sensors and duties must be read before.
func (r *reader) measurements(section *spot) {
	items, ok := section.items()
	if !ok {
		return
	}
	for i, s := range items {
		s.called("measurement %d", i+1)
		r.out.Measurements = append(r.out.Measurements, r.measurement(s))
	}
	if len(items) > 0 {
		r.assume(section.edit, "", "measurements are read, and not compared with the model")
	}
}

func (r *reader) measurement(s *spot) layout.Measurement {
	out := layout.Measurement{Span: s.edit, Duty: layout.None, CurrentA: s.none(), FreqHz: s.none(),
		Uncertainty: s.none()}
	if !s.mapping() {
		return out
	}
	date := s.at("date").need()
	out.DateSpan = date.where()
	if text, ok := date.text(); ok {
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			date.problem(ruleForm, "%s must be a day such as 2026-05-04, not %s", date.label(), date.kind())
		}
		out.Date = text
	}
	out.Instrument, _ = s.at("instrument").text()
	s.exactlyOne("duty", "current")
	duty := s.at("duty")
	out.DutySpan = duty.where()
	if _, i, ok := duty.reference(aDuty); ok {
		out.Duty = i
	}
	out.CurrentA = s.at("current").quantity(si.Current, nonZero())
	frequency := s.at("frequency")
	out.FreqHz = frequency.quantity(si.Frequency, alternating())
	if !frequency.present() {
		out.FreqHz.V = 0
	} else if duty.present() {
		s.problemAt(frequency.edit, ruleForm, "%s belongs to a current. A duty has its own", frequency.label())
	}
	readings := s.at("readings").need()
	for _, m := range readings.members() {
		m.called("reading of sensor %s in %s", quote(m.key), s.label())
		out.Readings = append(out.Readings, reading(s, m))
	}
	if readings.present() && readings.n.Kind == node.Map && len(readings.n.Members) == 0 {
		readings.problem(ruleForm, "%s is empty. A measurement needs a reading", readings.label())
	}
	out.Uncertainty = s.at("uncertainty").share(tolerance())
	return out
}

func reading(s, m *spot) layout.SensorReading {
	out := layout.SensorReading{Sensor: layout.None, FluxDensityT: m.none(), OutputV: m.none(), Span: m.edit}
	if _, i, ok := m.keyName().called("a reading of %s", s.label()).reference(aSensor); ok {
		out.Sensor = layout.SensorIndex(i)
	}
	if m.n.Kind == node.Text {
		if v, err := si.Parse(m.n.Text, si.Voltage); err == nil {
			out.OutputV = m.within(v, bounds{})
			return out
		}
	}
	out.FluxDensityT = m.quantity(si.FluxDensity, bounds{})
	return out
}
