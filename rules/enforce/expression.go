package enforce

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"cel.dev/cel-go/cel"
	celast "cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"busgauss/model/policy"
	"busgauss/model/word"
)

// Ceilings of one expression. None of them is reached by a rule that a person
// can read (common practice).
const (
	maxExpression = 2000 // characters
	maxNesting    = 40
	maxCost       = 10000 // of one evaluation, in the units of the language's library
	maxInputs     = 6     // numbers with bounds
)

// expression is one compiled expression that gives true or false.
type expression struct {
	program cel.Program
	inputs  []Quantity // that it speaks of, in the order of the catalogue
	consts  []float64  // numbers that it compares with
	simple  *comparison
}

// language is the expression language for one kind of object.
type language struct {
	kind       Kind
	quantities []Quantity
	env        *cel.Env
}

// newLanguage declares the quantities of a kind. The library of macros is left
// out: without loops the cost of an expression is bounded by its length.
func newLanguage(k Kind, catalogue []Quantity) (*language, error) {
	l := &language{kind: k, quantities: QuantitiesOf(k, catalogue)}
	options := []cel.EnvOption{
		cel.ClearMacros(),
		cel.CrossTypeNumericComparisons(true),
		cel.ParserExpressionSizeLimit(maxExpression),
		cel.ParserRecursionLimit(maxNesting),
		cel.Function("amount", cel.Overload("amount_string", []*cel.Type{cel.StringType}, cel.DoubleType,
			cel.UnaryBinding(func(text ref.Val) ref.Val {
				s, _ := text.Value().(string)
				v, _, ok := anyAmount(s)
				if !ok {
					return types.NewErr("%q is no amount", s)
				}
				return types.Double(v)
			}))),
		cel.Function("abs", cel.Overload("abs_double", []*cel.Type{cel.DoubleType}, cel.DoubleType,
			cel.UnaryBinding(func(v ref.Val) ref.Val { return max(v.(types.Double), -v.(types.Double)) }))),
		cel.Function("min", pairOf("min_doubles", func(a, b types.Double) types.Double { return min(a, b) })),
		cel.Function("max", pairOf("max_doubles", func(a, b types.Double) types.Double { return max(a, b) })),
	}
	for _, q := range l.quantities {
		t := cel.DoubleType
		switch q.Type {
		case Text:
			t = cel.StringType
		case Flag:
			t = cel.BoolType
		}
		options = append(options, cel.Variable(q.Name, t))
	}
	var err error
	if l.env, err = cel.NewEnv(options...); err != nil {
		return nil, fmt.Errorf("declare quantities of a %s: %w", k, err)
	}
	return l, nil
}

func pairOf(name string, f func(a, b types.Double) types.Double) cel.FunctionOpt {
	return cel.Overload(name, []*cel.Type{cel.DoubleType, cel.DoubleType}, cel.DoubleType,
		cel.BinaryBinding(func(a, b ref.Val) ref.Val { return f(a.(types.Double), b.(types.Double)) }))
}

func (l *language) quantity(name string) *Quantity {
	for i := range l.quantities {
		if l.quantities[i].Name == name {
			return &l.quantities[i]
		}
	}
	return nil
}

func (l *language) names() []string {
	var out []string
	for _, q := range l.quantities {
		out = append(out, q.Name)
	}
	return out
}

// compile checks an expression and prepares it, or reports everything that is
// wrong with it at its place and returns nil.
func (l *language) compile(t policy.Text, p *problems) *expression {
	before := len(p.list)
	checked, issues := l.env.Compile(t.Value)
	if issues.Err() != nil {
		for _, e := range issues.Errors() {
			l.complain(t, p, e)
		}
		return nil
	}
	if checked.OutputType() != cel.BoolType {
		p.add(t.Span, ruleExpression, "compare with something", "the expression gives a %s: it must give true or false", checked.OutputType())
		return nil
	}
	native := checked.NativeRep()
	w := walk{l: l, t: t, p: p, info: native.SourceInfo(), types: native.TypeMap()}
	w.unit(native.Expr())
	x := &expression{consts: w.consts, simple: w.simple(native.Expr())}
	bounded := 0
	for _, q := range l.quantities {
		if slices.Contains(w.used, q.Name) {
			x.inputs = append(x.inputs, q)
			if q.Type == Number {
				bounded++
			}
		}
	}
	if bounded > maxInputs {
		p.add(t.Span, ruleExpression, "make two rules of it", "the expression speaks of %d numbers: their bounds can be tried for %d at most", bounded, maxInputs)
	}
	if len(p.list) > before {
		return nil
	}
	program, err := l.env.Program(checked, cel.EvalOptions(cel.OptPartialEval, cel.OptTrackState), cel.CostLimit(maxCost))
	if err != nil {
		p.add(t.Span, ruleExpression, "", "the expression cannot be prepared: %s", oneLine(err.Error()))
		return nil
	}
	x.program = program
	return x
}

var (
	undeclared = regexp.MustCompile(`undeclared reference to '([^']*)'`)
	mixed      = regexp.MustCompile(`\((double, int|int, double)\)`)
)

// complain reports one complaint of the language in our words where it is a
// frequent one.
func (l *language) complain(t policy.Text, p *problems, e *cel.Error) {
	at := offset(t.Value, e.Location.Line(), e.Location.Column())
	if m := undeclared.FindStringSubmatch(e.Message); m != nil {
		p.add(t.At(at, at+len([]rune(m[1]))), ruleExpression, "", "a %s has no quantity %s%s", l.kind, quote(m[1]), word.DidYouMean(m[1], l.names()))
		return
	}
	message := oneLine(strings.TrimPrefix(e.Message, "Syntax error: "))
	remedy := ""
	if mixed.MatchString(message) {
		remedy = "write numbers with a decimal point, such as 2.0"
	}
	p.add(t.At(at, at+1), ruleExpression, remedy, "the expression is wrong here: %s", message)
}

func oneLine(text string) string { return clip(strings.Join(strings.Fields(text), " ")) }

// offset returns the code point at a line, from 1, and a column, from 0.
func offset(text string, line, column int) int {
	at := 0
	for _, r := range text {
		if line <= 1 {
			break
		}
		if r == '\n' {
			line--
		}
		at++
	}
	return at + column
}

// placeIn returns the place of a node of an expression.
func placeIn(t policy.Text, info *celast.SourceInfo, id int64, length int) (start, end int) {
	loc := info.GetStartLocation(id)
	at := offset(t.Value, loc.Line(), loc.Column())
	return at, at + length
}
