package schema

import (
	"encoding/json"
	"strings"
	"testing"
)

// The schemas of the standard and its files keep to the strict subset that the
// schema of layouts keeps to, and know their own identifiers.
func TestHouseSchemasAreStrict(t *testing.T) {
	for _, format := range []string{Standard, Deviations, Baseline} {
		var doc map[string]any
		if err := json.Unmarshal(Of(format), &doc); err != nil {
			t.Fatalf("%s: %v", format, err)
		}
		for _, complaint := range strict(doc) {
			t.Errorf("%s: %s", format, complaint)
		}
		if id, _ := doc["$id"].(string); id != "urn:busgauss:"+format+":1" {
			t.Errorf("%s: $id %q", format, id)
		}
	}
	if Of("layouts") != nil {
		t.Error("a schema for a format that does not exist")
	}
}

func TestValidateAs(t *testing.T) {
	for _, c := range []struct {
		format string
		value  map[string]any
		want   string // pointer, keyword and property of the leaves
	}{
		{Standard, map[string]any{"standard": 1.0}, ""},
		{Standard, map[string]any{"standard": 2.0}, "/standard const "},
		{Standard, map[string]any{"standard": 1.0, "limit": 3.0}, " additionalProperties limit"},
		{Standard, map[string]any{"standard": 1.0, "rules": map[string]any{"geometry": map[string]any{"level": "off"}}}, "/rules/geometry/level enum "},
		{Deviations, map[string]any{"deviations": 1.0}, " required permits"},
		{Deviations, map[string]any{"deviations": 1.0, "permits": []any{map[string]any{"until": 3.0}}},
			"/permits/0 required approver; /permits/0 required file; /permits/0 required object; /permits/0 required reason; /permits/0 required rule; /permits/0/until type "},
		{Baseline, map[string]any{"baseline": 1.0, "findings": []any{}}, ""},
		{Baseline, map[string]any{"baseline": 1.0, "findings": []any{map[string]any{}}},
			"/findings/0 required file; /findings/0 required level; /findings/0 required object; /findings/0 required rule; /findings/0 required verdict"},
	} {
		leaves, err := ValidateAs(c.format, c.value)
		if err != nil {
			t.Fatalf("%s: %v", c.format, err)
		}
		var got []string
		for _, l := range leaves {
			got = append(got, l.Pointer+" "+l.Keyword+" "+l.Property)
		}
		if s := strings.Join(got, "; "); s != c.want {
			t.Errorf("%s %v:\n got %s\nwant %s", c.format, c.value, s, c.want)
		}
	}
	if _, err := ValidateAs("layouts", nil); err == nil {
		t.Error("a format that does not exist must be an error, not a clean value")
	}
}
