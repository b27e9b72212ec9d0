package channel

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/uncertainty"
)

// Measured is one reading of a sensor beside what the model computes for it, in tesla on its axis. Of an output in volts
// the flux density is (V - zero)/sensitivity, of an alternating one V/sensitivity.
type Measured struct {
	At      int // in Layout.Measurements
	Of      *layout.Measurement
	Reading *layout.SensorReading
	Flow    probe.Flow

	ReadT     float64          // what was read
	ComputedT bounded.Estimate // of the layout as drawn, with the bounds of the field
	ReadUT    float64          // expanded uncertainty of ReadT, k = 2: instrument, and of volts the part
	ModelUT   float64          // expanded uncertainty of ComputedT, k = 2, by all tolerances that are declared
	// Causes are what the two are made of, the largest first: expanded uncertainties, T.
	Causes []Cause
	// Missing are keys of uncertainties that are not known, and not in the two above.
	Missing []string
	// Err says why the reading cannot be compared at all; an *field.Unknown.
	Err error
}

// Cause is one part of an uncertainty.
type Cause struct {
	Name string
	UT   float64
}

// DifferenceT is what was read over what is computed, T.
func (r *Measured) DifferenceT() float64 { return r.ReadT - r.ComputedT.Value }

// BothUT is the expanded uncertainty of DifferenceT by all that is known, T.
func (r *Measured) BothUT() float64 { return portable.Hypot(r.ReadUT, r.ModelUT) }

// Agreement is how far reading and model lie apart, over what both uncertainties leave, a pure number:
//
//	En = |read - computed| / √(U_read² + U_computed²)
//
// both expanded with k = 2; at most 1 where they agree. The bounds of the field are those of the number, no part of the
// uncertainty: a coarse field makes no reading agree. Where an uncertainty is missing the lower bound is 0, since
// another term only makes the number smaller. Infinite where nothing is uncertain and the two differ.
//
// Source: ISO/IEC 17043:2010, annex B, the E_n number (from memory); JCGM 100:2008, 5.1.2, for the root of the squares.
func (r *Measured) Agreement() bounded.Estimate {
	d, u := math.Abs(r.DifferenceT()), r.BothUT()
	bound := math.Max(r.ComputedT.High-r.ComputedT.Value, r.ComputedT.Value-r.ComputedT.Low)
	over := func(x float64) float64 {
		if x == 0 {
			return 0
		}
		return x / u
	}
	out := bounded.Estimate{Value: over(d), Low: over(math.Max(0, d-bound)), High: over(d + bound)}
	if len(r.Missing) > 0 && !math.IsNaN(out.Low) {
		out.Low = 0
	}
	return out
}

// MeasuredOf returns every reading of s that the layout of m holds, in the order of the file. The error is that of the
// field; what is wrong with one reading alone stands in its Err.
func MeasuredOf(m *probe.Model, s *layout.Sensor) ([]Measured, error) {
	var out []Measured
	for i := range m.Layout.Measurements {
		b := &m.Layout.Measurements[i]
		for k := range b.Readings {
			r := &b.Readings[k]
			if r.Sensor == layout.None || m.Layout.Sensors[r.Sensor].ID != s.ID {
				continue
			}
			one := Measured{At: i, Of: b, Reading: r}
			if err := one.compare(m, s); err != nil {
				return nil, err
			}
			out = append(out, one)
		}
	}
	return out, nil
}

func (r *Measured) compare(m *probe.Model, s *layout.Sensor) error {
	if r.Flow, r.Err = m.FlowIn(s, r.At); r.Err != nil {
		return nil
	}
	var err error
	if r.ComputedT, err = m.ReadT(s, &r.Flow); err != nil {
		return err
	}
	doubts, err := m.Doubts(s, &r.Flow)
	if err != nil {
		return err
	}
	r.read(m.Layout, s)
	model := uncertainty.Budget{Name: "computed", Unit: "T"}
	for _, d := range doubts {
		model.Lines = append(model.Lines, tolerated(d.Name, d.HalfT))
	}
	r.ModelUT = r.expanded(model)
	r.Missing = append(r.Missing, placementKeys(m.Layout, s)...)
	return nil
}

// tolerated is a line of an input that lies anywhere within ±halfT (JCGM 100:2008, 4.3.7).
func tolerated(name string, halfT float64) uncertainty.Line {
	return uncertainty.Line{Name: name, Unit: "T", Sensitivity: 1, Spread: uncertainty.Within(halfT)}
}

// expanded returns the expanded uncertainty of a budget, k = 2, and keeps what it is made of.
func (r *Measured) expanded(b uncertainty.Budget) float64 {
	if len(b.Lines) == 0 {
		return 0
	}
	out := b.Evaluate()
	for _, c := range out.Contributors {
		one := Cause{c.Name, out.CoverageFactor * c.StandardUncertainty}
		at := 0
		for at < len(r.Causes) && r.Causes[at].UT >= one.UT {
			at++
		}
		r.Causes = append(r.Causes[:at], append([]Cause{one}, r.Causes[at:]...)...)
	}
	return out.Expanded
}

// read fills what was read and its uncertainty. That of the instrument is an expanded one, as certificates state
// it (JCGM 100:2008, 7.2.3).
func (r *Measured) read(l *layout.Layout, s *layout.Sensor) {
	steady := r.Flow.Part.FreqHz == 0
	b := uncertainty.Budget{Name: "read", Unit: "T"}
	volts := r.Reading.OutputV.Set
	r.ReadT = r.Reading.FluxDensityT.V
	if volts {
		r.fromVolts(l, s, steady, &b)
	}
	if !steady {
		r.ReadT = math.Abs(r.ReadT)
	}
	if u := r.Of.Uncertainty; u.Set {
		whole := r.ReadT
		if p := l.PartOf(s); volts && p != nil { // a share of the volts that were read
			whole = r.Reading.OutputV.V / p.SensitivityVPerT.V
		}
		b.Lines = append(b.Lines, uncertainty.Line{Name: "instrument", Unit: "T", Sensitivity: 1,
			Spread: uncertainty.WithinSigmas(math.Abs(u.V*whole), 2)})
	} else {
		r.Missing = append(r.Missing, fmt.Sprintf("uncertainty to measurement %d", r.At+1))
	}
	r.ReadUT = r.expanded(b)
}

// fromVolts takes volts at the output to a flux density by the data of the part at the temperature that they are told
// for, and adds what is uncertain in them.
func (r *Measured) fromVolts(l *layout.Layout, s *layout.Sensor, steady bool, b *uncertainty.Budget) {
	v := r.Reading.OutputV.V
	p := l.PartOf(s)
	if p == nil {
		r.ReadT = math.NaN()
		r.Err = open("sensors." + s.ID + ".part")
		return
	}
	key := "parts." + p.ID + "."
	perT := math.Abs(p.SensitivityVPerT.V)
	line := func(n layout.Num, tail, name string, halfT float64) {
		if !n.Set {
			r.Missing = append(r.Missing, key+tail)
			return
		}
		b.Lines = append(b.Lines, tolerated(name, math.Abs(halfT)))
	}
	switch {
	case !p.SensitivityVPerT.Set:
		r.Err = open(key + "sensitivity.set")
	case steady && !p.ZeroV.Set:
		r.Err = open(key + "output.zero")
	}
	if r.Err != nil {
		r.ReadT = math.NaN()
		return
	}
	r.ReadT = v / p.SensitivityVPerT.V
	if steady {
		r.ReadT = (v - p.ZeroV.V) / p.SensitivityVPerT.V
		line(p.OffsetV, "offset.initial", "offset of the part", p.OffsetV.V/perT)
		if p.HysteresisT.Set {
			line(p.HysteresisT, "", "hysteresis of the part", p.HysteresisT.V)
		}
	}
	line(p.SensitivityTol, "sensitivity.tolerance", "sensitivity of the part", p.SensitivityTol.V*r.ReadT)
	if p.NonLinearity.Set {
		line(p.NonLinearity, "", "non-linearity of the part", p.NonLinearity.V*(p.LinearHighT.V-p.LinearLowT.V))
	}
	if p.Ratiometric {
		line(p.SupplyTol, "output.supply-tolerance", "supply of the part", p.SupplyTol.V*v/perT)
	}
}

func open(key string) error {
	return &field.Unknown{Reason: "volts at the output say nothing of the field without the data of the part. Add " + key}
}

// placementKeys are tolerances of the place of s that the layout does not declare.
func placementKeys(l *layout.Layout, s *layout.Sensor) []string {
	p := s.Placement
	if p == nil {
		return []string{"sensors." + s.ID + ".placement"}
	}
	var out []string
	for _, one := range []struct {
		n    layout.Num
		name string
	}{{p.XM, "x"}, {p.YM, "y"}, {p.TiltRad, "tilt"}} {
		if !one.n.Set {
			out = append(out, "sensors."+s.ID+".placement."+one.name)
		}
	}
	return out
}
