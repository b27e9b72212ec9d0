package schema

import (
	_ "embed" // for the schema files
	"fmt"
	"sync"
)

// The formats beside the layout: a house standard, its deviations and its
// baseline. Each file says the version of its format, which is 1, under the key
// that is the name of the format.
const (
	Standard   = "standard"
	Deviations = "deviations"
	Baseline   = "baseline"
)

//go:embed standard.schema.json
var standardText []byte

//go:embed deviations.schema.json
var deviationsText []byte

//go:embed baseline.schema.json
var baselineText []byte

// Each is compiled at first use; the results never change.
var (
	standardSchema   = sync.OnceValues(func() (compiled, error) { return compile("urn:busgauss:standard:1", standardText) })
	deviationsSchema = sync.OnceValues(func() (compiled, error) { return compile("urn:busgauss:deviations:1", deviationsText) })
	baselineSchema   = sync.OnceValues(func() (compiled, error) { return compile("urn:busgauss:baseline:1", baselineText) })
)

// Of returns the published schema of a format, as bytes of JSON in the
// vocabulary of draft-07, nil for a name that is none. Callers must not write to
// it.
func Of(format string) []byte {
	switch format {
	case Standard:
		return standardText
	case Deviations:
		return deviationsText
	case Baseline:
		return baselineText
	}
	return nil
}

// ValidateAs returns every leaf of value that the schema of a format does not
// allow, as Validate does for layouts.
func ValidateAs(format string, value any) ([]Leaf, error) {
	var c compiled
	var err error
	switch format {
	case Standard:
		c, err = standardSchema()
	case Deviations:
		c, err = deviationsSchema()
	case Baseline:
		c, err = baselineSchema()
	default:
		return nil, fmt.Errorf("check against %s: no such format", format)
	}
	if err != nil {
		return nil, err
	}
	return c.validate(value)
}

// ValidateWith is Validate with another schema, known as id. Reports of this program
// are held against their published schemas with it.
func ValidateWith(id string, schema []byte, value any) ([]Leaf, error) {
	c, err := compile(id, schema)
	if err != nil {
		return nil, err
	}
	return c.validate(value)
}
