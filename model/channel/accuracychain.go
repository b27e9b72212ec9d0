package channel

import (
	"fmt"
	"math"

	"busgauss/model/portable"
	"busgauss/model/uncertainty"
)

// datum says in what unit a source of the chain moves, by how much, and which data
// of the layout it hangs on.
type datum struct {
	unit  string
	half  float64
	tails []string
}

// structure are the data without which no number comes out of the chain.
var structure = []string{"part", "sensitivity.set", "output.zero", "readout", "converter", "converter.high", "converter.bits",
	"number.width", "number.per-count", "number.signed"}

// chain adds what the channel itself does, from the sources of the chain. A
// tolerance that the layout leaves open is not taken as none here, whatever other
// checks assume.
func (b *accuracyBuilder) chain() {
	c := b.x.Chain
	data := chainData(c)
	open := b.x.openTails(structure)
	if len(open) > 0 {
		line := zeroLine("chain behind the field", GroupZero, uncertainty.Within(math.NaN()), always)
		line.Missing = open
		b.add(line)
	}
	for _, src := range c.Sources() {
		d, ok := data[src.Name]
		if !ok {
			continue // the field's part has lines of its own
		}
		line := AccuracyLine{Name: src.Name, Group: groupOf(src.Name), Unit: d.unit, Spread: uncertainty.Within(d.half), Cause: src.Cause, Fixed: true,
			Missing: b.x.openTails(d.tails)}
		switch {
		case src.Shape == Normal:
			line.Spread = uncertainty.Standard(d.half)
		case src.Name == "divider":
			// The sum of two resistors of equal tolerance each.
			line.Spread = uncertainty.WithinMostlyMiddle(d.half)
		}
		if d.half != 0 {
			line.ZeroPerUnit, line.SharePerUnit = src.ZeroA/d.half, src.Share/d.half
		}
		line.LeftZero, line.LeftGain = always, always
		if src.Removed != ByNothing {
			line.LeftZero, line.LeftGain = tillZero, tillOnePoint
		}
		if len(line.Missing) > 0 {
			// Which part is open is known even where the number is not.
			line.Spread.Half = math.NaN()
			line.ZeroPerUnit, line.SharePerUnit = partOf(src.Name)
		} else if len(open) > 0 && math.IsNaN(line.ZeroPerUnit+line.SharePerUnit) {
			continue // the chain is open already
		}
		b.add(line)
	}
	b.firmware()
}

// firmware adds the error of the conversion that is declared.
func (b *accuracyBuilder) firmware() {
	f, ok := b.x.Chain.CheckFirmware()
	if !ok || math.IsNaN(f.Relative) {
		return
	}
	slope := shareLine("declared slope against computed", GroupGain, uncertainty.Spread{}, tillOnePoint)
	b.add(known(slope, f.Relative))
	if !math.IsNaN(f.ZeroErrorA) {
		zero := zeroLine("declared zero against computed", GroupZero, uncertainty.Spread{}, tillZero)
		zero.Fixed = true
		b.add(known(zero, f.ZeroErrorA))
	}
}

// partOf says which part a source has when its size is not known: amperes at no
// current, a share of the reading, or both.
func partOf(name string) (zero, share float64) {
	switch name {
	case "sensitivity", "sensitivity over temperature", "sensitivity over life", "amplifier gain":
		return 0, 1
	case "supply", "divider", "converter reference":
		return 1, 1
	}
	return 1, 0
}

// groupOf returns the group of a source of the chain.
func groupOf(name string) Group {
	switch name {
	case "offset", "amplifier offset":
		return GroupZero
	case "sensitivity over temperature", "sensitivity over life", "offset over temperature", "offset over life", "supply", "hysteresis":
		return GroupDrift
	case "non-linearity":
		return GroupForm
	case "converter step", "step of the number", "noise":
		return GroupRandom
	}
	return GroupGain
}

// chainData returns the data behind each source of the chain.
func chainData(c *Chain) map[string]datum {
	d := c.Drift
	out := map[string]datum{
		"hysteresis":    {"T", d.HysteresisT, []string{"hysteresis"}},
		"non-linearity": {"1", d.NonLinearity, []string{"non-linearity", "linear-range"}},
		"noise":         {"A", math.NaN(), []string{"noise", "bandwidth"}},
	}
	r := c.Loudest()
	out["noise"] = datum{"A", portable.Hypot(r.PartNoiseA, r.AnalogNoiseA), []string{"noise", "bandwidth"}}
	if p := c.Output; p != nil {
		out["sensitivity"] = datum{"1", p.SensitivityTol, []string{"sensitivity.tolerance"}}
		out["sensitivity over temperature"] = datum{"K", d.SpanK, []string{"sensitivity.drift", "temperature"}}
		out["sensitivity over life"] = datum{"1", d.SensitivityLife, []string{"sensitivity.life"}}
		out["offset"] = datum{"V", p.ZeroTolV, []string{"offset.initial"}}
		out["offset over temperature"] = datum{"K", d.SpanK, []string{"offset.drift", "temperature"}}
		out["offset over life"] = datum{"V", d.ZeroLifeV, []string{"offset.life"}}
		out["supply"] = datum{"1", p.SupplyTol, []string{"output.supply-tolerance"}}
	}
	if a := c.Amplifier; a != nil {
		out["amplifier gain"] = datum{"1", a.GainTol, []string{"amplifier.tolerance"}}
		out["amplifier offset"] = datum{"V", a.InputTolV, []string{"amplifier.offset"}}
	}
	if r := c.Divider; r != nil {
		out["divider"] = datum{"1", r.Tol, []string{"divider.tolerance"}}
	}
	if a := c.Converter; a != nil {
		out["converter reference"] = datum{"1", a.Tol, []string{"converter.tolerance"}}
		out["converter step"] = datum{"count", 0.5, nil}
	}
	if c.Number != nil {
		out["step of the number"] = datum{"count", 0.5, nil}
	}
	return out
}

// Unstated returns the tolerances that the layout leaves open, and that are taken as
// none, of everything that a calibration of that kind does not take away: what an
// error of the channel must not pass without.
func (x *Sensed) Unstated(by Calibration) []Missing {
	var out []Missing
	data := chainData(x.Chain)
	for _, src := range x.Chain.Sources() {
		d, ok := data[src.Name]
		if !ok || src.Removed != ByNothing && src.Removed <= by {
			continue
		}
		for _, m := range x.Missing {
			if !m.Undecided && within(x.tail(m.Key), d.tails) {
				m.Text = fmt.Sprintf("nothing says how far off the %s may be", src.Name)
				out = append(out, m)
			}
		}
	}
	return out
}

// openTails returns the keys that the layout leaves open among the tails, assumed
// ones too.
func (x *Sensed) openTails(tails []string) []string {
	var out []string
	for _, m := range x.Missing {
		if within(x.tail(m.Key), tails) {
			out = append(out, m.Key)
		}
	}
	return out
}
