// Package schema holds the published JSON Schema of the layout format and
// checks values against it. It is the only importer of the schema validator.
package schema

import (
	_ "embed" // for the schema file
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

// LayoutVersion is the version of the layout format that Layout describes, the
// number after "layout:" in a file.
const LayoutVersion = 1

// LayoutID is the identifier of the layout schema, its "$id".
const LayoutID = "urn:busgauss:layout:1"

// Layout is the published schema of layout files, as bytes of JSON in the
// vocabulary of draft-07. Callers must not write to it.
//
//go:embed layout.schema.json
var Layout []byte

// compiled is a schema ready for use, with the document that it was made from.
type compiled struct {
	schema *jsonschema.Schema
	doc    map[string]any
}

// layoutSchema compiles the layout schema at first use; the result never changes.
var layoutSchema = sync.OnceValues(func() (compiled, error) { return compile(LayoutID, Layout) })

// compile prepares the schema in data, known as id. It reads nothing but data.
func compile(id string, data []byte) (c compiled, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("compile schema %s: %v", id, r)
		}
	}()
	compiler := jsonschema.NewCompiler()
	compiler.Draft = jsonschema.Draft7
	// The validator's own default opens files that a reference names.
	compiler.LoadURL = refuse
	if err := compiler.AddResource(id, strings.NewReader(string(data))); err != nil {
		return c, fmt.Errorf("read schema %s: %w", id, err)
	}
	if c.schema, err = compiler.Compile(id); err != nil {
		return c, fmt.Errorf("compile schema %s: %w", id, err)
	}
	if err := json.Unmarshal(data, &c.doc); err != nil {
		return c, fmt.Errorf("read schema %s: %w", id, err)
	}
	return c, nil
}

var errOutside = errors.New("a schema refers to nothing outside itself")

func refuse(url string) (io.ReadCloser, error) {
	return nil, fmt.Errorf("load %s: %w", url, errOutside)
}
