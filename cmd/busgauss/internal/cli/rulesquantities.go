package cli

import (
	"fmt"
	"io"
	"strings"

	"busgauss/model/si"
	"busgauss/rules/enforce"
	"busgauss/rules/quantity"
	"busgauss/rules/report"
)

// The JSON of rules --quantities: names and shapes are a contract.
type quantityReport struct {
	Quantities []quantityEntry `json:"quantities"`
}

type quantityEntry struct {
	For  string `json:"for"`
	Name string `json:"name"`
	Type string `json:"type"` // number, text, flag
	// Unit is the SI unit of a number, "1" for a share; a plain number has none.
	Unit    string `json:"unit,omitempty"`
	Meaning string `json:"meaning"`
}

// quantityKinds are the kinds of objects that house rules are for.
var quantityKinds = []enforce.Kind{enforce.Channel, enforce.Bar, enforce.Shield, enforce.Duty}

// listQuantities prints what house rules may speak of.
func listQuantities(w io.Writer, format string) error {
	if format == "json" {
		return quantitiesJSON(w)
	}
	var b strings.Builder
	for _, k := range quantityKinds {
		list := enforce.QuantitiesOf(k, quantity.Catalogue())
		width := 0
		for _, q := range list {
			width = max(width, len(q.Name))
		}
		fmt.Fprintf(&b, "for: %s\n", k)
		for _, q := range list {
			fmt.Fprintf(&b, "  %-*s  %-6s  %s\n", width, q.Name, quantityUnit(&q), q.Doc)
		}
	}
	b.WriteString(`a number is written with its unit, amount("5 mT"); a share and a number without unit as they are, 0.02 or amount("2 %")
`)
	_, err := io.WriteString(w, b.String())
	return err
}

// quantityUnit is the second column: the unit in which people write a number, or
// what else the quantity is.
func quantityUnit(q *enforce.Quantity) string {
	switch {
	case q.Type == enforce.Text:
		return "text"
	case q.Type == enforce.Flag:
		return "flag"
	case q.Unit == "":
		return "number"
	case q.Unit == si.Ratio.Symbol():
		return "share"
	}
	return q.Unit
}

func quantitiesJSON(w io.Writer) error {
	var out quantityReport
	for _, k := range quantityKinds {
		for _, q := range enforce.QuantitiesOf(k, quantity.Catalogue()) {
			e := quantityEntry{For: k.String(), Name: q.Name, Type: "number", Unit: q.Unit, Meaning: q.Doc}
			if q.Type != enforce.Number {
				e.Type = quantityUnit(&q)
			}
			out.Quantities = append(out.Quantities, e)
		}
	}
	return report.EncodeJSON(w, out)
}
