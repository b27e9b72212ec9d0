package audit

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/channel"
	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/probe"
	"busgauss/model/si"
	"busgauss/model/waveform"
)

// worked returns the calculation of a channel, step by step, each with its numbers, so
// that a reviewer can redo it on paper.
func (b *builder) worked(x *seen, ranked *Ranked) []Step {
	if x.err != nil {
		return nil
	}
	var out []Step
	add := func(s *Step) {
		if s != nil {
			out = append(out, *s)
		}
	}
	add(b.stepSection(x))
	add(b.stepComputed(x))
	add(b.stepFull(x))
	add(b.stepRange(x))
	for i := range b.l.Duties {
		add(b.stepStray(x, &b.l.Duties[i]))
	}
	add(b.stepPlacement(x))
	add(b.stepEarth(x))
	out = append(out, b.stepChain(x)...)
	add(stepBudget(ranked))
	return out
}

// stepSection works the field of a rectangular bar from three flat strips by
// Simpson's rule, and a round one by the wire.
func (b *builder) stepSection(x *seen) *Step {
	parts := b.ownParts(x.s)
	if len(parts) == 0 {
		return nil
	}
	bar := parts[0].bar
	exact := math.Abs(readsOf(x.s, parts, sectionField))
	const integral = "b = (μ0 / 2π S) ∫ (ẑ × r) · u / r² dS over the section S"
	switch {
	case len(parts) > 1:
		return &Step{
			What:    "own field per ampere, real sections, nothing around them",
			Formula: integral + ", summed over the bars of " + readWords(b.l, x.s) + " with their shares",
			Numbers: ownWords(x.s, parts, func(k *layout.Bar) float64 { return reads(x.s, sectionField(k)) }),
			Result:  perAmpere(exact), Source: sourceSection,
		}
	case len(x.s.Array) == 0 && x.s.Pair == nil && bar.Section.Kind == layout.Round:
		r := x.s.At.Point().Sub(bar.Centre()).Norm()
		return &Step{
			What: "own field per ampere, real section, nothing around it", Formula: "b = μ0 cos θ / (2π r) outside a round bar",
			Numbers: fmt.Sprintf("r = %s, cos θ = %s", si.Format(r, "m"), figures(exact*2*math.Pi*r/(4e-7*math.Pi))),
			Result:  perAmpere(exact), Source: sourceWire,
		}
	case bar.Section.Kind != layout.Rectangle || x.s.Pair != nil || len(x.s.Array) > 0:
		return &Step{
			What: "own field per ampere, real section, nothing around it", Formula: integral,
			Numbers: sectionWords(bar), Result: perAmpere(exact), Source: sourceSection,
		}
	}
	w, t := bar.Section.WidthM.V, bar.Section.ThicknessM.V
	q := x.s.At.Point().Sub(bar.At.Point()).Rotate(-bar.TurnRad.V)
	u := geom.Point{X: x.s.Axis.U.X, Y: x.s.Axis.U.Y}.Rotate(-bar.TurnRad.V)
	var f [3]float64
	for k, layer := range []float64{-t / 2, 0, t / 2} {
		v := closedform.StripB(geom.Point{X: q.X, Y: q.Y - layer}, w, 1)
		f[k] = float64(v.X*u.X) + float64(v.Y*u.Y)
	}
	simpson := math.Abs(f[0]+4*f[1]+f[2]) / 6
	return &Step{
		What: "own field per ampere, real section, nothing around it",
		Formula: "three strips at η = −t/2, 0, t/2 by Simpson's rule, b = (f₁ + 4 f₂ + f₃)/6; one strip: Bx = −(μ0/2πw)[atan((x+w/2)/h) − atan((x−w/2)/h)], " +
			"By = (μ0/4πw) ln{[(x+w/2)²+h²]/[(x−w/2)²+h²]}, h = y − η, f = Bx ux + By uy",
		Numbers: fmt.Sprintf("w = %s, t = %s, x = %s, y = %s, u = (%s, %s): f = %s, %s, %s; exact %s", si.Format(w, "m"), si.Format(t, "m"), si.Format(q.X, "m"), si.Format(q.Y, "m"),
			figures(u.X), figures(u.Y), perAmpereSigned(f[0]), perAmpereSigned(f[1]), perAmpereSigned(f[2]), perAmpere(exact)),
		Result: perAmpere(simpson), Source: sourceSimpson + "; " + sourceSection,
	}
}

func perAmpereSigned(v float64) string { return si.FormatDigits(v, "T", 4) + "/A" }

func (b *builder) stepComputed(x *seen) *Step {
	f, err := b.Model.Field(0)
	if err != nil {
		return nil
	}
	parts := b.ownParts(x.s)
	if len(parts) == 0 {
		return nil
	}
	section, bars := math.Abs(readsOf(x.s, parts, sectionField)), "bar"
	if len(parts) > 1 {
		bars = "bars"
	}
	return &Step{
		What:    "own field per ampere, computed at direct current",
		Formula: "real section × factor of what stands around the " + bars,
		Numbers: fmt.Sprintf("%s × %s; method: %s", perAmpere(section), figures(x.perA.Value/section), f.Method),
		Result:  fmt.Sprintf("%s, between %s and %s", perAmpere(x.perA.Value), perAmpere(x.perA.Low), perAmpere(x.perA.High)),
		Source:  "the model; bounds from its error estimate",
	}
}

func (b *builder) stepFull(x *seen) *Step {
	if !(x.fullA > 0) {
		return nil
	}
	return &Step{What: "own field at full scale", Formula: "B = b I", Numbers: perAmpere(x.perA.Value) + " × " + si.Format(x.fullA, "A"),
		Result: si.Format(x.perA.Value*x.fullA, "T"), Source: "largest peak of continuous and peak duties of the layout"}
}

func (b *builder) stepRange(x *seen) *Step {
	a := b.rangeA(x.s)
	if !(a > 0) {
		return nil
	}
	part := b.l.PartOf(x.s)
	endT := math.Min(part.LinearHighT.V, -part.LinearLowT.V)
	formula := "I = B_end / b"
	if len(x.s.Elements()) > 1 {
		formula += " of the element with the largest own field"
	}
	return &Step{What: "own current that fills the linear range", Formula: formula,
		Numbers: si.Format(endT, "T") + " / " + perAmpere(endT/a),
		Result:  si.Format(a, "A"), Source: "linear range of part " + part.ID}
}

// stepStray adds the parts of the other bars, or circuits, in the main component of a duty.
func (b *builder) stepStray(x *seen, d *layout.Duty) *Step {
	m, _ := b.modelOf(d)
	parts := waveform.Of(b.l, d).Components
	main := 0
	for i := range parts {
		if largest(&parts[i]) > largest(&parts[main]) {
			main = i
		}
	}
	c := &parts[main]
	if len(b.l.Circuits) < 2 && x.s.Leg == layout.None || largest(c) == 0 {
		return nil
	}
	r, err := m.Read(x.s, c)
	if err != nil {
		return &Step{What: "stray in duty " + d.ID, Formula: "Σ bₖ Iₖ over the other " + b.noun() + "s, over b",
			Numbers: "not known: " + err.Error(), Result: "undecided", Source: "the model"}
	}
	var terms []string
	for k, p := range r.PerCircuit {
		if !x.s.Hears(layout.CircuitIndex(k)) || c.PeakA[k] == 0 {
			continue
		}
		terms = append(terms, fmt.Sprintf("%s: (%s) × (%s) = %s", b.l.Circuits[k].ID, polar(portable.Quotient(p.V, c.PeakA[k]), "T/A"),
			polar(c.PeakA[k], "A"), polar(p.V, "T")))
	}
	if len(terms) == 0 {
		return nil
	}
	own := portable.Abs(r.PerAmpere.V)
	result := si.Format(portable.Abs(r.Stray.V)/own, "A")
	if a := portable.Abs(r.OwnA); a > 0 {
		result += fmt.Sprintf(", %s of %s", si.Percent(portable.Abs(r.Stray.V)/own/a), si.Format(a, "A"))
	}
	return &Step{
		What:    fmt.Sprintf("stray in duty %s, %s, peak phasors", d.ID, hertz(c.FreqHz)),
		Formula: "I_stray = |Σ bₖ Iₖ| / b over the other " + b.noun() + "s",
		Numbers: strings.Join(terms, "; ") + "; sum " + polar(r.Stray.V, "T") + ", over " + perAmpere(own),
		Result:  result, Source: "bₖ from the model, Iₖ from the layout",
	}
}

// polar prints a phasor; what is real without an angle.
func polar(v complex128, unit string) string {
	if math.Abs(imag(v)) <= 1e-9*portable.Abs(v) {
		return value(real(v), unit)
	}
	return fmt.Sprintf("%s ∠ %.2f°", value(portable.Abs(v), unit), portable.Phase(v)*180/math.Pi)
}

func value(v float64, unit string) string {
	if base, ok := strings.CutSuffix(unit, "/A"); ok {
		return si.FormatDigits(v, base, 4) + "/A"
	}
	return si.FormatDigits(v, unit, 4)
}

func (b *builder) stepPlacement(x *seen) *Step {
	p := x.s.Placement
	if p == nil {
		return nil
	}
	for i := range b.l.Duties {
		d := &b.l.Duties[i]
		if d.Kind == layout.Fault || b.Model.OwnPeakA(x.s, d) == 0 {
			continue
		}
		r, err := b.Model.Placement(x.s, d)
		if err != nil {
			continue
		}
		return &Step{What: "placement in duty " + d.ID,
			Formula: "√(" + squares(r.Parts, func(p probe.Moving) string { return "Δ" + p.Name }) +
				"), each the larger change of the whole reading at ± its tolerance; worst corner computed",
			Numbers: "√(" + squares(r.Parts, func(p probe.Moving) string { return si.Percent(p.Change) }) + ")",
			Result:  fmt.Sprintf("%s; worst corner %s", si.Percent(r.Combined), si.Percent(r.Total.Value)), Source: "tolerances of the layout, changes from the model"}
	}
	return nil
}

// squares joins what say gives of each part as a sum of squares.
func squares(parts []probe.Moving, say func(probe.Moving) string) string {
	var out []string
	for _, p := range parts {
		out = append(out, say(p)+"²")
	}
	return strings.Join(out, " + ")
}

func (b *builder) stepEarth(x *seen) *Step {
	list, total, err := b.Model.Ambient(x.s)
	if err != nil || len(list) == 0 {
		return nil
	}
	var terms []string
	for _, o := range list {
		terms = append(terms, fmt.Sprintf("%s: %s / %s = %s", o.Name, si.Format(o.AxisT, "T"), perAmpere(x.perA.Value), si.Format(o.Amperes.Value, "A")))
	}
	return &Step{What: "foreign fields in amperes", Formula: "I = Σ B_foreign / b, worst signs and phases", Numbers: strings.Join(terms, "; "),
		Result: si.Format(total.Value, "A"),
		Source: "surroundings of the layout; 0.065 mT of the Earth: the largest at its surface"}
}

// stepChain works the straight line of each stage behind the element, and where the
// first of them ends.
func (b *builder) stepChain(x *seen) []Step {
	if x.chain == nil {
		return nil
	}
	var out []Step
	stages := x.chain.Chain.Stages()
	for i := range stages {
		g := &stages[i]
		if g.Name == channel.ElementStage || !figurable(g) {
			continue
		}
		s := Step{What: g.Name + " against current", Formula: "q = q₀ + k I",
			Numbers: fmt.Sprintf("q₀ = %s, k = %s/A", si.FormatDigits(g.Zero, g.Unit, 4), si.FormatDigits(g.PerA, g.Unit, 4)), Source: "data of part and readout; straight up to its ends (common practice)"}
		if g.Name == channel.OutputStage && x.chain.Chain.Output != nil {
			s.Numbers += fmt.Sprintf(", k = S b = %s × %s", si.Format(x.chain.Chain.Output.SensitivityVPerT, "V/T"), perAmpere(x.perA.Value))
		}
		s.Result = "no end that is known"
		if !math.IsNaN(g.PositiveA) && !math.IsInf(g.PositiveA, 0) {
			s.Result = fmt.Sprintf("ends at (%s − q₀)/k = %s and %s", si.Format(endOf(g), g.Unit), si.Format(g.PositiveA, "A"), end(g.NegativeA, "A"))
		}
		out = append(out, s)
	}
	if r := x.chain.Chain.Resolution(); r.StepA > 0 && !math.IsNaN(r.NoiseA) {
		out = append(out, Step{What: "smallest current",
			Formula: "6 × rms noise of part, amplifier and converter + step",
			Numbers: fmt.Sprintf("step %s, noise %s rms", si.Format(r.StepA, "A"),
				si.Format(portable.Hypot(r.PartNoiseA, r.AnalogNoiseA), "A")),
			Result: si.Format(r.SmallestA(channel.NoiseFactor), "A"), Source: "W. R. Bennett, Bell System Technical Journal 27 (1948) 446; factor 6: L. A. Currie, Analytical Chemistry 40 (1968) 586"})
	}
	return out
}

// endOf is the end of a stage that a positive current meets.
func endOf(g *channel.Stage) float64 {
	if g.PerA < 0 {
		return g.Low
	}
	return g.High
}

// stepBudget adds the contributors of the budget.
func stepBudget(ranked *Ranked) *Step {
	if ranked == nil {
		return nil
	}
	var terms []string
	items := ranked.Ranking.Items
	for _, it := range items[:len(items)-1] {
		terms = append(terms, it.Name+" "+it.Text)
	}
	return &Step{What: "accuracy of the channel", Formula: "|Σ known errors| + 2 √(Σ u²), amounts listed as 2u or known error", Numbers: strings.Join(terms, "; "),
		Result: items[len(items)-1].Text, Source: "JCGM 100:2008, clauses 5.1.2 and 6.2.1"}
}
