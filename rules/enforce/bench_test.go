package enforce

import (
	"testing"

	"busgauss/model/policy"
)

// BenchmarkHouseRule asks one rule with two bounded quantities: nine evaluations
// and one at the values.
func BenchmarkHouseRule(b *testing.B) {
	l, err := newLanguage(Channel, quantities())
	if err != nil {
		b.Fatal(err)
	}
	var p problems
	x := l.compile(textOf(`own_field >= amount("3 mT") && stray <= 0.02`), &p)
	v := map[string]Value{"own_field": Num(4e-3, 3.9e-3, 4.2e-3), "stray": Num(0.01, 0.009, 0.011)}
	for b.Loop() {
		x.ask(v)
	}
}

// BenchmarkLanguage declares the quantities of one kind, once for each kind that
// a standard has rules for.
func BenchmarkLanguage(b *testing.B) {
	for b.Loop() {
		if _, err := newLanguage(Channel, quantities()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCompile checks and prepares one expression.
func BenchmarkCompile(b *testing.B) {
	l, err := newLanguage(Channel, quantities())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		var p problems
		l.compile(textOf(`own_field >= amount("3 mT") && stray <= 0.02`), &p)
	}
}

// textOf is an expression on one line of a file.
func textOf(s string) policy.Text { return policy.Text{Value: s, Span: at(1, 1)} }
