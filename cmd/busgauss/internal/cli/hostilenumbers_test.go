package cli

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/model/edit"
	"busgauss/model/finding"
	"busgauss/model/span"
	"busgauss/schema/node"
)

// numberAt is a number of a layout with its unit, as it stands in the text.
type numberAt struct {
	path         []string // keys and places of items: bars, U, section, width
	at           span.Span
	number, unit string // "20" and " mm"; a pure number has no unit
	quote        string // that it stands in
}

var numberAndUnit = regexp.MustCompile(`^(-?[0-9]+(?:[.][0-9]+)?(?:[eE][+-]?[0-9]+)?)((?:[ \x{a0}].*|°.*)?)$`)

// numbersOf returns all numbers of a layout in their order.
func numbersOf(text string) []numberAt {
	root, _ := node.Parse("layout.yaml", []byte(text), node.Limits{})
	var out []numberAt
	var walk func(n *node.Node, path []string)
	walk = func(n *node.Node, path []string) {
		switch n.Kind {
		case node.Map:
			for _, m := range n.Members {
				walk(m.Value, append(path[:len(path):len(path)], m.Key))
			}
		case node.List:
			for i, item := range n.Items {
				walk(item, append(path[:len(path):len(path)], strconv.Itoa(i)))
			}
		case node.Number, node.Text:
			part := numberAndUnit.FindStringSubmatch(n.Text)
			if part == nil {
				return
			}
			one := numberAt{path: path, at: n.Span, number: part[1], unit: part[2]}
			if n.Quoted {
				one.quote = edit.Text(text, n.Span)[:1]
			}
			out = append(out, one)
		case node.Null, node.Bool:
		}
	}
	if root != nil {
		walk(root, nil)
	}
	return out
}

// put returns the text with another number in the place of n, in its unit.
func (n *numberAt) put(t testing.TB, text, number string) string {
	out, err := edit.Apply(text, []finding.Edit{{Span: n.at, Text: n.quote + number + n.unit + n.quote}})
	if err != nil {
		t.Fatalf("%s: %v", strings.Join(n.path, "/"), err)
	}
	return out
}

// hostileNumbers are numbers that somebody may try in the place of another.
var hostileNumbers = []func(was float64) float64{
	func(float64) float64 { return 0 }, func(float64) float64 { return 1 }, func(was float64) float64 { return -was },
	func(was float64) float64 { return was * 10 }, func(was float64) float64 { return was / 10 },
	func(was float64) float64 { return was * 1e3 }, func(was float64) float64 { return was / 1e3 },
	func(was float64) float64 { return was * 1e6 }, func(was float64) float64 { return was / 1e6 },
	func(was float64) float64 { return was * 1e9 }, func(was float64) float64 { return was / 1e9 },
	func(was float64) float64 { return was * (1 + 1e-12) }, func(was float64) float64 { return math.Nextafter(was, 0) },
	func(was float64) float64 { return was * 1.01 }, func(was float64) float64 { return was * 0.7 }, func(was float64) float64 { return was * 1.5 },
	func(float64) float64 { return 1e15 }, func(float64) float64 { return -1e15 }, func(float64) float64 { return 1e-15 },
	func(float64) float64 { return 1e300 }, func(float64) float64 { return 1e-300 }, func(float64) float64 { return 5e-324 },
	func(float64) float64 { return 2 }, func(float64) float64 { return -1 }, func(float64) float64 { return 0.5 }, func(float64) float64 { return 90 },
}

// hostile returns the text of the number k in the place of n.
func (n *numberAt) hostile(k int) string {
	was, err := strconv.ParseFloat(n.number, 64)
	if err != nil {
		panic(fmt.Sprintf("cli: %q was a number", n.number))
	}
	v := hostileNumbers[k%len(hostileNumbers)](was)
	if math.IsInf(v, 0) {
		v = math.Copysign(1e300, v)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
