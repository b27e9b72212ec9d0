package enforce

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/interpreter"

	"busgauss/model/si"
)

// answer is what an expression gives for one object.
type answer uint8

const (
	open answer = iota // not decided
	yes
	no
)

// maxTries is the number of combinations of values within their bounds that are
// tried before a rule is left undecided.
const maxTries = 4096

// ask evaluates x at the values and at every combination of levels inside their
// bounds: low, value, high, and on both sides of each number of the expression
// and of zero that lies between. One answer everywhere is the answer; otherwise
// it is open and why says what it hangs on. Values that are not known are passed
// on as such: the language answers only where they do not matter.
//
// An expression that is linear in each quantity has its extremes at corners of
// the bounds, and one that compares a quantity with a number turns at that
// number. Not seen: a turn of a product or quotient inside the bounds.
func (x *expression) ask(values map[string]Value) (a answer, why string) {
	var missing []string
	var patterns []*cel.AttributePatternType
	known := map[string]any{}
	var ranged []string
	var levels [][]float64
	tries := 1
	for _, q := range x.inputs {
		v := values[q.Name]
		switch {
		case !v.Known:
			missing = append(missing, fmt.Sprintf("%q is not known: %s", q.Name, orUnsaid(v.Why)))
			patterns = append(patterns, cel.AttributePattern(q.Name))
		case q.Type == Text:
			known[q.Name] = v.Text
		case q.Type == Flag:
			known[q.Name] = v.Flag
		default:
			v = x.snapped(v)
			known[q.Name] = v.Value
			if v.Low < v.High {
				ranged = append(ranged, q.Name)
				levels = append(levels, x.levels(v))
				tries *= len(levels[len(levels)-1])
			}
		}
	}
	a, why = x.try(known, patterns)
	if a == open {
		if len(missing) > 0 {
			why = strings.Join(missing, "; ")
		}
		return open, why
	}
	if len(ranged) == 0 {
		return a, ""
	}
	if tries > maxTries {
		return open, fmt.Sprintf("the bounds of %s leave too many cases to try", strings.Join(ranged, ", "))
	}
	at := make([]int, len(ranged))
	for {
		for i, name := range ranged {
			known[name] = levels[i][at[i]]
		}
		if b, _ := x.try(known, patterns); b != a {
			return open, x.hangsOn(ranged, values)
		}
		i := 0
		for ; i < len(at); i++ {
			if at[i]++; at[i] < len(levels[i]) {
				break
			}
			at[i] = 0
		}
		if i == len(at) {
			return a, ""
		}
	}
}

// snapped takes what arithmetic left out of a value and its bounds where they meet
// a number of the expression: a sensor that is drawn 3 mm above a bar is 3 mm above
// it, as engine.Decide has it.
func (x *expression) snapped(v Value) Value {
	snap := func(n float64) float64 {
		for _, c := range x.consts {
			for _, turn := range []float64{c, -c} {
				if math.Abs(n-turn) <= roundOff*math.Abs(turn) {
					return turn
				}
			}
		}
		return n
	}
	v.Value, v.Low, v.High = snap(v.Value), snap(v.Low), snap(v.High)
	return v
}

// levels returns the numbers to try for one value, ascending.
func (x *expression) levels(v Value) []float64 {
	out := []float64{v.Low, v.Value, v.High}
	step := float64(1e-6 * (v.High - v.Low))
	for _, c := range append([]float64{0}, x.consts...) {
		for _, turn := range []float64{c, -c} {
			if v.Low < turn && turn < v.High {
				out = append(out, max(v.Low, turn-step), turn, min(v.High, turn+step))
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// try evaluates x once. A run-time error leaves it open, and so does a number on
// the way that is not finite: the language's comparisons take it for small.
func (x *expression) try(known map[string]any, patterns []*cel.AttributePatternType) (answer, string) {
	vars, err := cel.PartialVars(known, patterns...)
	if err != nil {
		return open, "the values cannot be used: " + oneLine(err.Error())
	}
	out, details, err := x.program.Eval(vars)
	switch {
	case err != nil:
		return open, "the expression cannot be computed: " + oneLine(err.Error())
	case !finite(details.State()):
		return open, "the expression divides by zero or leaves the range of numbers"
	case out == types.True:
		return yes, ""
	case out == types.False:
		return no, ""
	}
	return open, "the expression has no answer"
}

// finite reports whether every number on the way of an evaluation is.
func finite(state interpreter.EvalState) bool {
	for _, id := range state.IDs() {
		v, _ := state.Value(id)
		if d, ok := v.(types.Double); ok && (math.IsNaN(float64(d)) || math.IsInf(float64(d), 0)) {
			return false
		}
	}
	return true
}

// hangsOn names the bounds that leave both answers possible.
func (x *expression) hangsOn(ranged []string, values map[string]Value) string {
	var parts []string
	for _, q := range x.inputs {
		if slices.Contains(ranged, q.Name) {
			v := values[q.Name]
			parts = append(parts, fmt.Sprintf("%q lies between %s and %s", q.Name, q.digits(v.Low), q.digits(v.High)))
		}
	}
	return "true and false are both possible: " + strings.Join(parts, ", ")
}

// digits prints a bound finely enough to differ from its value.
func (q *Quantity) digits(v float64) string {
	if q.Unit == "1" && !math.IsNaN(v) {
		return si.FormatDigits(v*100, "%", 5)
	}
	return si.FormatDigits(v, q.Unit, 5)
}

func orUnsaid(why string) string {
	if why == "" {
		return "no reason is given"
	}
	return why
}
