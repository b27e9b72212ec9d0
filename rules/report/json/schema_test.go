package json

import (
	stdjson "encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"busgauss/rules/report"
)

type object = map[string]any

// schema returns the published schema, decoded.
func schema(t *testing.T) object {
	t.Helper()
	var s object
	if err := stdjson.Unmarshal(Schema, &s); err != nil {
		t.Fatal(err)
	}
	return s
}

// keywords are those that conform understands. The schema may use no other, or
// this check would pass over it.
var keywords = []string{
	"$schema", "$id", "title", "description", "definitions",
	"type", "required", "properties", "items", "enum", "const", "minimum", "allOf", "$ref",
}

// conform holds v against the subset of JSON Schema draft-07 that the published
// schema uses (json-schema.org, draft-07 validation, section 6). It also objects
// to a property that the schema does not describe: readers may meet new ones,
// but this program must not write one in silence.
func conform(root, s object, path string, v any, known *[]string) (found []string) {
	add := func(format string, args ...any) {
		found = append(found, path+": "+fmt.Sprintf(format, args...))
	}
	if ref, ok := s["$ref"].(string); ok { // in draft-07 the siblings of $ref are ignored
		name, _ := strings.CutPrefix(ref, "#/definitions/")
		target, ok := root["definitions"].(object)[name].(object)
		if !ok {
			return []string{path + ": no definition " + ref}
		}
		return conform(root, target, path, v, known)
	}
	for _, part := range list(s["allOf"]) {
		// What a part does not describe may stand beside it.
		found = append(found, conform(root, part.(object), path, v, new([]string))...)
	}
	if types := typesOf(s["type"]); len(types) > 0 && !slices.ContainsFunc(types, func(name string) bool { return isType(v, name) }) {
		add("%v is not of type %v", v, types)
	}
	if allowed, ok := s["enum"]; ok && !slices.ContainsFunc(list(allowed), func(a any) bool { return reflect.DeepEqual(a, v) }) {
		add("%v is not one of %v", v, allowed)
	}
	if want, ok := s["const"]; ok && !reflect.DeepEqual(want, v) {
		add("%v is not %v", v, want)
	}
	if least, ok := s["minimum"].(float64); ok {
		if n, isNumber := v.(float64); isNumber && n < least {
			add("%v is below %v", v, least)
		}
	}
	if items, ok := s["items"].(object); ok {
		for i, item := range list(v) {
			found = append(found, conform(root, items, fmt.Sprintf("%s/%d", path, i), item, nil)...)
		}
	}
	o, isObject := v.(object)
	if !isObject {
		return found
	}
	for _, key := range list(s["required"]) {
		if _, ok := o[key.(string)]; !ok {
			add("%v is missing", key)
		}
	}
	described := known
	if described == nil {
		described = new([]string)
	}
	properties, _ := s["properties"].(object)
	for key, sub := range properties {
		*described = append(*described, key)
		if value, ok := o[key]; ok {
			found = append(found, conform(root, sub.(object), path+"/"+key, value, nil)...)
		}
	}
	for _, part := range list(s["allOf"]) {
		conform(root, part.(object), path, v, described)
	}
	if known == nil {
		for key := range o {
			if !slices.Contains(*described, key) {
				add("%s is not described", key)
			}
		}
	}
	return found
}

func list(v any) []any { l, _ := v.([]any); return l }

func typesOf(v any) []string {
	if one, ok := v.(string); ok {
		return []string{one}
	}
	var names []string
	for _, name := range list(v) {
		names = append(names, name.(string))
	}
	return names
}

func isType(v any, name string) bool {
	switch v := v.(type) {
	case nil:
		return name == "null"
	case bool:
		return name == "boolean"
	case string:
		return name == "string"
	case float64:
		return name == "number" || name == "integer" && v == float64(int64(v))
	case []any:
		return name == "array"
	case object:
		return name == "object"
	}
	return false
}

func decoded(t *testing.T, data []byte) any {
	t.Helper()
	var v any
	if err := stdjson.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestOutputConforms(t *testing.T) {
	s := schema(t)
	for name, r := range map[string]*report.Result{
		"findings": battery(), "nothing": {}, "hostile": hostile("\x1b##[x]\n"),
	} {
		for _, problem := range conform(s, s, "", decoded(t, written(t, r)), nil) {
			t.Errorf("%s: %s", name, problem)
		}
	}
}

// The check must object to each kind of fault, or it says nothing.
func TestConformSeesFaults(t *testing.T) {
	s := schema(t)
	whole := string(written(t, battery()))
	for _, tc := range []struct{ from, to, want string }{
		{`"format": 1`, `"format": 2`, "/format: 2 is not 1"},
		{`"format": 1`, `"formats": 1`, "format is missing"},
		{`"format": 1`, `"format": 1, "extra": 1`, "extra is not described"},
		{`"line": 12`, `"line": 0`, "/findings/0/line: 0 is below 1"},
		{`"line": 12`, `"line": 1.5`, "not of type [integer]"},
		{`"line": 30`, `"line": null`, "/findings/0/related/0/line"},
		{`"value": null`, `"value": "NaN"`, "not of type [number null]"},
		{`"verdict": "undecided"`, `"verdict": "pass"`, "/findings/2/verdict: pass is not one of [fail undecided]"},
		{`"was": "undecided"`, `"was": "pass"`, "/permitted/0/was: pass is not one of"},
		{`"approver": `, `"approved": `, "approver is missing"},
		{`"verdict": "pass"`, `"verdict": "fail"`, "/passed/0/verdict"},
		{`"level": "note"`, `"level": "info"`, "info is not one of"},
		{`"others": []`, `"others": null`, "not of type [array]"},
		{`"cable feed",`, `7,`, "/findings/0/others/0"},
		{`"text":`, `"texts":`, "text is missing"},
		{`"cause":`, `"causes":`, "causes is not described"},
		{`"certainty": 0.000333333`, `"certainty": -1`, "below 0"},
	} {
		if !strings.Contains(whole, tc.from) {
			t.Fatalf("nothing to break: %s", tc.from)
		}
		broken := decoded(t, []byte(strings.ReplaceAll(whole, tc.from, tc.to)))
		found := strings.Join(conform(s, s, "", broken, nil), "\n")
		if !strings.Contains(found, tc.want) {
			t.Errorf("%s for %s: found %q, want %q", tc.to, tc.from, found, tc.want)
		}
	}
}

func TestSchemaIsComplete(t *testing.T) {
	s := schema(t)
	if s["$schema"] != "http://json-schema.org/draft-07/schema#" {
		t.Errorf("$schema is %v", s["$schema"])
	}
	if id := fmt.Sprintf("urn:busgauss:schema:check:%d", Format); s["$id"] != id {
		t.Errorf("$id is %v, want %s", s["$id"], id)
	}
	inspect(t, s, s, "")
}

// inspect refuses unknown keywords and properties without a description.
func inspect(t *testing.T, root, s object, path string) {
	for key, value := range s {
		if !slices.Contains(keywords, key) {
			t.Errorf("%s: keyword %q is not checked", path, key)
		}
		switch key {
		case "properties", "definitions":
			for name, sub := range value.(object) {
				resolved := sub.(object)
				if ref, ok := resolved["$ref"].(string); ok {
					resolved, _ = root["definitions"].(object)[strings.TrimPrefix(ref, "#/definitions/")].(object)
				}
				if text, _ := resolved["description"].(string); len(text) < 10 {
					t.Errorf("%s/%s/%s has no description", path, key, name)
				}
				inspect(t, root, sub.(object), path+"/"+key+"/"+name)
			}
		case "items":
			inspect(t, root, value.(object), path+"/items")
		case "allOf":
			for _, part := range list(value) {
				inspect(t, root, part.(object), path+"/allOf")
			}
		}
	}
}
