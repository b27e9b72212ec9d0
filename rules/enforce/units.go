package enforce

import (
	"fmt"
	"slices"

	celast "cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"

	"busgauss/model/policy"
	"busgauss/model/si"
)

// walk goes over a checked expression: it follows units, gathers the quantities
// and numbers used, and reports what the language's own check does not see.
type walk struct {
	l      *language
	t      policy.Text
	p      *problems
	info   *celast.SourceInfo
	types  map[int64]*types.Type
	used   []string
	consts []float64
}

// dimension is what a part of an expression is in: an SI unit, or not known (of
// a product, of text, of zero).
type dimension struct {
	unit  string
	known bool
}

var anything = dimension{}

func (w *walk) problem(id int64, length int, remedy, format string, args ...any) {
	start, end := placeIn(w.t, w.info, id, length)
	w.p.add(w.t.At(start, end), ruleExpression, remedy, format, args...)
}

// unit returns the unit of e and visits all below it.
func (w *walk) unit(e celast.Expr) dimension {
	switch e.Kind() {
	case celast.IdentKind:
		q := w.l.quantity(e.AsIdent())
		if q == nil {
			return anything // the name of a type, such as double
		}
		if !slices.Contains(w.used, q.Name) {
			w.used = append(w.used, q.Name)
		}
		switch {
		case q.Type != Number:
			return anything
		case q.Unit == "":
			return dimension{"1", true}
		}
		return dimension{q.Unit, true}
	case celast.LiteralKind:
		v, ok := literal(e)
		if ok {
			w.consts = append(w.consts, v)
		}
		if !ok || v == 0 {
			return anything
		}
		return dimension{"1", true}
	case celast.CallKind:
		return w.call(e)
	case celast.ListKind:
		for _, item := range e.AsList().Elements() {
			w.unit(item)
		}
	default:
		w.problem(e.ID(), 1, "", "records, maps and loops have no place in a house rule")
	}
	return anything
}

func literal(e celast.Expr) (float64, bool) {
	if e.Kind() != celast.LiteralKind {
		return 0, false
	}
	switch v := e.AsLiteral().Value().(type) {
	case float64:
		return v, true
	case int64:
		return float64(v), true
	case uint64:
		return float64(v), true
	}
	return 0, false
}

func (w *walk) call(e celast.Expr) dimension {
	c := e.AsCall()
	name, args := c.FunctionName(), c.Args()
	if name == "amount" {
		return w.amount(e)
	}
	if c.IsMemberFunction() {
		w.unit(c.Target())
	}
	units := make([]dimension, len(args))
	for i, a := range args {
		units[i] = w.unit(a)
	}
	switch name {
	case operators.Equals, operators.NotEquals:
		if w.isNumber(args[0]) && w.isNumber(args[1]) {
			w.problem(e.ID(), 2, "compare with < or >", "two computed numbers are never equal")
		}
	case operators.Less, operators.LessEquals, operators.Greater, operators.GreaterEquals, operators.Add, operators.Subtract:
		return w.same(e, name, args, units)
	case "min", "max":
		return w.same(e, name, args, units)
	case operators.Negate, "abs", "double":
		return units[0]
	case operators.Multiply:
		return product(units[0], units[1])
	case operators.Divide:
		if units[0].known && units[0] == units[1] {
			return dimension{"1", true}
		}
		if units[1].known && units[1].unit == "1" {
			return units[0]
		}
	case operators.Conditional:
		if units[1] == units[2] {
			return units[1]
		}
	}
	return anything
}

func product(a, b dimension) dimension {
	switch {
	case a.known && a.unit == "1":
		return b
	case b.known && b.unit == "1":
		return a
	}
	return anything
}

func (w *walk) isNumber(e celast.Expr) bool {
	t := w.types[e.ID()]
	return t != nil && (t.Kind() == types.DoubleKind || t.Kind() == types.IntKind || t.Kind() == types.UintKind)
}

// same asks for one unit on both sides of a comparison or a sum.
func (w *walk) same(e celast.Expr, name string, args []celast.Expr, units []dimension) dimension {
	if len(args) != 2 {
		return anything
	}
	a, b := units[0], units[1]
	if a.known && b.known && a != b {
		w.mismatch(e, args, a, b)
		return anything
	}
	if name != operators.Add && name != operators.Subtract && name != "min" && name != "max" {
		return anything
	}
	if a.known {
		return a
	}
	return b
}

func (w *walk) mismatch(e celast.Expr, args []celast.Expr, a, b dimension) {
	for i, other := range []dimension{b, a} {
		if v, ok := literal(args[i]); ok {
			w.problem(args[i].ID(), len(fmt.Sprint(v)), "write the unit, such as "+example(v, other.unit),
				"a bare number stands beside a quantity in %s", other.unit)
			return
		}
	}
	w.problem(e.ID(), 1, "", "%s and %s do not go together", unitWord(a.unit), unitWord(b.unit))
}

func example(v float64, unit string) string {
	if d, ok := dimensionOf(unit); ok {
		return fmt.Sprintf("amount(\"%g %s\")", v, d.Units()[0])
	}
	return fmt.Sprintf("amount(\"%g %s\")", v, unit)
}

func unitWord(unit string) string {
	if unit == "1" {
		return "a pure number"
	}
	if d, ok := dimensionOf(unit); ok {
		return "a " + d.String() + " in " + unit
	}
	return unit
}

// amount reads the text of amount("...") once and for all.
func (w *walk) amount(e celast.Expr) dimension {
	arg := e.AsCall().Args()[0]
	text, ok := "", false
	if arg.Kind() == celast.LiteralKind {
		text, ok = arg.AsLiteral().Value().(string)
	}
	if !ok {
		w.problem(arg.ID(), 1, "", "amount takes a text in quotes, such as amount(\"5 mT\")")
		return anything
	}
	v, unit, ok := anyAmount(text)
	if !ok {
		w.problem(arg.ID(), len([]rune(text))+2, "", "%s is not a number with a unit: write for instance amount(\"5 mT\")", quote(text))
		return anything
	}
	w.consts = append(w.consts, v)
	return dimension{unit, true}
}

// comparison is an expression that holds one quantity against one number, so
// that a finding can carry both.
type comparison struct {
	quantity string
	unit     string
	limit    float64
	atLeast  bool
}

// simple returns the comparison that e is, nil when it is more than that.
func (w *walk) simple(e celast.Expr) *comparison {
	if e.Kind() != celast.CallKind || len(e.AsCall().Args()) != 2 {
		return nil
	}
	name, args := e.AsCall().FunctionName(), e.AsCall().Args()
	var atLeast bool
	switch name {
	case operators.Less, operators.LessEquals:
	case operators.Greater, operators.GreaterEquals:
		atLeast = true
	default:
		return nil
	}
	left, right := args[0], args[1]
	if left.Kind() != celast.IdentKind {
		left, right, atLeast = right, left, !atLeast
	}
	if left.Kind() != celast.IdentKind {
		return nil
	}
	q := w.l.quantity(left.AsIdent())
	v, ok := constant(right)
	if q == nil || q.Type != Number || !ok {
		return nil
	}
	unit := q.Unit
	if unit == "" {
		unit = si.Ratio.Symbol()
	}
	return &comparison{quantity: q.Name, unit: unit, limit: v, atLeast: atLeast}
}

// constant returns the number that e is without any quantity.
func constant(e celast.Expr) (float64, bool) {
	if v, ok := literal(e); ok {
		return v, true
	}
	if e.Kind() != celast.CallKind || len(e.AsCall().Args()) != 1 {
		return 0, false
	}
	arg := e.AsCall().Args()[0]
	switch e.AsCall().FunctionName() {
	case operators.Negate:
		v, ok := constant(arg)
		return -v, ok
	case "amount":
		if arg.Kind() == celast.LiteralKind {
			if text, isText := arg.AsLiteral().Value().(string); isText {
				v, _, ok := anyAmount(text)
				return v, ok
			}
		}
	}
	return 0, false
}
