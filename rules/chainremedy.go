package rules

import (
	"fmt"
	"math"

	"busgauss/model/channel"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// chainRemedy names each single change along the channel that carries the
// currents needed, with its number: the sensitivity to program, the divider, the
// gain, the range of the part, the step of the number. Every one is tried as it is
// printed before it is named.
func chainRemedy(run *engine.Run, s *layout.Sensor, x *channel.Sensed, need *channel.Filled, limit float64) remedy.Ways {
	return waysOut(run, "no single change of sensitivity, divider, gain, part or number passes: shift the zero of the part or of the amplifier to the middle of the stages behind it",
		sensitivityWay(s, x, need, limit),
		dividerWay(s, x, need, limit),
		gainWay(s, x, need, limit),
		way{text: partWay(x, need, limit)},
		numberWay(s, x, need, limit),
	)
}

// carries reports whether a chain carries what is needed in both directions,
// bounds and tolerances included.
func carries(x *channel.Sensed, need *channel.Filled, limit float64) bool {
	for _, positive := range []bool{true, false} {
		f := need.Way(positive)
		if f.FieldT.Value == 0 {
			continue
		}
		if t := x.Taken(f, positive); len(t.Clip.Unknown) > 0 || t.Swallows || !(t.Share.High <= limit) {
			return false
		}
	}
	for _, st := range x.Chain.Stages() {
		if st.PositiveA < 0 || st.NegativeA > 0 {
			return false
		}
	}
	return true
}

// slopeAfter adds the firmware constant that belongs to a changed chain.
func slopeAfter(x *channel.Sensed) string {
	if x.Chain.Firmware == nil {
		return ""
	}
	zero, perA := x.Chain.Counts()
	out := fmt.Sprintf(", with a firmware slope of %s per count", si.FormatDigits(1/perA, "A", 5))
	if !math.IsNaN(x.Chain.Firmware.ZeroCounts) {
		out += fmt.Sprintf(" and a firmware zero of %s", si.FormatDigits(zero, "", 6))
	}
	return out
}

// followed puts the conversion that belongs to a chain into its firmware.
func followed(c *channel.Chain) {
	if c.Firmware == nil {
		return
	}
	zero, perA := c.Counts()
	c.Firmware.SlopeAPerCount = 1 / perA
	if !math.IsNaN(c.Firmware.ZeroCounts) {
		c.Firmware.ZeroCounts = zero
	}
}

func sensitivityWay(s *layout.Sensor, x *channel.Sensed, need *channel.Filled, limit float64) way {
	p := x.Chain.Output
	if p == nil {
		return way{}
	}
	top := x.LargestSensitivityVPerT(need, limit)
	if !(math.Abs(top) < math.Abs(p.SensitivityVPerT)) {
		return way{}
	}
	// A step down for each try: the field's bound may ask for a little less.
	for k := range 20 {
		v := neat(top*(1-float64(0.005*float64(k))), false)
		y := x.Edited(func(c *channel.Chain) { c.Output.SensitivityVPerT = v; followed(c) })
		if !carries(y, need, limit) {
			continue
		}
		was := si.Format(p.SensitivityVPerT, "V/T")
		switch {
		case p.Settable(v):
			return way{fmt.Sprintf("program a sensitivity of %s instead of %s%s", si.Format(v, "V/T"), was, slopeAfter(y)),
				partAs(s, y, func(p *layout.Part) { p.SensitivityVPerT.V = v })}
		case math.IsNaN(p.FromVPerT):
			return way{text: fmt.Sprintf("a part with a sensitivity of %s instead of %s%s", si.Format(v, "V/T"), was, slopeAfter(y))}
		default:
			return way{text: fmt.Sprintf("a part with a sensitivity of %s, below what this one can be set to, %s%s", si.Format(v, "V/T"), si.Format(p.FromVPerT, "V/T"), slopeAfter(y))}
		}
	}
	return way{}
}

// divideBottomOhm is the lower resistor of a divider that is not there yet.
const divideBottomOhm = 10e3

func dividerWay(s *layout.Sensor, x *channel.Sensed, need *channel.Filled, limit float64) way {
	c := x.Chain
	if c.Converter == nil {
		return way{}
	}
	ratio := c.LargestDividerRatio(x.EquivalentA(&need.Positive).High/limit, x.EquivalentA(&need.Negative).High/limit)
	if !(ratio < 1) {
		return way{}
	}
	bottom, has := divideBottomOhm, c.Divider != nil
	if has {
		bottom = c.Divider.BottomOhm
		if ratio >= c.Divider.Ratio(0, 0) && carries(x, need, limit) {
			return way{}
		}
	}
	for k := range 40 {
		r := ratio * (1 - float64(0.005*float64(k)))
		top := neat(bottom*(1/r-1), true)
		y := x.Edited(func(c *channel.Chain) {
			if c.Divider == nil {
				c.Divider = &channel.Divider{BottomOhm: bottom}
			}
			c.Divider.TopOhm = top
			followed(c)
		})
		if !carries(y, need, limit) {
			continue
		}
		if !has {
			return way{text: fmt.Sprintf("a divider of %s over %s before the converter", si.Format(top, "ohm"), si.Format(bottom, "ohm")) + slopeAfter(y)}
		}
		return way{fmt.Sprintf("an upper resistor of the divider of %s instead of %s", si.Format(top, "ohm"), si.Format(c.Divider.TopOhm, "ohm")) +
			slopeAfter(y), stagesAs(s, y, func(r *layout.Stages) { r.Divider.TopOhm.V = top })}
	}
	return way{}
}

func gainWay(s *layout.Sensor, x *channel.Sensed, need *channel.Filled, limit float64) way {
	if x.Chain.Amplifier == nil {
		return way{}
	}
	was := x.Chain.Amplifier.Gain
	for k := 1; k < 60; k++ {
		g := neat(was*portable.Pow(0.95, float64(k)), false)
		y := x.Edited(func(c *channel.Chain) { c.Amplifier.Gain = g; followed(c) })
		if carries(y, need, limit) {
			return way{fmt.Sprintf("a gain of the amplifier of %s instead of %s%s", si.Format(g, ""), si.Format(was, ""), slopeAfter(y)),
				stagesAs(s, y, func(r *layout.Stages) { r.Amplifier.Gain.V = g })}
		}
	}
	return way{}
}

// partWay names a part whose element holds the currents, where nothing else clips.
func partWay(x *channel.Sensed, need *channel.Filled, limit float64) string {
	e := x.Chain.Element
	if !(e.HighT == -e.LowT) || math.IsInf(e.HighT, 0) {
		return ""
	}
	end := e.HighT
	for range 40 {
		end = roundUp(end * 1.0001)
		y := x.Edited(func(c *channel.Chain) { c.Element.LowT, c.Element.HighT = -end, end })
		if carries(y, need, limit) {
			return fmt.Sprintf("a part linear to %s at the same sensitivity", si.Format(end, "T"))
		}
	}
	return ""
}

func numberWay(s *layout.Sensor, x *channel.Sensed, need *channel.Filled, limit float64) way {
	n := x.Chain.Number
	if n == nil {
		return way{}
	}
	for k := 1; k < 200; k++ {
		step := neat(n.PerCountA*portable.Pow(1.05, float64(k)), true)
		if carries(x.Edited(func(c *channel.Chain) { c.Number.PerCountA = step }), need, limit) {
			return way{fmt.Sprintf("a number of %s per count instead of %s", si.Format(step, "A"), si.Format(n.PerCountA, "A")),
				stagesAs(s, nil, func(r *layout.Stages) { r.Number.PerCountA.V = step })}
		}
	}
	return way{}
}
