package cli

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/finding"
	"busgauss/model/geom"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
)

// fieldForeign is what one wire or magnet of the surroundings does at the sensors and points, a wire that
// alternates at its peak, with iron at rest.
type fieldForeign struct {
	Kind        string        `json:"kind"` // wire or magnet
	Source      string        `json:"source"`
	FrequencyHz float64       `json:"frequency_hz"`
	Sensors     []fieldSensor `json:"sensors"`
	Points      []fieldPoint  `json:"points,omitempty"`
	Open        []fieldOpen   `json:"left_out,omitempty"`
}

func foreignOf(m *probe.Model, points []geom.Point3) []fieldForeign {
	var out []fieldForeign
	around := &m.Layout.Surroundings
	for i := range around.Wires {
		w := &around.Wires[i]
		peakA := complex(w.Amount.PeakValueA(), 0)
		out = append(out, foreignBy(m, fieldForeign{Kind: "wire", Source: w.ID, FrequencyHz: rounded(w.FreqHz.V)},
			points,
			func(q geom.Point3) (field.Vec, error) {
				v, err := m.WireField(w, q)
				return v.Scale(peakA), err
			}))
	}
	for i := range around.Magnets {
		g := &around.Magnets[i]
		out = append(out, foreignBy(m, fieldForeign{Kind: "magnet", Source: g.ID}, points,
			func(q geom.Point3) (field.Vec, error) { return m.MagnetField(g, q) }))
	}
	return out
}

func foreignBy(m *probe.Model, out fieldForeign, points []geom.Point3,
	of func(geom.Point3) (field.Vec, error)) fieldForeign {
	out.Sensors = []fieldSensor{}
	at := func(q geom.Point3) (field.Vec, error) {
		v, err := of(q)
		if n := v.Norm(); err == nil && (math.IsNaN(n) || math.IsInf(n, 0)) {
			err = fmt.Errorf("it stands on the %s, whose field has no bound there", out.Kind)
		}
		return v, err
	}
	for i := range m.Layout.Sensors {
		s := &m.Layout.Sensors[i]
		var sum field.Vec
		var axis bounded.Phasor
		var err error
		for _, e := range s.Elements() {
			var v field.Vec
			if v, err = at(e.At); err != nil {
				break
			}
			v = v.Scale(complex(e.Weight, 0))
			sum, axis = sum.Add(v), axis.Add(field.OnAxis(v, e.U))
		}
		if err != nil {
			out.Open = append(out.Open, fieldOpen{"sensor", s.ID, err.Error()})
			continue
		}
		out.Sensors = append(out.Sensors, fieldSensor{Sensor: s.ID, BX: pair(sum.X), BY: pair(sum.Y), BZ: pair(sum.Z),
			Axis: pair(axis.V), Certainty: certainty(sum)})
	}
	for _, p := range points {
		v, err := at(p)
		if err != nil {
			out.Open = append(out.Open, fieldOpen{"point", pointName(p), err.Error()})
			continue
		}
		out.Points = append(out.Points, fieldPoint{
			At: [3]float64{rounded(p.X), rounded(p.Y), rounded(p.Z)}, BX: pair(v.X), BY: pair(v.Y), BZ: pair(v.Z),
			Certainty: certainty(v)})
	}
	return out
}

func foreignText(b *strings.Builder, r *fieldReport) {
	for _, f := range r.Foreign {
		fmt.Fprintf(b, "%s: %s %s, %s\n", finding.Clean(r.Layout), f.Kind, finding.Clean(f.Source),
			si.Format(f.FrequencyHz, "Hz"))

		fmt.Fprintf(b, "  %-16s %14s %14s %14s %14s %10s %10s\n", "sensor", "|Bx| peak", "|By| peak", "|Bz| peak",
			"|B| on axis", "phase", "certainty")
		for _, s := range f.Sensors {
			axis := complex(s.Axis[0], s.Axis[1])
			row(b, s.Sensor, s.BX, s.BY, s.BZ, true, si.Format(portable.Abs(axis), "T"), phaseText(axis), s.Certainty, nil)
		}
		for _, p := range f.Points {
			row(b, pointName(geom.Point3{X: p.At[0], Y: p.At[1], Z: p.At[2]}), p.BX, p.BY, p.BZ, true, "", "",
				p.Certainty, nil)
		}
		openText(b, f.Open)
	}
}

// openText names what has no field.
func openText(b *strings.Builder, list []fieldOpen) {
	for _, o := range list {
		fmt.Fprintf(b, "  undecided: %s %s: %s\n", o.What, finding.Clean(o.Name), finding.Clean(o.Reason))
	}
}

// pointName names a point by its place.
func pointName(p geom.Point3) string {
	if p.Z != 0 {
		return fmt.Sprintf("%.4g, %.4g, %.4g mm", p.X*1e3, p.Y*1e3, p.Z*1e3)
	}
	return fmt.Sprintf("%.4g, %.4g mm", p.X*1e3, p.Y*1e3)
}
