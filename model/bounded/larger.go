package bounded

import (
	"cmp"
	"math"
	"slices"
)

// AlikeRel is the share by which one number must exceed another to count as the larger: what round-off favours names nothing.
const AlikeRel = 1e-9

// alike reports whether two numbers differ by no more than round-off.
func alike(a, b float64) bool {
	return a == b || math.Abs(a-b) <= AlikeRel*math.Max(math.Abs(a), math.Abs(b)) && !math.IsInf(a-b, 0)
}

// Leads reports whether what is called name, with a value, comes before the one found so far, called of, with the value top:
// the larger does, and of alike ones the one whose name comes first, whichever a layout lists first. Without a name there is
// none so far. NaN never leads one that has a name.
func Leads(value float64, name string, top float64, of string) bool {
	switch {
	case of == "":
		return true
	case alike(value, top):
		return name < of
	}
	return value > top
}

// Rank sorts a list by falling values, those alike by name. A value counts as alike to the largest of its kind, so that
// a chain of small steps does not join what is far apart. NaN comes last.
func Rank[T any](list []T, value func(T) float64, name func(T) string) {
	slices.SortStableFunc(list, func(a, b T) int { return cmp.Compare(value(b), value(a)) })
	for from := 0; from < len(list); {
		to := from + 1
		for to < len(list) && alike(value(list[to]), value(list[from])) {
			to++
		}
		slices.SortStableFunc(list[from:to], func(a, b T) int { return cmp.Compare(name(a), name(b)) })
		from = to
	}
}
