package quantity

import (
	"fmt"
	"math"

	"busgauss/model/bounded"
	"busgauss/model/layout"
	"busgauss/rules/enforce"
)

// number defines a quantity with an SI unit: "1" for a share, empty for a count.
func number[T any](name, unit, doc string, of func(T) enforce.Value) definition[T] {
	return definition[T]{enforce.Quantity{Name: name, Type: enforce.Number, Unit: unit, Doc: doc}, of}
}

func text[T any](name, doc string, of func(T) string) definition[T] {
	return definition[T]{enforce.Quantity{Name: name, Type: enforce.Text, Doc: doc},
		func(x T) enforce.Value { return enforce.Word(of(x)) }}
}

func flag[T any](name, doc string, of func(T) bool) definition[T] {
	return definition[T]{enforce.Quantity{Name: name, Type: enforce.Flag, Doc: doc},
		func(x T) enforce.Value { return enforce.Truth(of(x)) }}
}

// eachKind defines one quantity for each kind of duty, its name and its
// description ending with that of the kind.
func eachKind[T any](name, unit, doc string, of func(T, layout.DutyKind) enforce.Value) []definition[T] {
	var out []definition[T]
	for _, k := range []layout.DutyKind{layout.Continuous, layout.Peak, layout.Fault} {
		out = append(out, number(name+"_"+k.String(), unit, fmt.Sprintf(doc, k),
			func(x T) enforce.Value { return of(x, k) }))
	}
	return out
}

// valued makes a value of an estimate. Bounds that are no numbers, or that miss
// the value by more than rounding, make it undecided.
func valued(e bounded.Estimate) enforce.Value {
	low, high, slack := e.Low, e.High, float64(1e-12*math.Abs(e.Value))
	if low > e.Value && low <= e.Value+slack {
		low = e.Value
	}
	if high < e.Value && high >= e.Value-slack {
		high = e.Value
	}
	return enforce.Num(e.Value, low, high)
}

// exactly makes a value of a number that has no bounds of its own.
func exactly(v float64) enforce.Value {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return undecided("it cannot be computed from the data given")
	}
	return enforce.Num(v, v, v)
}

func undecided(format string, args ...any) enforce.Value {
	return enforce.Undecided(fmt.Sprintf(format, args...))
}

// estimated makes a value of what a function of the model returns.
func estimated(e bounded.Estimate, err error) enforce.Value {
	if err != nil {
		return undecided("%v", err)
	}
	return valued(e)
}

// largest gathers the largest of several numbers; the zero value has none.
type largest struct {
	e   bounded.Estimate
	any bool
	err error
}

func (x *largest) add(e bounded.Estimate, err error) {
	switch {
	case x.err != nil:
	case err != nil:
		x.err = err
	case !x.any:
		x.e = e
	default:
		x.e = bounded.Most(x.e, e)
	}
	x.any = true
}

// value returns the largest, undecided where one of them is, and with the reason
// given where there are none: one that is not known may be the largest.
func (x *largest) value(none string, args ...any) enforce.Value {
	if !x.any {
		return undecided(none, args...)
	}
	return estimated(x.e, x.err)
}

// duties calls do for every duty of a kind; 0 stands for continuous and peak ones.
func (f *Facts) duties(k layout.DutyKind, do func(*layout.Duty)) {
	for i := range f.l.Duties {
		if d := &f.l.Duties[i]; d.Kind == k || k == 0 && d.Kind != layout.Fault {
			do(d)
		}
	}
}
