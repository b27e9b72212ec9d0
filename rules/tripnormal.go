package rules

import (
	"cmp"
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/si"
	"busgauss/model/waveform"
	"busgauss/rules/engine"
)

// normalUse is the largest reading of normal use.
type normalUse struct {
	duty            string
	ownA            bounded.Estimate // what bar and shield add to it included
	addedA, rippleA float64
	strayA          bounded.Estimate
	noiseA, sumA    float64
	open            error // why other bars, ripple or a gain are not known; they count as nothing then
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
	top := use.strayA.Plus(t.errorA).Plus(use.ownA).Plus(bounded.Exact(use.rippleA + use.noiseA))
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
		Says: "normal use reaches", Rest: fmt.Sprintf("of its trip at %s", si.Format(t.trip.CurrentA, "A")), In: use.duty,
		Why: []string{fmt.Sprintf("It reaches %s", si.Format(top.Value, "A")),
			fmt.Sprintf("Of that: peak %s, ripple %s, other bars %s, noise %s, error %s", orNone(use.ownA.Value, "A"), orNone(use.rippleA, "A"),
				orNone(use.strayA.Value, "A"), orNone(use.noiseA, "A"), t.errorWords()), use.addedWords()},
		Remedy: func() string { return t.normalWays(use, top, limit.Value) },
	})
}

// addedWords says what bar and shield add to the own current at its frequencies.
func (u *normalUse) addedWords() string {
	if u.addedA < leastGain*u.ownA.Value {
		return ""
	}
	return fmt.Sprintf("Bar and shield add %s of the peak at its frequencies", si.Format(u.addedA, "A"))
}

// noiseA is the rms noise in amperes at the tap.
func (t *tripCase) noiseA() float64 {
	return t.x.Chain.Loudest().NoiseA
}

// normal returns the continuous or peak duty that comes nearest to the trip, and why what other bars, ripple or a gain
// add is not known in one of them.
func (t *tripCase) normal() (worst normalUse, open, err error) {
	l := t.run.Layout
	for i := range l.Duties {
		d := &l.Duties[i]
		if d.Kind == layout.Fault {
			continue
		}
		u := normalUse{duty: d.ID}
		if err = t.ownUse(d, &u); err != nil {
			return u, nil, err
		}
		if !l.Alone(t.s) {
			stray, err := t.run.Model.Stray(t.s, d)
			u.open = cmp.Or(err, u.open)
			if err == nil {
				let, err := t.run.Model.StrayLetIn(t.s, d)
				u.open = cmp.Or(err, u.open)
				u.strayA = stray.WholeA.Plus(bounded.Exact(let.SumA()))
			}
		}
		open = cmp.Or(open, u.open)
		u.sumA = u.ownA.High + u.rippleA + u.strayA.High
		if bounded.Leads(u.sumA, u.duty, worst.sumA, worst.duty) || math.IsNaN(u.sumA) {
			worst = u
		}
	}
	return worst, open, nil
}

// ownUse fills in the largest magnitude of the own current in duty d as it reaches the tap, what bar and shield
// add to it, how much ripple comes on top, and why some of that is not known.
func (t *tripCase) ownUse(d *layout.Duty, u *normalUse) error {
	own, err := t.run.Model.OwnCurrent(t.s, d)
	if err != nil {
		return err
	}
	calm := *own
	calm.Lines = nil
	var raised []waveform.Line
	mostA := 0.0
	for i, c := range t.run.Model.Currents(d).Components {
		line := own.Lines[i]
		if !c.Ripple() {
			calm.Lines = append(calm.Lines, line)
			by, err := t.raise(d, line)
			if err != nil {
				u.open = err
			}
			sizeA := portable.Abs(line.V)
			mostA += float64(sizeA * by.High)
			line.V = portable.Times(line.V, complex(1+by.Value, 0))
			line.BoundAbs += float64(sizeA * max(by.High-by.Value, by.Value-by.Low))
			raised = append(raised, line)
			continue
		}
		if line.V == 0 {
			continue
		}
		share, err := t.passed(d, c.FreqHz)
		if err != nil {
			u.open = err
			continue
		}
		u.rippleA += float64(portable.Abs(line.V) * share)
	}
	declaredA := calm.PeakAbs().High
	u.ownA = bounded.Exact(declaredA)
	if mostA > 0 {
		calm.Lines, calm.Exact = raised, nil
		peak := calm.PeakAbs()
		u.ownA = bounded.Most(u.ownA, bounded.Estimate{Value: peak.Value, Low: peak.Low, High: min(peak.High, declaredA+mostA)})
		u.ownA.Value = min(u.ownA.Value, u.ownA.High)
	}
	u.addedA = u.ownA.Value - declaredA
	u.ownA = u.ownA.Plus(bounded.Exact(t.run.Model.LegSpreadA(t.s, d)))
	return nil
}

// raise is what bar and shield add to a line of the own current in duty d, as a share of it: what they take away is not
// counted upon, and what is not known adds nothing.
func (t *tripCase) raise(d *layout.Duty, line waveform.Line) (bounded.Estimate, error) {
	if line.FreqHz == 0 || line.V == 0 {
		return bounded.Estimate{}, nil
	}
	g, err := t.run.Model.For(d).Gain(t.s, line.FreqHz)
	if err != nil {
		return bounded.Estimate{}, err
	}
	return bounded.Most(g.Change, bounded.Exact(0)), nil
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
	if use.rippleA > 0.05*use.ownA.Value {
		way += ", or a filter that takes the ripple away"
	}
	return way
}
