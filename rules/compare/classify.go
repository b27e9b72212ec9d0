package compare

import (
	"math"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

// unknownCertainty is the share of its limit by which a number may move that
// does not say how certain it is. Common practice: more than a number moves
// between two meshes, less than a change that somebody makes.
const unknownCertainty = 0.01

// ownError is the share of the bounds of two numbers by which a change of a layout moves them apart for other
// reasons than itself: both come from one model, whose error is nearly the same in both. Moving every wall of four
// shielded layouts by 0.02 to 0.1 % moved no number in space by more than 0.025 of its bounds.
const ownError = 0.1

// roundOff is the share of a number that arithmetic and printing may take.
const roundOff = 1e-6

// rank orders verdicts by how bad they are.
func rank(v finding.Verdict) int {
	switch v {
	case finding.Pass:
		return 0
	case finding.Permitted:
		return 1
	case finding.Undecided, finding.Fail:
		return 2
	}
	return 3 // a verdict that nobody set
}

// classify returns the class of a verdict on one object.
//
// A verdict is worse when it is a worse one, has a higher level, or its number
// moved to the bad side, or its margin fell, by more than the model is certain of the
// difference; a looser limit does not make up for a number that got worse. It is
// better when none of that holds and the verdict, the level or the margin is
// better. Between fail and undecided the numbers decide; without them knowing less
// is worse, and so is knowing that it fails.
func classify(before, after *finding.Finding) Class {
	switch {
	case before == nil:
		return New
	case after == nil:
		return Gone
	}
	by := rank(after.Verdict) - rank(before.Verdict)
	if by == 0 && after.Verdict != before.Verdict {
		if n, ok := numbers(before.Measure, after.Measure); ok && n != Same {
			return n
		}
		return Worse
	}
	if by > 0 {
		return Worse
	}
	n, _ := numbers(before.Measure, after.Measure)
	level := int(after.Level) - int(before.Level)
	if by < 0 {
		level = 0 // a pass has no level
	}
	switch {
	case n == Worse || level > 0:
		return Worse
	case n == Better || level < 0 || by < 0:
		return Better
	}
	return Same
}

// numbers compares two measures; ok is false where they cannot be.
func numbers(a, b *finding.Measure) (c Class, ok bool) {
	if a == nil || b == nil || a.Unit != b.Unit || a.AtLeast != b.AtLeast || !finite(a.Value, a.Limit, b.Value, b.Limit) {
		return Same, false
	}
	moved := b.Value - a.Value // to the bad side
	if a.AtLeast {
		moved = -moved
	}
	margin := b.Margin() - a.Margin()
	da, db := doubt(a), doubt(b)
	off, tolerance := differenceOff(da, db), differenceOff(da/scale(a), db/scale(b))
	if !finite(a.Certainty, b.Certainty) {
		off, tolerance = da+db, da/scale(a)+db/scale(b)
	}
	switch {
	case moved > off, margin < -tolerance:
		return Worse, true
	case margin > tolerance:
		return Better, true
	}
	return Same, true
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// doubt returns by how much a number may be off, in its unit.
func doubt(m *finding.Measure) float64 {
	d := float64(math.Abs(m.Value) * roundOff)
	if finite(m.Certainty) {
		return d + math.Abs(m.Value*m.Certainty)
	}
	return d + float64(math.Abs(m.Limit)*unknownCertainty)
}

// differenceOff returns by how much the difference of two numbers may be off, of which one may be off by da, the other by db.
func differenceOff(da, db float64) float64 { return math.Abs(da-db) + float64(ownError*(da+db)) }

// scale is what a margin is a share of.
func scale(m *finding.Measure) float64 {
	if m.Limit == 0 {
		return 1
	}
	return math.Abs(m.Limit)
}

// limitWas returns the limit before in words where it is another one after.
func limitWas(before, after *finding.Finding) string {
	if before == nil || after == nil || before.Measure == nil || after.Measure == nil {
		return ""
	}
	a, b := before.Measure, after.Measure
	if a.Unit != b.Unit || a.AtLeast != b.AtLeast || math.Abs(a.Limit-b.Limit) <= roundOff*math.Abs(a.Limit) {
		return ""
	}
	word := "tighter"
	if (b.Limit > a.Limit) != a.AtLeast {
		word = "looser"
	}
	return engine.Show(a.Limit, a.Unit) + ", now " + word
}
