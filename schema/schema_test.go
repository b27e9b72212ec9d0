package schema

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// keywords are those of draft-07 that the layout schema may use, each with the
// check of its argument. Source: A. Wright and H. Andrews, JSON Schema: A Media
// Type for Describing JSON Documents, draft-handrews-json-schema-01 (draft-07),
// and its validation part.
var keywords = map[string]func(any) bool{
	"$schema": isString, "$id": isString, "$ref": isString,
	"title": isString, "description": isString, "examples": isList,
	"type": isType, "enum": isList, "const": func(any) bool { return true },
	"minimum": isNumber, "maximum": isNumber,
	"minLength": isNumber, "pattern": isString,
	"items": isSchemaOrList, "contains": isObject, "minItems": isNumber, "maxItems": isNumber,
	"properties": isObject, "required": isNames, "additionalProperties": isSchemaOrBool,
	"propertyNames": isObject, "minProperties": isNumber, "maxProperties": isNumber,
	"if": isObject, "then": isObject, "else": isObject,
	"not": isObject, "anyOf": isList, "definitions": isObject,
}

func isString(v any) bool { _, ok := v.(string); return ok }
func isNumber(v any) bool { _, ok := v.(float64); return ok }
func isList(v any) bool   { _, ok := v.([]any); return ok }
func isObject(v any) bool { _, ok := v.(map[string]any); return ok }
func isBool(v any) bool   { _, ok := v.(bool); return ok }

func isSchemaOrBool(v any) bool { return isObject(v) || isBool(v) }
func isSchemaOrList(v any) bool { return isObject(v) || isList(v) }

func isNames(v any) bool {
	names, ok := v.([]any)
	return ok && len(names) > 0 && !slices.ContainsFunc(names, func(n any) bool { return !isString(n) })
}

func isType(v any) bool {
	if list, ok := v.([]any); ok {
		return len(list) > 0 && !slices.ContainsFunc(list, func(n any) bool { return !isType(n) })
	}
	s, _ := v.(string)
	return slices.Contains([]string{"string", "number", "integer", "boolean", "object", "array", "null"}, s)
}

// strict walks a schema and returns what a lax validator would let pass: unknown
// keywords, arguments of the wrong kind, properties without description, open
// objects, required keys that no property describes, references to nothing.
func strict(doc map[string]any) []string {
	var out []string
	say := func(path, format string, args ...any) {
		out = append(out, path+": "+fmt.Sprintf(format, args...))
	}
	var walk func(path string, s map[string]any, branch bool)
	sub := func(path string, v any, branch bool) {
		if s, ok := v.(map[string]any); ok {
			walk(path, s, branch)
		}
	}
	walk = func(path string, s map[string]any, branch bool) {
		for _, k := range slices.Sorted(maps.Keys(s)) {
			check, known := keywords[k]
			switch {
			case !known:
				say(path, "unknown keyword %q", k)
			case !check(s[k]):
				say(path, "keyword %q has a wrong argument", k)
			}
		}
		if ref, ok := s["$ref"].(string); ok {
			pointer, local := strings.CutPrefix(ref, "#")
			if _, found := lookUp(doc, pointer); !local || !found {
				say(path, "reference %q leads nowhere", ref)
			}
		}
		properties, _ := s["properties"].(map[string]any)
		if properties != nil && s["additionalProperties"] != false {
			say(path, "object is open")
		}
		for _, k := range slices.Sorted(maps.Keys(properties)) {
			p, ok := properties[k].(map[string]any)
			if !ok {
				say(path, "property %q is no schema", k)
				continue
			}
			if text, _ := p["description"].(string); strings.TrimSpace(text) == "" {
				say(path, "property %q has no description", k)
			}
			walk(path+"/properties/"+k, p, false)
		}
		required, _ := s["required"].([]any)
		for _, r := range required {
			if _, ok := properties[fmt.Sprint(r)]; !branch && !ok {
				say(path, "required key %q has no property", r)
			}
		}
		for _, k := range []string{"additionalProperties", "propertyNames"} {
			sub(path+"/"+k, s[k], false)
		}
		for _, k := range []string{"if", "then", "else", "not", "contains"} {
			sub(path+"/"+k, s[k], true)
		}
		for _, k := range []string{"items", "anyOf"} {
			sub(path+"/"+k, s[k], false)
			list, _ := s[k].([]any)
			for i, item := range list {
				sub(fmt.Sprintf("%s/%s/%d", path, k, i), item, true)
			}
		}
		definitions, _ := s["definitions"].(map[string]any)
		for _, k := range slices.Sorted(maps.Keys(definitions)) {
			d, _ := definitions[k].(map[string]any)
			if text, _ := d["description"].(string); text == "" {
				say(path, "definition %q has no description", k)
			}
			walk(path+"/definitions/"+k, d, false)
		}
	}
	walk("#", doc, false)
	return out
}

func document(t *testing.T) map[string]any {
	t.Helper()
	var doc map[string]any
	if err := json.Unmarshal(Layout, &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

func TestSchemaIsStrict(t *testing.T) {
	doc := document(t)
	for _, fault := range strict(doc) {
		t.Error(fault)
	}
	if doc["$id"] != LayoutID || doc["$schema"] != "http://json-schema.org/draft-07/schema#" {
		t.Errorf("$id %v, $schema %v", doc["$id"], doc["$schema"])
	}
	if !strings.HasSuffix(LayoutID, fmt.Sprintf(":%d", LayoutVersion)) {
		t.Errorf("identifier %s does not end in version %d", LayoutID, LayoutVersion)
	}
}

// The strict walk itself must see each kind of fault.
func TestStrictSeesFaults(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"proprties": {}}`, `unknown keyword "proprties"`},
		{`{"definitions": {"a": {"description": "d", "not": {"widht": 1}}}}`, `unknown keyword "widht"`},
		{`{"minItems": "3"}`, `keyword "minItems" has a wrong argument`},
		{`{"type": "text"}`, `keyword "type" has a wrong argument`},
		{`{"additionalProperties": false, "properties": {"a": {"type": "string"}}}`, `property "a" has no description`},
		{`{"properties": {"a": {"description": "d"}}}`, `object is open`},
		{`{"required": ["b"]}`, `required key "b" has no property`},
		{`{"$ref": "#/definitions/none"}`, `leads nowhere`},
		{`{"$ref": "https://elsewhere.invalid/x"}`, `leads nowhere`},
		{`{"definitions": {"a": {}}}`, `definition "a" has no description`},
	} {
		var doc map[string]any
		if err := json.Unmarshal([]byte(c.text), &doc); err != nil {
			t.Fatal(err)
		}
		got := strict(doc)
		if len(got) != 1 || !strings.Contains(got[0], c.want) {
			t.Errorf("%s: got %q, want one fault with %q", c.text, got, c.want)
		}
	}
}

func decode(t *testing.T, text string) any {
	t.Helper()
	var v any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

const sound = `{"layout": 1, "bars": {"U": {"section": {"width": "20 mm", "thickness": "3 mm"}, "at": ["0 mm", "0 mm"], "metal": "copper"}}}`

func TestValidate(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string // pointer keyword property
	}{
		{"sound", sound, nil},
		{"two unknown keys", `{"layout": 1, "bars": {"a/b": {"section": {"diameter": "3 mm", "widht": 1}, "at": ["0 mm", "0 mm"], "metal": "copper", "colour": 1}}}`,
			[]string{"/bars/a~1b additionalProperties colour", "/bars/a~1b/section additionalProperties widht"}},
		{"percent and tilde in a name", `{"layout": 1, "bars": {"a%2F~ ü": {"at": ["0 mm", "0 mm"], "metal": "copper"}}}`,
			[]string{"/bars/a%2F~0 ü required section"}},
		{"empty", `{}`, []string{" required bars", " required layout"}},
		{"version", strings.Replace(sound, `"layout": 1`, `"layout": 2`, 1), []string{"/layout const "}},
		{"one branch only", strings.Replace(sound, `"thickness": "3 mm"`, `"diameter": "3 mm"`, 1),
			[]string{"/bars/U/section not ", "/bars/U/section required thickness"}},
		{"bare number", strings.Replace(sound, `"20 mm"`, `20`, 1), []string{"/bars/U/section/width type "}},
		{"no blank", strings.Replace(sound, `"20 mm"`, `"20mm"`, 1), []string{"/bars/U/section/width pattern "}},
		{"kind", strings.Replace(sound, `"bars"`, `"duties": {"d": {"kind": "maximum"}}, "bars"`, 1), []string{"/duties/d/kind enum "}},
		{"empty name", strings.Replace(sound, `"U"`, `""`, 1), []string{"/bars propertyNames "}},
	} {
		t.Run(c.name, func(t *testing.T) {
			leaves, err := Validate(decode(t, c.text))
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, l := range leaves {
				got = append(got, l.Pointer+" "+l.Keyword+" "+l.Property)
				if l.Message == "" {
					t.Errorf("%s has no message", l.Pointer)
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestAllowed(t *testing.T) {
	leaves, err := Validate(decode(t, strings.Replace(sound, `"bars"`,
		`"duties": {"d": {"kind": "maximum"}}, "surroundings": {"far": true}, "bars"`, 1)))
	if err != nil {
		t.Fatal(err)
	}
	var got [][]string
	for _, l := range leaves {
		got = append(got, l.Allowed)
	}
	want := [][]string{{"continuous", "peak", "fault"}, {"clear", "immunity", "magnets", "return", "uniform", "wires"}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The validator reports in random order.
func TestValidateIsDeterministic(t *testing.T) {
	v := decode(t, `{"a": 1, "b": 2, "c": 3, "bars": {"U": {"x": 1, "y": 2}, "V": 5, "W": {"section": 1}}, "duties": [], "needs": 3}`)
	first, err := Validate(v)
	if err != nil || len(first) < 10 {
		t.Fatalf("%d leaves, %v", len(first), err)
	}
	for range 50 {
		again, _ := Validate(v)
		if !reflect.DeepEqual(first, again) {
			t.Fatalf("got %v, then %v", first, again)
		}
	}
}

// The validator panics on numbers that are not finite and gives no place for
// foreign types: both are errors here, and so is a panic inside it.
func TestValidateRefusesForeignValues(t *testing.T) {
	for _, v := range []any{
		math.NaN(), math.Inf(1), []any{math.Inf(-1)}, map[string]any{"layout": math.NaN()},
		map[any]any{}, json.Number("1e9999999"), []string{"x"}, struct{}{},
	} {
		if leaves, err := Validate(v); err == nil || leaves != nil {
			t.Errorf("Validate(%#v) = %v, %v; want an error", v, leaves, err)
		}
	}
	bad, err := compile("urn:test:1", []byte(`{}`))
	if err != nil {
		t.Fatal(err)
	}
	bad.schema.AllOf = append(bad.schema.AllOf, nil) // no schema at all: the validator runs into it
	if leaves, err := bad.validate("text"); err == nil || leaves != nil {
		t.Errorf("panic gave %v, %v; want an error", leaves, err)
	}
}

func TestCompileReachesNothingOutside(t *testing.T) {
	file := filepath.Join(t.TempDir(), "s.json")
	if err := os.WriteFile(file, []byte(`{"type": "string"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, ref := range []string{"file://" + filepath.ToSlash(file), "https://elsewhere.invalid/s.json", "other.json"} {
		_, err := compile("urn:test:1", []byte(`{"$ref": "`+ref+`"}`))
		if err == nil {
			t.Errorf("reference to %s compiled", ref)
		}
	}
	if _, err := compile("urn:test:1", []byte(`{"pattern": "(?=x)"}`)); err == nil {
		t.Error("bad pattern compiled")
	}
}

func TestLayoutEndsInNewline(t *testing.T) {
	if !bytes.HasSuffix(Layout, []byte("}\n")) || bytes.Contains(Layout, []byte("\t")) {
		t.Error("schema file must be indented by blanks and end in a newline")
	}
}

func BenchmarkValidate(b *testing.B) {
	var v any
	if err := json.Unmarshal([]byte(sound), &v); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if leaves, err := Validate(v); err != nil || leaves != nil {
			b.Fatal(leaves, err)
		}
	}
}
