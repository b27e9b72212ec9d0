package enforce

import (
	"math"
	"testing"
)

// FuzzExpression compiles any text and asks what compiles: no panic, a problem
// exactly where nothing compiles, every complaint in one line, and a reason for
// every answer that stays open.
func FuzzExpression(f *testing.F) {
	f.Add(`own_field >= amount("3 mT") && !(stray > 0.02)`)
	f.Add(`max(stray, 0.1) < abs(gap / amount("1 mm")) || bar == "A"`)
	f.Add(`is_pair ? elements >= 2.0 : name in ["U", 'V']`)
	f.Add(`-amount("3 mT") < own_field * 1e300 / (stray - stray)`)
	f.Add("{name} {{x}} }")
	l, err := newLanguage(Channel, quantities())
	if err != nil {
		f.Fatal(err)
	}
	values := map[string]Value{
		"own_field": Num(4e-3, -3.9e-3, 4.2e-3), "stray": Num(0, -1, 1), "gap": Num(1e300, 1e300, math.MaxFloat64),
		"elements": Num(2, 2, 2), "bar": Word("A"), "is_pair": Truth(true), "name": Word("U"), "class": Word(""),
	}
	f.Fuzz(func(t *testing.T, text string) {
		var p problems
		x := l.compile(textOf(text), &p)
		if (x == nil) != (len(p.list) > 0) {
			t.Fatalf("expression %v with %d problems", x != nil, len(p.list))
		}
		fill(l.template(textOf(text), &p), func(name string) Value { return values[name] })
		for _, f := range p.list {
			if f.Message == "" || !f.Span.Valid() {
				t.Fatalf("%+v", f)
			}
			for _, r := range f.Message {
				if r == '\n' {
					t.Fatalf("a message of two lines: %q", f.Message)
				}
			}
		}
		if x == nil {
			return
		}
		x.ask(values)
		if a, why := x.ask(nil); a == open && why == "" {
			t.Fatal("open without a reason")
		}
	})
}
