package audit

import "busgauss/model/finding"

// Tally counts verdicts. A failure of the level note, on which nothing rests, is noted and is no failure.
type Tally struct{ Fail, Noted, Undecided, Permitted, Pass, NotApplicable int }

// Count counts verdicts; one that nobody set counts as undecided.
func Count(verdicts []Verdict) Tally {
	var t Tally
	for i := range verdicts {
		switch v := &verdicts[i]; {
		case v.Noted():
			t.Noted++
		case v.Verdict == finding.Fail:
			t.Fail++
		case v.Verdict == finding.Permitted:
			t.Permitted++
		case v.Verdict == finding.Pass:
			t.Pass++
		case v.Verdict == finding.NotApplicable:
			t.NotApplicable++
		default:
			t.Undecided++
		}
	}
	return t
}

// Plus returns the counts of t and u together.
func (t Tally) Plus(u Tally) Tally {
	return Tally{t.Fail + u.Fail, t.Noted + u.Noted, t.Undecided + u.Undecided, t.Permitted + u.Permitted,
		t.Pass + u.Pass, t.NotApplicable + u.NotApplicable}
}

// Judged is how many verdicts there are where a rule asks.
func (t Tally) Judged() int { return t.Fail + t.Noted + t.Undecided + t.Permitted + t.Pass }

// Noted reports whether v fails as a note only.
func (v *Verdict) Noted() bool { return v.Verdict == finding.Fail && v.Level == finding.Note }

// rank is the order of verdicts, those to look at first.
func (v *Verdict) rank() int {
	switch {
	case v.Noted():
		return 2
	case v.Verdict == finding.Fail:
		return 0
	case v.Verdict == finding.Permitted:
		return 3
	case v.Verdict == finding.Pass:
		return 4
	case v.Verdict == finding.NotApplicable:
		return 5
	}
	return 1 // no verdict is none to rely on
}
