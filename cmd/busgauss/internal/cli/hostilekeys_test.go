package cli

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"busgauss/schema"
)

// numberKeys returns, out of the schema of layouts, the paths of all that is a number or a quantity, in their order: a
// free name and the place of an item are "*". bounds are the ends that the schema itself gives, by path.
func numberKeys(t testing.TB) (paths []string, bounds map[string][2]any) {
	t.Helper()
	var doc map[string]any
	if err := json.Unmarshal(schema.Layout, &doc); err != nil {
		t.Fatal(err)
	}
	definitions := doc["definitions"].(map[string]any)
	bounds = map[string][2]any{}
	var walk func(s map[string]any, path string, depth int)
	walk = func(s map[string]any, path string, depth int) {
		if depth > 40 {
			t.Fatalf("the schema has no end at %s", path)
		}
		if ref, ok := s["$ref"].(string); ok {
			walk(definitions[strings.TrimPrefix(ref, "#/definitions/")].(map[string]any), path, depth+1)
		}
		kinds, _ := s["type"].([]any)
		if kind, ok := s["type"].(string); ok {
			kinds = []any{kind}
		}
		_, quantity := s["pattern"]
		if _, examples := s["examples"]; quantity && examples || slices.Contains(kinds, any("number")) || slices.Contains(kinds, any("integer")) {
			bounds[path] = [2]any{s["minimum"], s["maximum"]}
		}
		for name, of := range inner(s["properties"]) {
			walk(of, path+"/"+name, depth+1)
		}
		for _, key := range []string{"additionalProperties", "items"} {
			if of, ok := s[key].(map[string]any); ok {
				walk(of, path+"/*", depth+1)
			}
		}
		tuple, _ := s["items"].([]any)
		for i, of := range tuple {
			walk(of.(map[string]any), path+"/"+strconv.Itoa(i), depth+1)
		}
		if words, ok := s["enum"].([]any); ok {
			if _, number := words[0].(float64); number {
				bounds[path] = [2]any{words[0], words[len(words)-1]}
			}
		}
		for _, key := range []string{"then", "else"} {
			if of, ok := s[key].(map[string]any); ok {
				walk(of, path, depth+1)
			}
		}
		for _, key := range []string{"anyOf", "oneOf", "allOf"} {
			list, _ := s[key].([]any)
			for _, of := range list {
				walk(of.(map[string]any), path, depth+1)
			}
		}
	}
	walk(doc, "", 0)
	return slices.Sorted(maps.Keys(bounds)), bounds
}

// twin returns the path at which the same part of the schema stands above the one at path: a stage of all channels for one of a single
// channel, a set of currents of a duty for one beside it.
func twin(path string) string {
	path = strings.Replace(path, "/readout/channels/*/", "/readout/", 1)
	path = strings.Replace(path, "/with/*/", "/", 1)
	return strings.Replace(path, "/currents/*/harmonics/", "/harmonics/", 1)
}

func inner(v any) map[string]map[string]any {
	out := map[string]map[string]any{}
	all, _ := v.(map[string]any)
	for name, of := range all {
		if of, ok := of.(map[string]any); ok {
			out[name] = of
		}
	}
	return out
}

// fits reports whether the path of a number in a file is one of the schema.
func fits(path []string, pattern string) bool {
	steps := strings.Split(strings.TrimPrefix(pattern, "/"), "/")
	if len(steps) != len(path) {
		return false
	}
	for i, s := range steps {
		if s != "*" && s != path[i] {
			return false
		}
	}
	return true
}

// rangeTexts are the layouts of which the table takes each number to the ends of its range.
var rangeTexts = []struct{ name, text string }{
	{"manyKeys", manyKeys}, {"manyCurrents", manyCurrents}, {"inSpace", inSpace}, {"cutBar", cutBar}, {"ironLong", ironLong}, {"otherForms", otherForms}, {"ironForms", ironForms}, {"ironShort", ironShort}, {"quick", quick}, {"bare", bare(0)},
}

// TestHostileTexts wants each number that the schema knows to stand in one of the texts at least.
func TestHostileTexts(t *testing.T) {
	keys, _ := numberKeys(t)
	if len(keys) < 150 {
		t.Errorf("the schema knows %d numbers only", len(keys))
	}
	var all []numberAt
	for _, r := range rangeTexts {
		all = append(all, numbersOf(r.text)...)
	}
	for _, key := range keys {
		if slices.Contains(keys, twin(key)) && twin(key) != key {
			continue
		}
		if !slices.ContainsFunc(all, func(n numberAt) bool { return fits(n.path, key) }) {
			t.Errorf("no text has %s", key)
		}
	}
	for _, n := range all {
		if !slices.ContainsFunc(keys, func(key string) bool { return fits(n.path, key) }) && n.path[0] != "layout" {
			t.Errorf("the schema knows no number %s", strings.Join(n.path, "/"))
		}
	}
}
