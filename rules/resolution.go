package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// Resolution reports a channel that cannot tell the smallest current that it is
// asked for from none.
//
//	Quantity  smallest current that one reading tells from none: six times the rms noise, and one step of the converter
//	          or of the number, A
//	Formula   density √B over volts per ampere, B the noise bandwidth of part and filter, or the rms of the part taken
//	          down by the filter; amplifier and converter; step/√12 for each step; root of the sum of squares
//	Valid     white noise; the filter's corner at the upper end of its tolerance, all else nominal; undecided where
//	          noise, step or bandwidth is not known
//	Source    three times the rms up to the threshold, as much again from there to the current, so that either is taken
//	          for the other in 0.13 % of readings: L. A. Currie, Analytical Chemistry 40 (1968) 586 (from memory), with
//	          k = 3, common practice; step/√12: W. R. Bennett, Bell System Technical Journal 27 (1948) 446
//	Not seen  averaging in firmware, noise of the supply, interference, the offset
var Resolution = engine.Rule{
	ID:      "resolution",
	Title:   "a channel does not resolve the smallest current",
	Level:   finding.Warning,
	Edition: 2,
	Needs: []engine.Need{{Key: "smallest-current",
		Of: func(n *layout.Need) layout.Num { return n.SmallestCurrentA }}},
	Check: checkResolution,
}

var resolutionTails = []string{"part", "sensitivity.set", "noise", "converter", "converter.high", "converter.bits", "number.width", "number.per-count"}

func checkResolution(run *engine.Run) {
	eachSensor(run, func(_ layout.SensorIndex, s *layout.Sensor) {
		if !equipped(run, s, true) {
			return
		}
		x, ok := chainOf(run, s)
		if !ok {
			return
		}
		r := x.Chain.Loudest()
		smallest, asked := run.Layout.NeedFor(s.ID, func(n *layout.Need) layout.Num { return n.SmallestCurrentA })
		if !asked {
			run.NotApplicable(s.ID, s.Span, "no smallest current is asked of it. %s", strings.Join(resolutionWords(r), ". "))
			return
		}
		found := x.Bounded(smallestA)
		limit := engine.Bound{Value: smallest.V, Unit: "A", Origin: `need "smallest-current" of the layout`, Span: smallest.Span}
		// A step alone can be too coarse whatever the noise is.
		if step := max(r.StepA, r.NumberStepA); !finite(found.Value) && step > limit.Value {
			found = x.Bounded(func(c *channel.Chain) float64 { r := c.Loudest(); return max(r.StepA, r.NumberStepA) })
		}
		if !finite(found.Value) || x.Chain.Converter == nil {
			missing := x.Open(resolutionTails...)
			if math.IsNaN(r.BandwidthHz) {
				missing = append(missing, x.Open("bandwidth")...)
			}
			if math.IsInf(r.AnalogNoiseA, 1) {
				missing = append(missing, channel.Missing{Key: "readout.filter", Span: run.Layout.ReadoutOf(s).Span, Text: "nothing is known to limit the noise of the amplifier"})
			}
			withoutData(run, s, "", "the resolution", missing)
			return
		}
		run.Judge(engine.Case{
			Object: s.ID, Span: s.Span, Found: found, Limit: limit,
			Says: "tells no less than", Rest: "from none", Why: resolutionWords(r),
			Ways: func() remedy.Ways { return finerWays(run, s, x, limit.Value) },
		})
	})
}

// smallestA is the smallest current that one reading of a chain tells from none.
func smallestA(c *channel.Chain) float64 { return c.Loudest().SmallestA(channel.NoiseFactor) }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// resolutionWords says what is known: "The converter steps by 350 mA".
func resolutionWords(r channel.Resolution) []string {
	var words []string
	add := func(v float64, format string) {
		if finite(v) && v != 0 {
			words = append(words, fmt.Sprintf(format, si.Format(v, "A")))
		}
	}
	add(r.StepA, "The converter steps by %s")
	add(r.NumberStepA, "The number counts by %s")
	add(r.PartNoiseA, "The part makes noise of %s rms")
	add(r.AnalogNoiseA, "Amplifier and converter make noise of %s rms")
	add(r.QuantisationA, "The steps make %s rms")
	if words == nil {
		return []string{"Neither step nor noise is known"}
	}
	if finite(r.BandwidthHz) {
		words = append(words, "The noise bandwidth is "+si.Format(r.BandwidthHz, "Hz"))
	}
	return words
}

// finerWays names each single change that resolves limitA, tried as printed.
func finerWays(run *engine.Run, s *layout.Sensor, x *channel.Sensed, limitA float64) remedy.Ways {
	fits := func(y *channel.Sensed) bool {
		return y.Bounded(smallestA).High <= limitA
	}
	return waysOut(run, "no single change of sensitivity, bits, filter or number passes: average readings, or take a part of less noise",
		moreSensitivity(run, s, x, fits),
		way{text: moreBits(x, fits)},
		lowerCorner(s, x, fits),
		finerNumber(s, x, fits),
	)
}

// moreSensitivity raises the sensitivity as far as needed, and not so far that the
// channel would clip.
func moreSensitivity(run *engine.Run, s *layout.Sensor, x *channel.Sensed, fits func(*channel.Sensed) bool) way {
	p := x.Chain.Output
	if p == nil {
		return way{}
	}
	need, err := channel.FillOf(run.Model, s, x, layout.Continuous, layout.Peak, layout.Fault)
	if err != nil {
		return way{}
	}
	top := x.LargestSensitivityVPerT(&need, 1)
	if !(math.Abs(top) > math.Abs(p.SensitivityVPerT)) {
		return way{}
	}
	for k := 1; k < 400; k++ {
		v := neat(p.SensitivityVPerT*portable.Pow(1.02, float64(k)), true)
		y := x.Edited(func(c *channel.Chain) { c.Output.SensitivityVPerT = v; followed(c) })
		if math.Abs(v) > math.Abs(top) || !carries(y, &need, 1) {
			return way{}
		}
		if !fits(y) {
			continue
		}
		if p.Settable(v) {
			return way{fmt.Sprintf("program a sensitivity of %s instead of %s%s", si.Format(v, "V/T"), si.Format(p.SensitivityVPerT, "V/T"), slopeAfter(y)),
				partAs(s, y, func(p *layout.Part) { p.SensitivityVPerT.V = v })}
		}
		return way{text: fmt.Sprintf("a part with a sensitivity of %s instead of %s%s", si.Format(v, "V/T"), si.Format(p.SensitivityVPerT, "V/T"), slopeAfter(y))}
	}
	return way{}
}

func moreBits(x *channel.Sensed, fits func(*channel.Sensed) bool) string {
	if x.Chain.Converter == nil {
		return ""
	}
	was := x.Chain.Converter.Bits
	for bits := was + 1; bits <= 24; bits++ {
		y := x.Edited(func(c *channel.Chain) {
			c.Converter.Bits = bits
			c.Noise.ConverterRMSCount *= portable.Exp2(bits - was) // the noise stays in volts
			followed(c)
		})
		if fits(y) {
			return fmt.Sprintf("a converter of %.0f bits instead of %.0f%s", bits, was, slopeAfter(y))
		}
	}
	return ""
}

// lowerCorner names the highest corner of a filter that lets through little enough
// noise.
func lowerCorner(s *layout.Sensor, x *channel.Sensed, fits func(*channel.Sensed) bool) way {
	t := x.Chain.Timing
	at := func(hz float64) *channel.Sensed {
		return x.Edited(func(c *channel.Chain) {
			c.Timing.Filter.CornerHz = hz
			if c.Timing.Filter.Order == 0 {
				c.Timing.Filter.Order = 1
			}
		})
	}
	top := t.Filter.CornerHz
	if t.Filter.Order == 0 {
		top = t.Part.CornerHz
	}
	if !(top > 0) || !fits(at(top*1e-9)) {
		return way{}
	}
	low, high := top*1e-9, top
	for range 60 {
		if mid := math.Sqrt(low * high); fits(at(mid)) {
			low = mid
		} else {
			high = mid
		}
	}
	hz := neat(low, false)
	if hz < 1e-3 {
		return way{}
	}
	text := fmt.Sprintf("a filter of %s, which makes the channel slower: see response", si.Format(hz, "Hz"))
	if !(t.Filter.CornerHz > 0) {
		return way{text: text}
	}
	return way{text, cornerAs(s, hz)}
}

func finerNumber(s *layout.Sensor, x *channel.Sensed, fits func(*channel.Sensed) bool) way {
	n := x.Chain.Number
	if n == nil {
		return way{}
	}
	for k := 1; k < 200; k++ {
		step := neat(n.PerCountA*portable.Pow(0.95, float64(k)), false)
		if fits(x.Edited(func(c *channel.Chain) { c.Number.PerCountA = step })) {
			return way{fmt.Sprintf("a number of %s per count instead of %s, as wide as its range then asks", si.Format(step, "A"), si.Format(n.PerCountA, "A")),
				stagesAs(s, nil, func(r *layout.Stages) { r.Number.PerCountA.V = step })}
		}
	}
	return way{}
}
