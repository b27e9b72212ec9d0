package schema

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Key is one key that a mapping may have.
type Key struct {
	Name        string
	Description string // of the schema; may be empty
	Required    bool
	Map, List   bool // its value is a mapping, or a list
}

// layoutDoc is the layout schema as it stands; reading it takes no compiler.
var layoutDoc = sync.OnceValue(func() map[string]any {
	var doc map[string]any
	if err := json.Unmarshal(Layout, &doc); err != nil {
		panic("schema: the layout schema is no JSON")
	}
	return doc
})

// KeysAt returns the keys that a layout may have in the mapping at path, sorted by name, of
// all forms that the mapping may take. path holds keys, and the places of items in lists as
// numbers. Where names are free, as under bars, there are none.
func KeysAt(path []string) []Key {
	at := map[string]*Key{}
	for _, s := range formsAt(path) {
		properties, _ := s["properties"].(map[string]any)
		for name, v := range properties {
			k := at[name]
			if k == nil {
				k = &Key{Name: name}
				at[name] = k
			}
			of, _ := v.(map[string]any)
			if k.Description == "" {
				k.Description, _ = of["description"].(string)
			}
			k.Required = k.Required || holds(s["required"], name)
			for _, form := range forms(of, 0) {
				k.Map = k.Map || form["type"] == "object"
				k.List = k.List || form["type"] == "array"
			}
		}
	}
	out := make([]Key, 0, len(at))
	for _, k := range at {
		out = append(out, *k)
	}
	slices.SortFunc(out, func(a, b Key) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// WordsAt returns the words, one of which must stand at path, with examples of what may
// stand there where any text of a form does.
func WordsAt(path []string) (words, examples []string) {
	for _, s := range formsAt(path) {
		list, _ := s["enum"].([]any)
		if v, ok := s["const"]; ok {
			list = append(slices.Clip(list), v)
		}
		if s["type"] == "boolean" {
			list = append(slices.Clip(list), true, false)
		}
		words = appendScalars(words, list)
		shown, _ := s["examples"].([]any)
		examples = appendScalars(examples, shown)
	}
	return words, examples
}

// DescribeAt returns what the schema says of the value at path; empty where it says nothing.
func DescribeAt(path []string) string {
	if len(path) > 0 {
		up := path[:len(path)-1]
		for _, k := range KeysAt(up) {
			if k.Name == path[len(path)-1] {
				return k.Description
			}
		}
	}
	for _, s := range formsAt(path) {
		if text, ok := s["description"].(string); ok {
			return text
		}
	}
	return ""
}

func appendScalars(out []string, list []any) []string {
	for _, v := range list {
		text, ok := v.(string)
		if !ok {
			body, err := json.Marshal(v)
			if err != nil || len(body) == 0 || body[0] == '{' || body[0] == '[' {
				continue
			}
			text = string(body)
		}
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

// formsAt returns all forms of the value at path, references followed.
func formsAt(path []string) []map[string]any {
	here := forms(layoutDoc(), 0)
	for _, step := range path {
		var next []map[string]any
		for _, s := range here {
			next = append(next, below(s, step)...)
		}
		here = next
	}
	return here
}

// below returns the forms of what stands in s under a key, or as an item of a list.
func below(s map[string]any, step string) []map[string]any {
	properties, _ := s["properties"].(map[string]any)
	if of, ok := properties[step].(map[string]any); ok {
		return forms(of, 0)
	}
	if of, ok := s["additionalProperties"].(map[string]any); ok {
		return forms(of, 0)
	}
	i, err := strconv.Atoi(step)
	if err != nil || i < 0 {
		return nil
	}
	switch items := s["items"].(type) {
	case map[string]any:
		return forms(items, 0)
	case []any:
		if i < len(items) {
			of, _ := items[i].(map[string]any)
			return forms(of, 0)
		}
	}
	return nil
}

// mostNested keeps a schema that refers to itself from being followed for ever.
const mostNested = 12

// forms returns s and all that it refers to or is made of, conditions left aside.
func forms(s map[string]any, depth int) []map[string]any {
	if s == nil || depth > mostNested {
		return nil
	}
	out := []map[string]any{s}
	if ref, ok := s["$ref"].(string); ok {
		definitions, _ := layoutDoc()["definitions"].(map[string]any)
		of, _ := definitions[strings.TrimPrefix(ref, "#/definitions/")].(map[string]any)
		out = append(out, forms(of, depth+1)...)
	}
	for _, key := range []string{"then", "else"} {
		of, _ := s[key].(map[string]any)
		out = append(out, forms(of, depth+1)...)
	}
	for _, key := range []string{"anyOf", "oneOf", "allOf"} {
		list, _ := s[key].([]any)
		for _, v := range list {
			of, _ := v.(map[string]any)
			out = append(out, forms(of, depth+1)...)
		}
	}
	return out
}

func holds(list any, name string) bool {
	all, _ := list.([]any)
	return slices.Contains(all, any(name))
}
