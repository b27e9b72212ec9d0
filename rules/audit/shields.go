package audit

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/report/figure"
)

// wallScales are the shares of the fullest duty at which the wall of a shield is
// computed.
var wallScales = [...]float64{0.25, 0.5, 0.75, 1, 1.25}

func (b *builder) shields() []Shield {
	out := make([]Shield, len(b.l.Shields))
	for i := range out {
		out[i] = b.shield(layout.ShieldIndex(i))
	}
	return out
}

func (b *builder) shield(i layout.ShieldIndex) Shield {
	s := &b.l.Shields[i]
	mat := &b.l.Materials[s.Material]
	out := Shield{Name: s.ID, Material: mat.ID}
	wall := probe.WallM(s)
	out.Facts = append(out.Facts, Fact{"wall", si.Format(wall.Value, "m")})
	if s.DepthM.Set {
		out.Facts = append(out.Facts, Fact{"depth", si.Format(s.DepthM.V, "m")})
	} else if s.Long {
		out.Facts = append(out.Facts, Fact{"depth", "long"})
	}
	if !mat.Magnetic() {
		out.Text = "It is not of iron, so that it does not saturate."
		return out
	}
	sat, ok := probe.SaturationT(mat)
	if !ok {
		out.Text = "Its material declares no saturation and no curve."
		return out
	}
	out.Facts = append(out.Facts, Fact{"saturation", si.Format(sat, "T")})
	fill, found, err := b.Model.Fill(i, 1)
	switch {
	case err != nil:
		out.Text = "Not known: " + err.Error()
		return out
	case !found:
		out.Text = "No duty gives a current that could fill it."
		return out
	case fill.Duty == nil:
		out.Text = fmt.Sprintf("No duty gives a current; foreign sources bring up to %s to its wall, %s of saturation.",
			si.Format(fill.WallT.Value, "T"), si.Percent(fill.Share.Value))
		return out
	}
	knee := b.fullT(s.ID, mat, sat)
	out.Facts = append(out.Facts,
		Fact{"fullest duty", fill.Duty.ID},
		Fact{"wall in it", fmt.Sprintf("%s, %s of saturation, certain to ±%s", si.Format(fill.WallT.Value, "T"), si.Percent(fill.Share.Value), show(fill.WallT.Certainty(), "1"))},
		Fact{"knee", si.Format(knee, "T")})
	out.Curve = b.wallCurve(i, &fill, sat, knee)
	return out
}

// fullT is the flux density at which the rule of saturation takes iron as full, for the saturation satT of what the
// file declares: its limit, and where it did not judge the shield its defaults.
func (b *builder) fullT(id string, m *layout.Material, satT float64) float64 {
	for i := range b.Findings {
		if f := &b.Findings[i]; f.Rule == "shield-saturation" && f.Object == id && f.Measure != nil {
			return f.Measure.Limit * satT
		}
	}
	at, _, _ := probe.FullAt(m, satT, probe.FullShare, probe.FullSlope)
	return at * satT
}

// wallCurve is the flux density of the wall against the current, all currents of the
// fullest duty growing together and taken at the moment at which that of the nearest
// bar is at its peak, steady.
func (b *builder) wallCurve(i layout.ShieldIndex, fill *probe.Fill, sat, knee float64) *Curve {
	currents, peak, err := b.atPeak(fill)
	if err != nil || !(peak > 0) {
		return nil
	}
	linear := figure.Series{Name: "were the iron linear"}
	state := figure.Series{Name: "computed"}
	still := b.scaled(currents, 1)
	small := b.Model.With(still)
	w, err := small.Wall(i, &waveform.Of(still, &still.Duties[0]).Components[0])
	if err != nil {
		return nil
	}
	out := &Curve{Name: "Flux density of the wall against current", Head: []string{"current in bar " + b.l.Bars[fill.Bar].ID, "wall", "between"}}
	linear.X, linear.Y = []float64{0, wallScales[len(wallScales)-1] * peak}, []float64{0, wallScales[len(wallScales)-1] * w.Peak.Value}
	state.X, state.Y = []float64{0}, []float64{0}
	if in, _ := b.Model.InSpace(); !in {
		scaled := make([]*layout.Layout, len(wallScales))
		values := make([]bounded.Estimate, len(wallScales))
		for k, share := range wallScales {
			scaled[k] = b.scaled(currents, share)
			m := b.Model.With(scaled[k]).For(&scaled[k].Duties[0])
			if b.saturable() {
				if finer, ok := m.Refined(); ok {
					m = finer
				}
			}
			v, err := m.WallPeak(i, &scaled[k].Duties[0])
			if err != nil {
				out.Rows = append(out.Rows, []string{si.Format(share*peak, "A"), "not known: " + err.Error(), ""})
				continue
			}
			values[k] = v
			state.X, state.Y = append(state.X, share*peak), append(state.Y, v.Value)
			out.Rows = append(out.Rows, []string{si.Format(share*peak, "A"), si.Format(v.Value, "T"), si.FormatDigits(v.Low, "T", 4) + " and " + si.FormatDigits(v.High, "T", 4)})
		}
	} else {
		state.X, state.Y = append(state.X, peak), append(state.Y, fill.WallT.Value)
		out.Rows = append(out.Rows, []string{si.Format(peak, "A"), si.Format(fill.WallT.Value, "T"), si.FormatDigits(fill.WallT.Low, "T", 4) + " and " + si.FormatDigits(fill.WallT.High, "T", 4)})
	}
	out.Text = fmt.Sprintf("All currents of duty %s grow together; taken at the moment at which that of bar %s is at its peak, as steady currents (eddy currents, which take flux out of the wall, left out). "+
		"Flux through the wall over its thickness, largest along it.", fill.Duty.ID, b.l.Bars[fill.Bar].ID)
	panel := figure.Panel{Y: figure.Axis{Title: "flux density of the wall", Unit: "T"}, Series: []figure.Series{state, linear},
		Marks: []figure.Mark{{At: sat, Label: "saturation"}, {At: knee, Label: "knee"}, {Upright: true, At: peak, Label: "duty " + fill.Duty.ID}}}
	out.Chart = figure.Chart{X: figure.Axis{Title: "current in bar " + b.l.Bars[fill.Bar].ID, Unit: "A"}, Panels: []figure.Panel{panel}}
	out.Chart.Title, out.Chart.Desc = "Wall of shield "+b.l.Shields[i].ID+" against current", out.Text
	return out
}

// atPeak returns the currents of the circuits in the fullest duty at the moment at which
// the current of the nearest bar is at its peak, and that bar's current then. Of a fault
// it is the first peak.
func (b *builder) atPeak(fill *probe.Fill) (circuitA []float64, peakA float64, err error) {
	cur := waveform.Of(b.l, fill.Duty)
	bar := &waveform.Signal{}
	for i := range cur.Components {
		c := &cur.Components[i]
		a, err := b.Model.BarsA(c)
		if err != nil {
			return nil, 0, err
		}
		bar.Lines = append(bar.Lines, waveform.Line{FreqHz: c.FreqHz, Group: c.Group, V: a[fill.Bar]})
	}
	top := bar.PeakAbs()
	circuitA = cur.At(top.TimesS...)
	for i := range cur.Offsets {
		// The decaying direct component stands in step with what it belongs to.
		o := &cur.Offsets[i]
		for k, a := range o.PeakA {
			circuitA[k] += real(portable.Times(a, portable.Rect(1, 2*math.Pi*o.FreqHz*top.TimesS[o.Group])))
		}
	}
	// The curve is of steady currents: so are the shares of bars joined at both ends.
	still := waveform.Component{PeakA: make([]complex128, len(circuitA))}
	for k, a := range circuitA {
		still.PeakA[k] = complex(a, 0)
	}
	bars, err := b.Model.BarsA(&still)
	if err != nil {
		return nil, 0, err
	}
	return circuitA, math.Abs(real(bars[fill.Bar])), nil
}

// scaled returns the layout with one direct duty: currents of the circuits times a share.
func (b *builder) scaled(circuitA []float64, share float64) *layout.Layout {
	l := *b.l
	// The name holds the currents: the model keeps fields by it.
	d := layout.Duty{ID: fmt.Sprintf("\x00wall %g of %g", share, circuitA), Kind: layout.Peak}
	for k, a := range circuitA {
		if a != 0 {
			d.Currents = append(d.Currents, layout.Current{Circuit: layout.CircuitIndex(k), Sign: 1,
				Amount: layout.Amount{DCA: layout.Num{V: share * a, Set: true}}})
		}
	}
	l.Duties = []layout.Duty{d}
	return &l
}

// saturable reports whether the state of some shield depends on the currents.
func (b *builder) saturable() bool {
	return len(b.l.Duties) > 0 && b.Model.For(&b.l.Duties[0]) != b.Model
}
