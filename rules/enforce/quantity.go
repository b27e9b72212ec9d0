package enforce

import (
	"fmt"
	"math"
	"regexp"
	"slices"

	"busgauss/model/si"
	"busgauss/model/span"
)

// Kind is a kind of object that house rules ask about.
type Kind uint8

// The kinds of objects.
const (
	Channel Kind = iota + 1
	Bar
	Shield
	Duty
)

// String returns the word for k that a standard uses.
func (k Kind) String() string {
	switch k {
	case Channel:
		return "channel"
	case Bar:
		return "bar"
	case Shield:
		return "shield"
	case Duty:
		return "duty"
	}
	return "no kind"
}

func kindOf(word string) (Kind, bool) {
	for _, k := range []Kind{Channel, Bar, Shield, Duty} {
		if k.String() == word {
			return k, true
		}
	}
	return 0, false
}

// Type is what a quantity is.
type Type uint8

// The types of quantities.
const (
	Number Type = iota + 1
	Text
	Flag
)

// Quantity is one computed thing that a house rule may speak of.
type Quantity struct {
	Kind Kind
	Name string // lower case words joined by underscores
	Type Type
	// Unit is the SI unit of a Number: "1" for a share, which prints in per cent,
	// empty for a plain number such as a count. Of other types it is empty.
	Unit string
	Doc  string // one line, lower case, no full stop: what it is and how it is found
}

// Value is a quantity of one object. The zero value is a number that is not
// known.
type Value struct {
	Value, Low, High float64 // of a Number; NaN where it is not known
	Text             string
	Flag             bool
	Known            bool
	Why              string // one line: why it is not known
}

// Num returns a number that lies between two bounds. What is not finite, or does
// not lie between them, is not known.
func Num(value, low, high float64) Value {
	finite := !math.IsInf(low, 0) && !math.IsInf(high, 0)
	v := Value{Value: value, Low: low, High: high, Known: finite && low <= value && value <= high}
	if !v.Known {
		v.Why = "its bounds are not known"
	}
	return v
}

// Word returns a text that is known.
func Word(text string) Value { return Value{Text: text, Known: true} }

// Truth returns a flag that is known.
func Truth(is bool) Value { return Value{Flag: is, Known: true} }

// Undecided returns a value that is not known, and why.
func Undecided(why string) Value {
	return Value{Value: math.NaN(), Low: math.NaN(), High: math.NaN(), Why: why}
}

// Object is one thing of a layout that a house rule judges.
type Object struct {
	Kind Kind
	Name string
	Span span.Span // the token to edit
}

// Facts gives what was computed for one layout. Value is asked only for
// quantities of the catalogue that a rule uses, once an object and rule.
type Facts interface {
	Objects(Kind) []Object // in the order of the layout
	Value(Object, string) Value
}

// Finer is what facts have that can be computed with smaller bounds: a house rule
// that the bounds leave open is asked again with them. False means that there are
// no smaller ones.
type Finer interface {
	Finer() (Facts, bool)
}

// Built-in quantities: every object has a name, and a channel the classes of the
// standard that it is in.
func ownQuantities(k Kind) []Quantity {
	own := []Quantity{{Kind: k, Name: "name", Type: Text, Doc: "name of the " + k.String() + " in the layout"}}
	if k == Channel {
		own = append(own, Quantity{Kind: k, Name: "class", Type: Text, Doc: "class of the standard that the channel is in, the last of several; empty for none"})
	}
	return own
}

// QuantitiesOf returns the quantities of a kind: those that every catalogue has,
// then those of the catalogue given.
func QuantitiesOf(k Kind, catalogue []Quantity) []Quantity {
	out := ownQuantities(k)
	for _, q := range catalogue {
		if q.Kind == k {
			out = append(out, q)
		}
	}
	return out
}

var (
	quantityForm = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	// reserved are the words of the language and the functions of ours.
	reserved = []string{
		"as", "break", "const", "continue", "else", "false", "for", "function", "if", "import", "in", "let", "loop", "namespace",
		"null", "package", "return", "true", "var", "void", "while", "abs", "amount", "bool", "bytes", "double", "duration", "dyn",
		"int", "list", "map", "matches", "max", "min", "size", "string", "timestamp", "type", "uint",
	}
)

// ValidateQuantities returns the first mistake in a catalogue: a name that is no
// identifier, a word of the language or there twice, a type or kind that does
// not exist, a unit that no dimension has, a missing line of documentation.
func ValidateQuantities(catalogue []Quantity) error {
	seen := map[string]bool{}
	for _, q := range catalogue {
		id := q.Kind.String() + " " + q.Name
		_, unit := dimensionOf(q.Unit)
		own := slices.ContainsFunc(ownQuantities(q.Kind), func(o Quantity) bool { return o.Name == q.Name })
		switch {
		case q.Kind < Channel || q.Kind > Duty:
			return fmt.Errorf("quantity %q: no such kind of object", q.Name)
		case !quantityForm.MatchString(q.Name) || slices.Contains(reserved, q.Name):
			return fmt.Errorf("quantity %q: the name is no identifier, or a word of the language", id)
		case seen[id] || own:
			return fmt.Errorf("quantity %q stands twice", id)
		case q.Type < Number || q.Type > Flag:
			return fmt.Errorf("quantity %q has no type", id)
		case q.Type != Number && q.Unit != "" || q.Type == Number && q.Unit != "" && !unit:
			return fmt.Errorf("quantity %q: unit %q is none", id, q.Unit)
		case q.Doc == "":
			return fmt.Errorf("quantity %q is not documented", id)
		}
		seen[id] = true
	}
	return nil
}

// show prints a value for a message.
func (q *Quantity) show(v Value) string {
	switch {
	case !v.Known:
		return "not known"
	case q.Type == Text:
		return v.Text
	case q.Type == Flag && v.Flag:
		return "true"
	case q.Type == Flag:
		return "false"
	case q.Unit == "1":
		return si.Percent(v.Value)
	}
	return si.Format(v.Value, q.Unit)
}
