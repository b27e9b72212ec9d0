package load

import (
	"math"
	"strings"

	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/word"
	"busgauss/schema/node"
)

// need reports s when it is missing and returns it.
func (s *spot) need() *spot {
	if s.n == nil && s.up.n != nil && s.up.n.Kind == node.Map {
		s.problem(ruleMissing, "%s needs %s", s.up.label(), quoteKey(s.key))
	}
	return s
}

func quoteKey(key string) string { return `"` + key + `"` }

// wrongKind reports that s is not what was wanted.
func (s *spot) wrongKind(want string) {
	got := s.kind()
	hint := ""
	if s.n.Kind == node.Text && strings.Contains(s.n.Text, ":") && strings.HasPrefix(want, "a mapping") {
		hint = "; a key is followed by a colon and a blank"
	}
	s.problem(ruleForm, "%s must be %s, not %s%s", s.label(), want, got, hint)
}

// kind returns the words for what the file has at s.
func (s *spot) kind() string {
	switch s.n.Kind {
	case node.Null:
		return "empty"
	case node.Bool:
		return s.n.Text
	case node.Number:
		return "the number " + clip(s.n.Text)
	case node.Text:
		return "the text " + s.quoted()
	case node.Map:
		return "a mapping"
	}
	return "a list"
}

// mapping reports whether s is a mapping; another value is a problem.
func (s *spot) mapping() bool {
	if s.n == nil {
		return false
	}
	if s.n.Kind != node.Map {
		s.wrongKind("a mapping")
		return false
	}
	return true
}

// text reads free text.
func (s *spot) text() (string, bool) {
	if s.n == nil {
		return "", false
	}
	if s.n.Kind != node.Text {
		s.wrongKind("text")
		return "", false
	}
	return s.n.Text, true
}

// flag reads true or false.
func (s *spot) flag() (value, set bool) {
	if s.n == nil {
		return false, false
	}
	s.takes(Slot{Words: []string{"true", "false"}})
	if s.n.Kind != node.Bool {
		s.wrongKind("true or false")
		return false, false
	}
	return s.n.Text == "true", true
}

// word reads one of the words given.
func (s *spot) word(words ...string) (string, bool) {
	if s.n == nil {
		return "", false
	}
	s.takes(Slot{Words: words})
	if s.n.Kind == node.Text {
		for _, w := range words {
			if s.n.Text == w {
				return w, true
			}
		}
	}
	f := s.problem(ruleForm, "%s must be %s, not %s%s", s.label(), word.Or(words), s.kind(),
		word.DidYouMean(s.n.Text, words))
	if near, found := word.Nearest(s.n.Text, words); found && s.n.Kind == node.Text {
		meant(f, s.n.Span, asText(s.n, near))
	}
	return "", false
}

// beyond is the magnitude above which no quantity of a layout means anything.
// It keeps squares and volumes of what is read finite.
const beyond = 1e15

// nothing is the magnitude below which a quantity of a layout is round-off of whatever wrote the file, and
// read as 0. It keeps the inverse of what is read finite.
const nothing = 1e-18

// quantity reads text with a unit of dimension d and holds it to b.
func (s *spot) quantity(d si.Dimension, b bounds) layout.Num {
	num := s.unset(math.NaN())
	if s.n == nil {
		return num
	}
	s.takes(Slot{Unit: d})
	switch s.n.Kind {
	case node.Number:
		s.problem(ruleQuantity, "%s is a bare number. Write it with a unit of %s, such as %q",
			s.label(), d, clip(s.n.Text)+" "+d.Units()[0])
		return num
	case node.Text:
	default:
		s.wrongKind("text with a unit of " + d.String())
		return num
	}
	v, err := si.Parse(s.n.Text, d)
	if err != nil {
		f := s.problem(ruleQuantity, "%s: %v", s.label(), err)
		if better, ok := si.Slip(s.n.Text, d); ok {
			meant(f, s.n.Span, asText(s.n, better))
		}
		return num
	}
	return s.within(v, b)
}

// pure reads a number without a unit and holds it to b.
func (s *spot) pure(b bounds) layout.Num {
	num := s.unset(math.NaN())
	if s.n == nil {
		return num
	}
	if s.n.Kind != node.Number {
		s.wrongKind("a number without unit or quotes")
		return num
	}
	v, err := si.ParsePure(s.n.Text)
	if err != nil {
		s.problem(ruleQuantity, "%s: %v", s.label(), err)
		return num
	}
	return s.within(v, b)
}

// whole reads a whole number and holds it to b.
func (s *spot) whole(b bounds) layout.Num {
	num := s.pure(b)
	if num.Set && num.V != math.Trunc(num.V) {
		s.problem(ruleRange, "%s is %s: it must be a whole number", s.label(), clip(s.n.Text))
		return s.unset(math.NaN())
	}
	return num
}

// share reads a part of something: text in % or ppm, or a pure number.
func (s *spot) share(b bounds) layout.Num {
	if s.n != nil && s.n.Kind == node.Number {
		return s.pure(b)
	}
	return s.quantity(si.Ratio, b)
}

// within sets v when it lies in b.
func (s *spot) within(v float64, b bounds) layout.Num {
	if math.Abs(v) < nothing {
		v = 0
	}
	if want := b.miss(v); want != "" {
		s.problem(ruleRange, "%s is %s: it must be %s", s.label(), clip(s.n.Text), want)
		return s.unset(math.NaN())
	}
	return layout.Num{V: v, Set: true, Span: s.n.Span}
}

// unset returns a number that the file does not give, with its default.
func (s *spot) unset(v float64) layout.Num { return layout.Num{V: v, Span: s.where()} }

// or gives a number that the file leaves open its default.
func or(n layout.Num, v float64) layout.Num {
	if !n.Set {
		n.V = v
	}
	return n
}

// exactlyOne returns the keys of s that the file has out of those given, and
// reports when it has none or more than one.
func (s *spot) exactlyOne(keys ...string) (string, bool) {
	if s.n == nil || s.n.Kind != node.Map {
		return "", false
	}
	var have []string
	for _, k := range keys {
		if s.n.Get(k) != nil {
			have = append(have, k)
		}
	}
	switch len(have) {
	case 1:
		return have[0], true
	case 0:
		s.problemAt(s.edit, ruleMissing, "%s needs exactly one of %s", s.label(), word.Or(keys))
	default:
		second, _ := s.n.Member(have[1])
		s.problemAt(second.KeySpan, ruleForm, "%s has %s. Give exactly one of %s",
			s.label(), word.And(have), word.Or(keys))
	}
	return "", false
}

// choice reads one of words; the first one is the default.
func choice[T ~string](s *spot, words ...T) layout.Choice[T] {
	plain := make([]string, len(words))
	for i, w := range words {
		plain[i] = string(w)
	}
	out := layout.Choice[T]{V: words[0], Span: s.where()}
	if w, ok := s.word(plain...); ok {
		out.V, out.Set = T(w), true
	}
	return out
}

// truth reads true or false, with its default.
func truth(s *spot, missing bool) layout.Choice[bool] {
	out := layout.Choice[bool]{V: missing, Span: s.where()}
	if v, ok := s.flag(); ok {
		out.V, out.Set = v, true
	}
	return out
}
