package rules

import (
	"fmt"
	"math"
	"strings"

	"busgauss/model/bounded"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/model/remedy"
	"busgauss/model/si"
	"busgauss/rules/engine"
)

// GainWithFrequency reports a sensor whose own reading per ampere at the
// fundamental of a duty differs from that at direct current: bar and shield part.
//
//	Quantity  change of the amplitude |G| − 1, pure number, and phase lag −arg G, rad; G = B_own·u at f over B_own·u at
//	          0 Hz, per ampere; the worse of the two against its limit, at the worst fundamental
//	Formula   field with eddy currents in the own bar, in idle neighbours and in shields; in space that at steady current,
//	          carried to the frequency by the plane section; walls of declared depth in space, of solid steel too
//	Valid     bound of the change, not of either side; where it is carried the whole change counts into it if a conducting
//	          piece is shorter than three of its widths or ends within three of them; undecided where the field is not known. Harmonics and ripple are named, not judged: how
//	          much they weigh hangs on their share of the current
//	Source    common practice: five per cent and five degrees, beyond which a channel needs a correction with frequency
//	Not seen  part, filter and delay, which come on top; walls beyond the clear distance, which answer to frequency alone
var GainWithFrequency = engine.Rule{
	ID:    "gain-with-frequency",
	Title: "bar and shield change a sensor's gain or phase with frequency",
	Level: finding.Warning,
	Limits: []engine.Limit{{
		Key: "amplitude", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.OwnCurrent},
		Reason: "common practice: five per cent of the gain at direct current",
	}, {
		Key: "phase", Unit: "rad", Default: 5 * math.Pi / 180,
		Reason: "common practice: five degrees",
	}},
	Check:    checkGainWithFrequency,
	OfFields: true,
}

// gainCase is one of the two quantities of a gain at one use.
type gainCase struct {
	gain  probe.Gain
	use   probe.Use
	key   string // of the limit
	found bounded.Estimate
	limit engine.Bound
}

// worse reports whether c stands worse against its limit than d: a failure
// before all else, then what may come nearest to the limit.
func (c *gainCase) worse(d *gainCase) bool {
	fails := func(g *gainCase) bool {
		return engine.Decide(g.found, g.limit.Value, false) == finding.Fail
	}
	if a, b := fails(c), fails(d); a != b {
		return a
	}
	a, b := c.found.High/c.limit.Value, d.found.High/d.limit.Value
	return math.IsNaN(a) || a > b
}

func gainPart(g probe.Gain, key string) bounded.Estimate {
	if key == "phase" {
		return g.LagRad.Magnitude()
	}
	return g.Change.Magnitude()
}

func checkGainWithFrequency(run *engine.Run) {
	eachSensor(run, func(i layout.SensorIndex, s *layout.Sensor) {
		var worst *gainCase
		var notes []string
		told, open := "", false
		for _, u := range run.Model.UsesOf(s) {
			g, err := run.Model.For(u.Duty).Gain(s, u.Part.FreqHz)
			if err != nil {
				if open = true; told != err.Error() { // one reason for many frequencies is said once
					undecided(run, s, u.Duty.ID, err)
				}
				told = err.Error()
				continue
			}
			if !run.Model.MainOf(s, &u) {
				notes = append(notes, fmt.Sprintf("%s of duty %q at %s reads %s", u.Part.Role, u.Duty.ID, si.Format(u.Part.FreqHz, "Hz"), gainWords(g)))
				continue
			}
			for _, key := range []string{"amplitude", "phase"} {
				c := &gainCase{gain: g, use: u, key: key, found: gainPart(g, key), limit: run.Limit(key, s.ID)}
				if worst == nil || c.worse(worst) {
					worst = c
				}
			}
		}
		switch {
		case worst != nil:
			judgeGain(run, i, s, worst, notes)
		case open:
		case len(notes) > 0:
			run.Pass(s.ID, s.Span, "reads no fundamental to judge. Not judged: %s, bar and shield part", strings.Join(notes, ", "))
		default:
			run.NotApplicable(s.ID, s.Span, "reads no alternating current in any duty")
		}
	})
}

func judgeGain(run *engine.Run, i layout.SensorIndex, s *layout.Sensor, c *gainCase, notes []string) {
	why := []string{fmt.Sprintf("It reads %s against direct current", gainWords(c.gain)),
		"That is the part of bars and shields, without part, filter and delay"}
	if full := run.Model.FullScaleA(s); full > 0 && math.Abs(c.gain.Change.Value) >= leastGain {
		why = append(why, fmt.Sprintf("It makes %s at the full scale of %s", si.Format(c.gain.Change.Value*full, "A"), si.Format(full, "A")))
	}
	if len(notes) > 0 {
		why = append(why, "Not judged: "+strings.Join(notes, ", "))
	}
	key, duty, hz := c.key, c.use.Duty, c.use.Part.FreqHz
	run.Judge(engine.Case{
		Object: s.ID, Others: []string{run.Layout.Bars[s.Reads].ID}, Cause: duty.ID, Span: s.At.Span,
		Found: c.found, Limit: c.limit, Says: "reads", Rest: fmt.Sprintf("%s at %s", c.way(), si.Format(hz, "Hz")), In: duty.ID, Why: why,
		Related: []finding.Related{{Span: duty.Span, Message: fmt.Sprintf("the duty with %s", si.Format(hz, "Hz"))}},
		Ways: func() remedy.Ways {
			ways := betterPlace(run, i, c.limit, func(m *probe.Model, s *layout.Sensor) (bounded.Estimate, error) {
				g, err := m.For(duty).Gain(s, hz)
				return gainPart(g, key), err
			})
			ways.Also = fmt.Sprintf("a correction in firmware that divides by %.4g and advances by %.3g deg at %s",
				1+c.gain.Change.Value, c.gain.LagRad.Value*180/math.Pi, si.Format(hz, "Hz"))
			return ways
		},
	})
}

// way says to which side the judged part of a gain lies.
func (c *gainCase) way() string {
	switch {
	case c.gain.Change.Value == 0 && c.gain.LagRad.Value == 0:
		return "off"
	case c.key == "phase":
		return side(c.gain.LagRad.Value, "late", "early")
	}
	return side(c.gain.Change.Value, "high", "low")
}

// leastGain is the change from which on one is told: what is smaller is round-off of the field.
const leastGain = 1e-7

// gainWords says a gain: "20.5 % low and 6.60 deg late". Where a uniform current
// density stands for the field, the change itself is not known but only its bound:
// "within 0.2 % and 1.1 deg".
func gainWords(g probe.Gain) string {
	if g.Change.Value == 0 && g.LagRad.Value == 0 {
		return fmt.Sprintf("within %s and %s", si.Percent(g.Change.Magnitude().High), si.Format(g.LagRad.Magnitude().High, "rad"))
	}
	change, lag := "as at direct current", "in phase"
	if v := g.Change.Value; math.Abs(v) >= leastGain {
		change = si.Percent(math.Abs(v)) + side(v, " high", " low")
	}
	if v := g.LagRad.Value; math.Abs(v) >= leastGain {
		lag = si.Format(math.Abs(v), "rad") + side(v, " late", " early")
	}
	return change + " and " + lag
}

// side is up for a positive number.
func side(v float64, up, down string) string {
	if v < 0 {
		return down
	}
	return up
}
