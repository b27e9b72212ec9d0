package audit

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/rules/report/figure"
)

// seen is what the figures of one channel are made from.
type seen struct {
	s     *layout.Sensor
	perA  bounded.Estimate // magnitude, T/A, direct current
	err   error            // why perA is not known
	fullA float64
	chain *channel.Sensed // nil where perA is not known
}

func (b *builder) channel(i layout.SensorIndex) Channel {
	s := &b.l.Sensors[i]
	out := Channel{Sensor: s.ID, Reads: readID(b.l, s)}
	if p := b.l.PartOf(s); p != nil {
		out.Part = p.ID
	}
	x := seen{s: s, fullA: b.Model.FullScaleA(s)}
	x.perA, x.err = b.Model.OwnPerAmpere(s)
	if x.err == nil {
		if c, err := channel.Of(b.Model, s); err == nil {
			x.chain = c
		}
	}
	out.Facts = b.facts(&x)
	out.Hand = b.hand(&x)
	out.Ranked, out.Budget, out.NoBudget = b.budget(&x)
	out.Worked = b.worked(&x, out.Ranked)
	out.Curves = b.curves(&x, int(i))
	return out
}

func (b *builder) facts(x *seen) []Fact {
	s := x.s
	bar := &b.l.Bars[s.Reads]
	at := fmt.Sprintf("x = %s, y = %s", si.Format(s.At.X.V, "m"), si.Format(s.At.Y.V, "m"))
	if s.At.Z.Set {
		at += ", z = " + si.Format(s.At.Z.V, "m")
	}
	out := []Fact{
		{"reads", b.readsFact(s, bar)},
		{"place", at},
	}
	if s.Axis.AngleRad.Set {
		out = append(out, Fact{"axis", si.Format(s.Axis.AngleRad.V, "rad")})
	} else {
		out = append(out, Fact{"axis", fmt.Sprintf("(%.3g, %.3g, %.3g)", s.Axis.U.X, s.Axis.U.Y, s.Axis.U.Z)})
	}
	if s.Pair != nil {
		out = append(out, Fact{"pair", si.Format(s.Pair.SpacingM.V, "m") + " apart along " + si.Format(s.Pair.AlongRad.V, "rad")})
	}
	if len(s.Array) > 0 {
		var places []string
		for k, e := range s.Elements() {
			places = append(places, fmt.Sprintf("%d: x = %s, y = %s, axis (%.3g, %.3g, %.3g), weight %.4g",
				k+1, si.Format(e.At.X, "m"), si.Format(e.At.Y, "m"), e.U.X, e.U.Y, e.U.Z, e.Weight))
		}
		out = append(out, Fact{"array", count(len(s.Array), "element") + ". " + strings.Join(places, "; ")})
	}
	if p := s.Placement; p != nil {
		text := fmt.Sprintf("x ±%s, y ±%s, tilt ±%s", si.Format(p.XM.V, "m"), si.Format(p.YM.V, "m"),
			si.Format(p.TiltRad.V, "rad"))
		if p.ZM.Set {
			text += ", z ±" + si.Format(p.ZM.V, "m")
		}
		if p.YawRad.Set {
			text += ", yaw ±" + si.Format(p.YawRad.V, "rad")
		}
		out = append(out, Fact{"placement", text})
	}
	if p := b.l.PartOf(s); p != nil {
		out = append(out, Fact{"part", fmt.Sprintf("%s, linear from %s to %s", p.ID, show(p.LinearLowT.V, "T"), show(p.LinearHighT.V, "T"))})
	}
	if x.fullA > 0 {
		out = append(out, Fact{"full scale", si.Format(x.fullA, "A") + " peak, the largest of continuous and peak duties"})
	}
	if x.err != nil {
		return append(out, Fact{"field per ampere", "not known: " + x.err.Error()})
	}
	return append(out, Fact{"field per ampere", fmt.Sprintf("%s/A at direct current, certain to ±%s", si.Format(x.perA.Value, "T"), show(x.perA.Certainty(), "1"))})
}

// readsFact says what s reads, at which bar it stands, and how far from it.
func (b *builder) readsFact(s *layout.Sensor, bar *layout.Bar) string {
	far := si.Format(bar.DistanceM(s.At.Point()), "m")
	if b.l.Circuits[s.Circuit].Kind == layout.Single {
		return fmt.Sprintf("bar %s, %s from its surface", bar.ID, far)
	}
	text := readWords(b.l, s)
	if s.Sign < 0 {
		text += ", its current counted the other way round"
	}
	return fmt.Sprintf("%s, at bar %s, %s from its surface", text, bar.ID, far)
}

// budget returns the contributors to the uncertainty at full range after the
// declared calibration, in the duty in which the channel is worst.
func (b *builder) budget(x *seen) (*Ranked, []string, string) {
	if x.err != nil {
		return nil, nil, x.err.Error()
	}
	var worst *channel.Accuracy
	top := math.Inf(-1)
	try := func(d *layout.Duty) error {
		a, err := channel.AccuracyOf(b.Model, x.s, d)
		if err != nil {
			return err
		}
		if v := a.At(a.FullA, a.Declared).AtLeastA; worst == nil || v > top {
			worst, top = a, v
		}
		return nil
	}
	var err error
	for i := range b.l.Duties {
		if d := &b.l.Duties[i]; d.Kind != layout.Fault && err == nil {
			err = try(d)
		}
	}
	if worst == nil && err == nil {
		err = try(nil)
	}
	if err != nil {
		return nil, nil, err.Error()
	}
	o := worst.At(worst.FullA, worst.Declared)
	r := &Ranked{Text: fmt.Sprintf("At full range, %s, %s", si.Format(worst.FullA, "A"), worst.Declared)}
	if worst.Duty != "" {
		r.Text += ", other " + b.noun() + "s as in duty " + worst.Duty
	}
	r.Text += ". Amounts are k = 2 times the standard uncertainty; known errors as they are."
	r.Ranking.Title = "share of full range"
	r.Ranking.Frame.Title = "Contributors to the uncertainty of " + x.s.ID
	for _, c := range o.Ranked {
		amount := math.Abs(c.AmountA)
		if amount < 1e-3*o.AtLeastA || len(r.Ranking.Items) >= 14 {
			break
		}
		r.Ranking.Items = append(r.Ranking.Items, figure.Item{Name: c.Name, Value: amount, Text: si.Format(amount, "A") + ", " + si.Percent(amount/worst.FullA)})
	}
	total := figure.Item{Name: "combined", Value: o.TotalA, Text: si.Format(o.TotalA, "A") + ", " + si.Percent(o.TotalA/worst.FullA), Total: true}
	if len(o.Missing) > 0 {
		total = figure.Item{Name: "combined, of what is known", Value: o.AtLeastA, Text: "over " + si.Format(o.AtLeastA, "A"), Total: true}
		r.Text += " Not known, and not in it:"
		for k, m := range o.Missing {
			if k > 0 {
				r.Text += ","
			}
			r.Text += " " + m
		}
		r.Text += "."
	}
	r.Ranking.Items = append(r.Ranking.Items, total)
	r.Ranking.Desc = r.Text
	smallest, _ := b.l.NeedFor(x.s.ID, func(n *layout.Need) layout.Num { return n.SmallestCurrentA })
	return r, worst.Table(smallest.V), ""
}
