package server

import (
	"context"
	"fmt"
	"math"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/schema"
)

// hover says what is known of the object at a place, or what the schema says of a key.
func (s *Server) hover(ctx context.Context, p *placeParams) (any, error) {
	d, at, x, n, where, err := s.pointed(p)
	if err != nil || x == nil {
		return nil, err
	}
	text := ""
	if n.ID != "" {
		text = s.about(ctx, d, at, n.Kind, n.ID)
	} else {
		pos := at.pos(at.offset(p.Position, s.encoding))
		path := keyAt(x.Root, pos, nil)
		if path == nil {
			return nil, nil
		}
		if text = schema.DescribeAt(path); text == "" {
			return nil, nil
		}
		where.Start, where.End = pos, pos
		text = path[len(path)-1] + ": " + text
	}
	return hover{Contents: markup{"plaintext", text}, Range: at.stretch(where, s.encoding)}, nil
}

// about returns what is known of an object, line by line.
func (s *Server) about(ctx context.Context, d *document, at snapshot, kind, id string) string {
	out := []string{kind + " " + finding.Quote(id, 60)}
	if kind != "sensor" && kind != "bar" {
		return out[0]
	}
	answer, done := d.await(ctx, at, Solved, s.opt.Patience)
	switch {
	case done && answer.Layout == nil:
		out = append(out, "no numbers: the layout is not understood")
	case !done:
		out = append(out, "its field is being computed; ask again in a moment")
	case kind == "sensor":
		out = append(out, ofSensor(&answer, id)...)
	default:
		out = append(out, ofBar(&answer, id)...)
	}
	return strings.Join(out, "\n")
}

// ofSensor says what a sensor reads per ampere, and by the verdicts what is left of its range and what strays into it.
func ofSensor(a *Answer, id string) []string {
	s := sensorOf(a.Layout, id)
	if s == nil {
		return nil
	}
	var out []string
	per, err := a.Model.OwnPerAmpere(s)
	switch {
	case err != nil:
		out = append(out, "field per ampere: not known: "+finding.Clean(err.Error()))
	default:
		out = append(out, fmt.Sprintf("field per ampere: %s, certain to ±%s", perAmpere(per.Value), si.Percent(per.Certainty())))
	}
	if full := a.Model.FullScaleA(s); full > 0 {
		out = append(out, "full scale: "+si.Format(full, "A"))
	}
	for i := range a.Said {
		f := &a.Said[i]
		m := f.Measure
		if f.Object != id || m == nil || math.IsNaN(m.Value) {
			continue
		}
		switch {
		case f.Rule == "linear-range" && m.Unit == "1":
			out = append(out, fmt.Sprintf("range left: %s of the linear range%s (%s)", si.Percent(1-m.Value), in(f.Cause), f.Verdict))
		case f.Rule == "stray-ratio" && m.Unit == "1":
			line := fmt.Sprintf("stray: %s", si.Percent(m.Value))
			if of := m.Of.String(); of != "" {
				line += " " + of
			}
			if whole := wholeA(a, s, f); whole > 0 {
				line += fmt.Sprintf(", %s of %s", si.Format(m.Value*whole, "A"), si.Format(whole, "A"))
			}
			out = append(out, fmt.Sprintf("%s%s (%s, limit %s)", line, in(f.Cause), f.Verdict, si.Percent(m.Limit)))
		}
	}
	return out
}

// wholeA returns what a share is a share of, in amperes; 0 where it has no meaning in them. See finding.Measure.
func wholeA(a *Answer, s *layout.Sensor, f *finding.Finding) float64 {
	switch {
	case f.Measure.WholeA > 0:
		return f.Measure.WholeA
	case f.Measure.Of.Whole == finding.FullScale:
		return a.Model.FullScaleA(s)
	case f.Measure.Of.Whole != finding.OwnCurrent:
		return 0
	}
	for i := range a.Layout.Duties {
		if d := &a.Layout.Duties[i]; d.ID == f.Cause {
			if peak := a.Model.OwnPeakA(s, d); peak > 0 {
				return peak
			}
		}
	}
	return a.Model.FullScaleA(s)
}

// ofBar says what a bar carries in each duty.
func ofBar(a *Answer, id string) []string {
	var out []string
	for b := range a.Layout.Bars {
		if a.Layout.Bars[b].ID != id {
			continue
		}
		for i := range a.Layout.Duties {
			duty := &a.Layout.Duties[i]
			h, err := a.Model.Heat(layout.BarIndex(b), duty)
			if err != nil {
				out = append(out, fmt.Sprintf("current in duty %s: not known: %s", finding.Quote(duty.ID, 60), finding.Clean(err.Error())))
				continue
			}
			out = append(out, fmt.Sprintf("current in duty %s: %s rms, %s", finding.Quote(duty.ID, 60), si.Format(h.RMSA, "A"),
				si.Format(h.DensityAPerM2, "A/m2")))
		}
		if len(a.Layout.Duties) == 0 {
			out = append(out, "no duty says what it carries")
		}
	}
	return out
}

// in says in which duty: by its name, or in the words that a rule has for it.
func in(duty string) string {
	if duty == "" {
		return ""
	}
	if strings.Contains(duty, "duty ") {
		return " in " + finding.Clean(duty)
	}
	return " in duty " + finding.Quote(duty, 60)
}

func sensorOf(l *layout.Layout, id string) *layout.Sensor {
	for i := range l.Sensors {
		if l.Sensors[i].ID == id {
			return &l.Sensors[i]
		}
	}
	return nil
}

// perAmpere returns a reading per ampere in mT/A.
func perAmpere(tPerA float64) string { return si.FormatDigits(tPerA*1e3, "mT/A", 3) }
