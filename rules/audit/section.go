package audit

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"busgauss/model/bounded"
	"busgauss/model/field"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/parallel"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/report/figure"
)

// maxFrames is how many components of duties are drawn: a page stays below three
// megabytes with it. Those left out are named.
const maxFrames = 12

// section computes the frames. The main component of each duty comes first when
// there are more than are drawn.
func (b *builder) section() Section {
	out := Section{Slides: b.slides()}
	for i := range b.l.Circuits {
		out.Circuits = append(out.Circuits, b.l.Circuits[i].ID)
	}
	all, left := b.components()
	b.parts, out.Left = all, left
	view := b.viewBox()
	out.Points = b.points(view, all)
	out.Frames = make([]Frame, len(all))
	scene := b.scene(view)
	// Solutions are made one after the other: a state of saturating iron is found from
	// the one before it, and must not hang on which frame came first.
	for i := range all {
		out.Frames[i] = b.readings(&all[i])
	}
	parallel.Each(len(all), len(all), func(_, i int) { b.frame(&out.Frames[i], &all[i], &out, scene) })
	return out
}

// part is one component of a duty.
type part struct {
	duty *layout.Duty
	c    waveform.Component
}

// components returns what is drawn, duty by duty, and the names of the rest.
func (b *builder) components() (all []part, left []string) {
	type ranked struct {
		part
		order, sizeRank int
	}
	var list []ranked
	var rest []part
	for i := range b.l.Duties {
		d := &b.l.Duties[i]
		parts := waveform.Of(b.l, d).Components
		index := make([]int, len(parts))
		for k := range parts {
			index[k] = k
		}
		slices.SortStableFunc(index, func(x, y int) int { return -cmp.Compare(largest(&parts[x]), largest(&parts[y])) })
		for place, k := range index {
			if place > 0 && largest(&parts[k]) == 0 {
				continue
			}
			list = append(list, ranked{part{d, parts[k]}, len(list), place})
		}
	}
	if len(list) > maxFrames {
		slices.SortStableFunc(list, func(x, y ranked) int { return cmp.Compare(x.sizeRank, y.sizeRank) })
		for _, r := range list[maxFrames:] {
			rest = append(rest, r.part)
		}
		list = list[:maxFrames]
		slices.SortStableFunc(list, func(x, y ranked) int { return cmp.Compare(x.order, y.order) })
	}
	for _, r := range list {
		all = append(all, r.part)
	}
	return all, leftWords(rest)
}

// mostNamed is how many components of one duty are named one by one.
const mostNamed = 6

// leftWords names what is not drawn, the many of a long waveform by their number.
func leftWords(rest []part) []string {
	number := map[*layout.Duty]int{}
	for i := range rest {
		number[rest[i].duty]++
	}
	var out []string
	said := map[*layout.Duty]bool{}
	for i := range rest {
		p := &rest[i]
		switch n := number[p.duty]; {
		case n <= mostNamed:
			out = append(out, fmt.Sprintf("%s, %s, %s", p.duty.ID, p.c.Role, hertz(p.c.FreqHz)))
		case !said[p.duty]:
			said[p.duty] = true
			out = append(out, fmt.Sprintf("%s, %d more components, the largest %s, %s", p.duty.ID, n, p.c.Role,
				hertz(p.c.FreqHz)))
		}
	}
	return out
}

func largest(c *waveform.Component) float64 {
	top := 0.0
	for _, a := range c.PeakA {
		top = math.Max(top, portable.Abs(a))
	}
	return top
}

// hertz names a frequency.
func hertz(hz float64) string {
	if hz == 0 {
		return "direct current"
	}
	return si.Format(hz, "Hz")
}

// modelOf returns the model for a duty. Where iron may saturate in a direct duty the
// true state is taken, as the field of a duty is computed elsewhere; stated says so.
func (b *builder) modelOf(d *layout.Duty) (m *probe.Model, stated bool) {
	m = b.Model.For(d)
	if m == b.Model || !waveform.Of(b.l, d).Steady() {
		return m, false
	}
	if finer, ok := m.Refined(); ok {
		return finer, true
	}
	return m, true
}

// readings is a frame with what its sensors read.
func (b *builder) readings(p *part) Frame {
	d, c := p.duty, &p.c
	out := Frame{Duty: d.ID, Kind: d.Kind.String(), Role: c.Role, FreqHz: c.FreqHz}
	m, _ := b.modelOf(d)
	f, err := m.FieldOf(c)
	if err != nil {
		out.Undecided = err.Error()
		return out
	}
	out.Method = m.Method(f, c)
	out.Currents = b.currentWords(f, c)
	most := 0.0
	for i := range b.l.Sensors {
		row := sensorRow(m, &b.l.Sensors[i], c)
		out.Rows = append(out.Rows, row)
		if row.FieldT > most {
			most, out.Certainty = row.FieldT, row.Certainty
		}
	}
	return out
}

// frame adds the places and the drawing.
func (b *builder) frame(f *Frame, p *part, s *Section, scene figure.Drawing) {
	if f.Undecided != "" {
		return
	}
	m, stated := b.modelOf(p.duty)
	b.sample(f, m.Rough(), &p.c, s.Points, stated)
	f.Slid = b.slid(m.Rough(), &p.c, s.Slides)
	f.Drawing = b.draw(m, p, f, scene, shadeSamples)
}

// sample takes the field at the places of the page.
func (b *builder) sample(out *Frame, m *probe.Model, c *waveform.Component, points []geom.Point3, stated bool) {
	f, err := m.FieldOf(c)
	if err != nil {
		return
	}
	out.At = make([]FieldT, len(points))
	if !stated {
		out.CircuitT = make([][]float64, len(b.l.Circuits))
		for k := range out.CircuitT {
			out.CircuitT[k] = make([]float64, len(points))
		}
	}
	for i, q := range points {
		var sum field.Vec
		if stated {
			v, err := m.TotalAt(q, c)
			if err != nil {
				v.X = cmplx.NaN()
			}
			sum = v
		} else {
			for k, a := range c.PeakA {
				if a == 0 {
					continue
				}
				v := f.At(q, layout.CircuitIndex(k)).Scale(a)
				out.CircuitT[k][i] = v.Norm()
				sum = sum.Add(v)
			}
		}
		out.At[i] = FieldT{portable.Abs(sum.X), portable.Abs(sum.Y), portable.Abs(sum.Z)}.withoutNoise()
	}
}

// noise is the share of a field below which a component is rounding alone, which no
// two kinds of processor have alike.
const noise = 1e-10

// withoutNoise returns f with components of rounding alone taken for none.
func (f FieldT) withoutNoise() FieldT {
	least := noise * portable.Hypot(portable.Hypot(f.X, f.Y), f.Z)
	for _, v := range []*float64{&f.X, &f.Y, &f.Z} {
		if *v < least {
			*v = 0
		}
	}
	return f
}

// sensorRow is what one sensor reads in a component.
func sensorRow(m *probe.Model, s *layout.Sensor, c *waveform.Component) SensorRow {
	row := SensorRow{Sensor: s.ID, Reads: readID(m.Layout, s), StrayShare: math.NaN(), Certainty: math.NaN()}
	r, err := m.Read(s, c)
	if err != nil {
		row.PerAmpereUnsaid = err.Error()
		return row
	}
	sum := r.Own.Add(r.Stray)
	row.AxisT, row.PhaseRad = portable.Abs(sum.V), portable.Phase(sum.V)
	row.PerAmpereT, row.OwnA = portable.Abs(r.PerAmpere.V), portable.Abs(r.OwnA)
	row.StrayA = portable.Abs(r.Stray.V) / row.PerAmpereT
	if row.OwnA > 0 {
		row.StrayShare = row.StrayA / row.OwnA
	}
	if n := r.Total.Norm(); n > 0 {
		row.FieldT = n
		row.Certainty = portable.Hypot(r.Total.Bound, r.Total.Quad) / n
	}
	if v := portable.Abs(sum.V); len(s.Elements()) > 1 && v > 0 {
		row.Certainty = portable.Hypot(sum.Bound, sum.Quad) / v // the field at its middle may be none
	}
	for k, p := range r.PerCircuit {
		id := m.Layout.Circuits[k].ID
		if v := portable.Abs(p.V); v > 0 && bounded.Leads(v, id, row.LargestT, row.Largest) {
			row.Largest, row.LargestT = id, v
		}
	}
	return row
}
