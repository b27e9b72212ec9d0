package schema

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

// Leaf is one thing in a value that the schema does not allow.
type Leaf struct {
	// Pointer is the JSON pointer (RFC 6901) of the value. For the keywords
	// "required", "additionalProperties" and "propertyNames" it is the object
	// and Property names the key.
	Pointer string
	// Keyword is the schema's keyword that failed.
	Keyword string
	// Property is the missing, unknown or badly named key; otherwise empty.
	Property string
	// Allowed lists, sorted, the keys that the object may have
	// ("additionalProperties") or, in the schema's order, the values that
	// "enum" and "const" take.
	Allowed []string
	// Message is the validator's text.
	Message string
}

// Validate returns every leaf of value that the layout schema does not allow,
// sorted by pointer, keyword and property, without repeats. The value may hold
// map[string]any, []any, string, bool, nil and finite float64 or int. An error
// says that the check itself failed; the value is then unchecked.
func Validate(value any) ([]Leaf, error) {
	c, err := layoutSchema()
	if err != nil {
		return nil, err
	}
	return c.validate(value)
}

func (c compiled) validate(value any) (leaves []Leaf, err error) {
	if err := plain(value); err != nil {
		return nil, fmt.Errorf("check against %s: %w", c.schema.Location, err)
	}
	defer func() {
		// The validator panics on some inputs; its state is its own, so
		// nothing here is left half done.
		if r := recover(); r != nil {
			leaves, err = nil, fmt.Errorf("check against %s: %v", c.schema.Location, r)
		}
	}()
	err = c.schema.Validate(value)
	if err == nil {
		return nil, nil
	}
	var failed *jsonschema.ValidationError
	if !errors.As(err, &failed) {
		return nil, fmt.Errorf("check against %s: %w", c.schema.Location, err)
	}
	leaves, err = c.flatten(failed, value, nil)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(leaves, compareLeaves)
	return slices.CompactFunc(leaves, func(a, b Leaf) bool { return compareLeaves(a, b) == 0 }), nil
}

func compareLeaves(a, b Leaf) int {
	return cmp.Or(
		cmp.Compare(a.Pointer, b.Pointer), cmp.Compare(a.Keyword, b.Keyword),
		cmp.Compare(a.Property, b.Property), cmp.Compare(a.Message, b.Message))
}

// plain refuses what the validator cannot take: it panics on numbers that are
// not finite and gives no place for foreign types.
func plain(value any) error {
	switch v := value.(type) {
	case nil, string, bool, int:
		return nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("number %v is not finite", v)
		}
		return nil
	case []any:
		for _, item := range v {
			if err := plain(item); err != nil {
				return err
			}
		}
		return nil
	case map[string]any:
		for _, item := range v {
			if err := plain(item); err != nil {
				return err
			}
		}
		return nil
	}
	return fmt.Errorf("type %T is not plain data", value)
}

// flatten appends the leaves below e. Wrappers ("doesn't validate with …",
// "if-then failed") carry nothing that their leaves do not.
func (c compiled) flatten(e *jsonschema.ValidationError, value any, out []Leaf) ([]Leaf, error) {
	if len(e.Causes) > 0 {
		var err error
		for _, cause := range e.Causes {
			if out, err = c.flatten(cause, value, out); err != nil {
				return nil, err
			}
		}
		return out, nil
	}
	leaf, err := c.leaf(e)
	if err != nil {
		return nil, err
	}
	return append(out, c.split(leaf, e, value)...), nil
}

// leaf reads the places that e carries: the validator escapes the tokens of
// both pointers as URLs.
func (c compiled) leaf(e *jsonschema.ValidationError) (Leaf, error) {
	pointer, err := url.PathUnescape(e.InstanceLocation)
	if err != nil {
		return Leaf{}, fmt.Errorf("read place %q: %w", e.InstanceLocation, err)
	}
	keyword := e.AbsoluteKeywordLocation
	keyword = keyword[strings.LastIndexByte(keyword, '/')+1:]
	if strings.Contains(e.KeywordLocation, "/propertyNames/") {
		// The report names neither the object's keyword nor the key; the only
		// thing asked of a name is that it is not empty.
		keyword = "propertyNames"
	}
	return Leaf{Pointer: pointer, Keyword: keyword, Message: e.Message}, nil
}

// split turns one report about an object into one leaf for each key. The
// validator names keys only inside its text, so they are found anew.
func (c compiled) split(leaf Leaf, e *jsonschema.ValidationError, value any) []Leaf {
	where, ok := lookUp(c.doc, schemaPointer(e.AbsoluteKeywordLocation))
	if !ok {
		return []Leaf{leaf}
	}
	rule, _ := where.(map[string]any)
	switch leaf.Keyword {
	case "required":
		object := objectAt(value, leaf.Pointer)
		return each(leaf, missing(rule, object), nil)
	case "additionalProperties":
		object := objectAt(value, leaf.Pointer)
		known := known(rule)
		return each(leaf, unknown(object, known), known)
	case "enum":
		values, _ := rule["enum"].([]any)
		leaf.Allowed = texts(values)
	case "const":
		leaf.Allowed = texts([]any{rule["const"]})
	}
	return []Leaf{leaf}
}

// each repeats leaf for every key. No key at all would lose the report, so the
// leaf then stands as it is.
func each(leaf Leaf, keys, allowed []string) []Leaf {
	if len(keys) == 0 {
		return []Leaf{leaf}
	}
	out := make([]Leaf, len(keys))
	for i, k := range keys {
		out[i] = leaf
		out[i].Property, out[i].Allowed = k, allowed
		out[i].Message = leaf.Keyword + ": " + k
	}
	return out
}

func missing(rule, object map[string]any) []string {
	required, _ := rule["required"].([]any)
	var out []string
	for _, r := range required {
		k, _ := r.(string)
		if _, ok := object[k]; !ok {
			out = append(out, k)
		}
	}
	return out
}

func known(rule map[string]any) []string {
	properties, _ := rule["properties"].(map[string]any)
	out := make([]string, 0, len(properties))
	for k := range properties {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func unknown(object map[string]any, known []string) []string {
	var out []string
	for k := range object {
		if _, found := slices.BinarySearch(known, k); !found {
			out = append(out, k)
		}
	}
	slices.Sort(out)
	return out
}

func texts(values []any) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = fmt.Sprint(v)
	}
	return out
}
