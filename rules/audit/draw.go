package audit

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/report/figure"
)

// The samples of shading and flux lines.
const (
	shadeSamples = 9000
	fluxLines    = 24
)

// scene is the section without a field: pieces and dimensions.
func (b *builder) scene(view geom.Box) figure.Drawing {
	d := figure.Drawing{Across: "x", Up: "y", ViewM: view}
	for i := range b.l.Bars {
		bar := &b.l.Bars[i]
		p := figure.Part{Name: bar.ID, Regions: []geom.Region{geom.Solid(bar.Polygon())}}
		if bar.Section.Kind == layout.Round {
			p = figure.Part{Name: bar.ID, CentreM: bar.Centre(), RadiusM: bar.Section.DiameterM.V / 2}
		}
		d.Bars = append(d.Bars, p)
	}
	for i := range b.l.Shields {
		s := &b.l.Shields[i]
		d.Shields = append(d.Shields, figure.Part{Name: s.ID, Regions: []geom.Region{s.Region()}})
	}
	d.Dimensions = b.dimensions()
	return d
}

// dimensions are those that a reviewer measures first: pitch of the bars, one bar's
// section, opening of a shield, and each sensor's distance from its bar.
func (b *builder) dimensions() []figure.Dimension {
	var out []figure.Dimension
	for i := 1; i < min(len(b.l.Bars), 5); i++ {
		p, q := b.l.Bars[i-1].Centre(), b.l.Bars[i].Centre()
		if math.Abs(p.Y-q.Y) < 1e-9 {
			out = append(out, figure.Dimension{FromM: p, ToM: q, Side: figure.Below})
		} else if math.Abs(p.X-q.X) < 1e-9 {
			out = append(out, figure.Dimension{FromM: p, ToM: q, Side: figure.Right})
		}
	}
	if len(b.l.Bars) > 0 {
		box := b.l.Bars[0].Polygon().Box()
		out = append(out,
			figure.Dimension{FromM: geom.Point{X: box.Min.X, Y: box.Max.Y}, ToM: box.Max, Side: figure.Above},
			figure.Dimension{FromM: box.Min, ToM: geom.Point{X: box.Min.X, Y: box.Max.Y}, Side: figure.Left})
	}
	for i := range b.l.Shields {
		s := &b.l.Shields[i]
		if s.Form.Kind == layout.Channel {
			half, leg := s.Form.OpeningM.V/2, s.Form.LegM.V
			from := geom.Point{X: -half, Y: leg}.Rotate(s.TurnRad.V).Add(s.At.Point())
			to := geom.Point{X: half, Y: leg}.Rotate(s.TurnRad.V).Add(s.At.Point())
			out = append(out, figure.Dimension{FromM: from, ToM: to, Side: figure.Above})
			break
		}
	}
	for i := range b.l.Sensors {
		s := &b.l.Sensors[i]
		if i >= 6 {
			break
		}
		at := s.At.Point()
		if near := b.nearest(s); near.Sub(at).Norm() > 0 {
			out = append(out, figure.Dimension{FromM: near, ToM: at, Side: figure.Between})
		}
	}
	return out
}

// nearest returns the point of the surface of its bar that lies nearest to s.
func (b *builder) nearest(s *layout.Sensor) geom.Point {
	bar := &b.l.Bars[s.Reads]
	at := s.At.Point()
	return at.Sub(b.l.Outward(s).Scale(bar.DistanceM(at)))
}

// draw adds field and sensors to the scene; the field at so many places.
func (b *builder) draw(m *probe.Model, p *part, f *Frame, scene figure.Drawing, samples float64) figure.Drawing {
	d := scene
	d.Title = fmt.Sprintf("Section, duty %s, %s", f.Duty, hertz(f.FreqHz))
	for i := range b.l.Sensors {
		d.Sensors = append(d.Sensors, b.sensorMarks(&b.l.Sensors[i], f.Rows[i])...)
	}
	d.Desc = b.describe(f)
	if scene.ViewM.Empty() {
		return d
	}
	at, err := m.Sketch(&p.c)
	if err != nil || largest(&p.c) == 0 {
		return d
	}
	view := scene.ViewM
	size := view.Size()
	step := math.Sqrt(size.X * size.Y / samples)
	nx, ny := max(2, int(size.X/step)+1), max(2, int(size.Y/step)+1)
	shade := figure.Grid{BoxM: view, NX: nx, NY: ny, Value: make([]float64, nx*ny)}
	flux := figure.Grid{BoxM: view, NX: nx, NY: ny, Value: make([]float64, nx*ny)}
	turn, moment := b.moment(m, &p.c)
	for j := range ny {
		for i := range nx {
			q := geom.Point{X: view.Min.X + size.X*float64(i)/float64(nx-1), Y: view.Min.Y + size.Y*float64(j)/float64(ny-1)}
			v := at(q)
			shade.Value[j*nx+i] = portable.Hypot(portable.Abs(v.BxT), portable.Abs(v.ByT))
			flux.Value[j*nx+i] = real(portable.Times(v.AWbPerM, turn))
		}
	}
	title := "flux density, peak, " + hertz(f.FreqHz)
	if f.FreqHz == 0 {
		title = "flux density, direct current"
	}
	d.Shade = &figure.Shade{Grid: shade, Title: title, Unit: "T", Log: true}
	d.Flux = &figure.Flux{Grid: flux, Title: moment, Count: fluxLines}
	return d
}

// moment returns the factor that turns a phasor to the moment at which the flux lines
// are drawn, the peak of the largest current, and says so.
func (b *builder) moment(m *probe.Model, c *waveform.Component) (turn complex128, title string) {
	bars, err := m.BarsA(c)
	if c.FreqHz == 0 || err != nil {
		return 1, "flux lines"
	}
	at := 0
	for k, a := range bars {
		if portable.Abs(a) > portable.Abs(bars[at])*(1+1e-9) {
			at = k
		}
	}
	return portable.Rect(1, -portable.Phase(bars[at])), "flux lines while " + b.l.Bars[at].ID + " is at its peak"
}

// sensorMarks draws a sensor, the two elements of a pair, or those of an array with their
// weights.
func (b *builder) sensorMarks(s *layout.Sensor, row SensorRow) []figure.Sensor {
	note := ""
	if row.PerAmpereUnsaid == "" {
		note = si.Format(row.AxisT, "T")
	}
	var box geom.Polygon
	if p := s.Placement; p != nil {
		box = geom.Rectangle(2*p.XM.V, 2*p.YM.V)
	}
	around := func(at geom.Point) geom.Polygon {
		var out geom.Polygon
		for _, c := range box {
			out = append(out, c.Add(at))
		}
		return out
	}
	elements := s.Elements()
	var out []figure.Sensor
	for k, e := range elements {
		at := e.At.XY()
		mark := figure.Sensor{Name: elementName(s, k), AtM: at, Axis: e.U.XY(), ToleranceM: around(at)}
		if k == 0 {
			mark.Note = note
		}
		out = append(out, mark)
	}
	return out
}

// elementName names element k of s: the sensor itself, an end of a pair, or an element of an
// array with its weight.
func elementName(s *layout.Sensor, k int) string {
	e := s.Elements()[k]
	switch {
	case s.Pair != nil && e.Weight > 0:
		return s.ID + " +"
	case s.Pair != nil:
		return s.ID + " −"
	case len(s.Array) > 0:
		return fmt.Sprintf("%s %d × %.3g", s.ID, k+1, e.Weight)
	}
	return s.ID
}

// describe says in words what the drawing shows.
func (b *builder) describe(f *Frame) string {
	text := fmt.Sprintf("Section to scale with %s, %s and %s.", count(len(b.l.Bars), "bar"), count(len(b.l.Shields), "shield"), count(len(b.l.Sensors), "sensor"))
	for i, r := range f.Rows {
		if r.PerAmpereUnsaid != "" {
			text += fmt.Sprintf(" Sensor %s: not known.", r.Sensor)
			continue
		}
		text += fmt.Sprintf(" Sensor %s beside bar %s reads %s.", r.Sensor, b.l.Bars[b.l.Sensors[i].Reads].ID,
			si.Format(r.AxisT, "T"))
	}
	return text
}

func count(n int, noun string) string {
	switch n {
	case 0:
		return "no " + noun
	case 1:
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
