package rules

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/engine"
)

// normalUse is the largest reading of normal use.
type normalUse struct {
	duty                 string
	ownA, rippleA        float64
	strayA               bounded.Estimate
	noiseA, reachA, sumA float64
	open                 error // why other bars or ripple are not known; they count as nothing then
}

// judgeNormal holds the trip against the largest reading of normal use.
func (t *tripCase) judgeNormal() {
	noiseA := t.noiseA()
	use, open, err := t.normal()
	if err != nil {
		undecided(t.run, t.s, "normal use", err)
		return
	}
	if use.duty == "" {
		return // the range has been judged; there is no normal use to compare with
	}
	quiet := finite(noiseA)
	use.noiseA = channel.NoiseCrest * noiseA
	if !quiet {
		use.noiseA = 0
	}
	limit := t.run.Limit("normal", t.s.ID)
	top := use.strayA.Plus(t.errorA).Plus(bounded.Exact(use.ownA + use.rippleA + use.noiseA))
	share := top.Scale(1 / t.trip.CurrentA)
	fails := engine.Decide(share, limit.Value, false) == finding.Fail
	if open != nil && !fails {
		undecided(t.run, t.s, "normal use", open)
		return
	}
	if (!quiet || !t.sound) && !fails {
		missing := []channel.Missing(nil)
		if !quiet {
			missing = append(missing, t.dataFor("part", "noise", "bandwidth", "sensitivity.set", "converter", "converter.high", "converter.bits")...)
		}
		if !t.sound {
			missing = append(missing, t.errorData()...)
		}
		withoutData(t.run, t.s, "normal use", "the distance of the trip from normal use", missing)
		return
	}
	t.run.Judge(engine.Case{
		Object: t.s.ID, Others: []string{t.run.Layout.Bars[t.s.Reads].ID}, Cause: "normal use", Span: t.at,
		Found: share, Limit: limit, WholeA: t.trip.CurrentA,
		Message: fmt.Sprintf("duty %q brings sensor %q to %s, %s of its trip of %s: peak %s, ripple %s, other bars %s, noise %s, error %s", use.duty, t.s.ID,
			si.Format(top.Value, "A"), beside(share.Value, limit.Value), si.Format(t.trip.CurrentA, "A"), orNone(use.ownA, "A"), orNone(use.rippleA, "A"), orNone(use.strayA.Value, "A"),
			orNone(use.noiseA, "A"), t.errorWords()),
		Remedy: func() string { return t.normalWays(use, top, limit.Value) },
	})
}

// noiseA is the rms noise in amperes at the tap.
func (t *tripCase) noiseA() float64 {
	return t.x.Chain.Loudest().NoiseA
}

// normal returns the continuous or peak duty that comes nearest to the trip, and why what other bars or ripple add is
// not known in one of them.
func (t *tripCase) normal() (worst normalUse, open, err error) {
	l := t.run.Layout
	for i := range l.Duties {
		d := &l.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		u := normalUse{duty: d.ID}
		if u.ownA, u.rippleA, u.open, err = t.ownUse(d); err != nil {
			return u, nil, err
		}
		if !l.Alone(t.s) {
			stray, err := t.run.Model.Stray(t.s, d)
			u.open = cmp.Or(err, u.open)
			if err == nil {
				u.strayA = stray.WholeA
			}
		}
		open = cmp.Or(open, u.open)
		u.sumA = u.ownA + u.rippleA + u.strayA.High
		if worst.duty == "" || u.sumA > worst.sumA || math.IsNaN(u.sumA) {
			worst = u
		}
	}
	return worst, open, nil
}

// ownUse returns the largest magnitude of the own current in duty d as it reaches the tap, and
// how much of it ripple adds; open says why that is not known of some.
func (t *tripCase) ownUse(d *layout.Duty) (ownA, rippleA float64, open, err error) {
	own, err := t.run.Model.OwnCurrent(t.s, d)
	if err != nil {
		return 0, 0, nil, err
	}
	calm := *own
	calm.Lines = nil
	for i, c := range waveform.Of(t.run.Layout, d).Components {
		line := own.Lines[i]
		if !c.Ripple() {
			calm.Lines = append(calm.Lines, line)
			continue
		}
		if line.V == 0 {
			continue
		}
		share, err := t.passed(d, c.FreqHz)
		if err != nil {
			open = err
			continue
		}
		rippleA += cmplx.Abs(line.V) * share
	}
	return calm.PeakAbs().High, rippleA, open, nil
}

// passed is the share of a ripple that comes through to the tap; what is not known
// takes nothing away.
func (t *tripCase) passed(d *layout.Duty, freqHz float64) (float64, error) {
	g, err := t.run.Model.For(d).Gain(t.s, freqHz)
	if err != nil {
		return 0, err
	}
	timing, _ := t.x.Chain.Timing.Quickest().KnownOnly()
	timing.Hold = false
	return timing.At(freqHz, channel.FieldGain(g)).Amplitude, nil
}

// normalWays names the least trip current that normal use does not reach.
func (t *tripCase) normalWays(use normalUse, top bounded.Estimate, limit float64) string {
	errorShare := t.errorA.High / t.trip.CurrentA
	if errorShare >= limit {
		return fmt.Sprintf("the error of %s must fall first: calibrate, or take a part of smaller tolerances", si.Format(t.errorA.Value, "A"))
	}
	least := neat((top.High-t.errorA.High)/(limit-errorShare), true)
	way := fmt.Sprintf("a trip of %s", si.Format(least, "A"))
	if use.rippleA > 0.05*use.ownA {
		way += ", or a filter that takes the ripple away"
	}
	return way
}
