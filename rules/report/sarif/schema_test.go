package sarif

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	published "github.com/owenrumney/go-sarif/v3/pkg/report/v210/sarif"
)

// againstSchema checks data with the OASIS schema that the module brings along.
// The module validates its own types and not bytes, so data must first go
// through them without loss: no field unknown to them, and every value still
// there when they are written out.
func againstSchema(data []byte) error {
	var log published.Report
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&log); err != nil {
		return fmt.Errorf("decode: %w", err)
	}
	filled, err := published.FromBytes(data)
	if err != nil {
		return fmt.Errorf("decode: %w", err)
	}
	// The module writes these even when they are absent, so they need the values
	// that the schema gives them then.
	for _, run := range filled.Runs {
		run.Language, run.Tool.Driver.Language = "en-US", "en-US"
		run.NewlineSequences = []string{"\r\n", "\n"}
	}
	if err := filled.Validate(); err != nil {
		return fmt.Errorf("schema: %w", err)
	}
	again, err := json.Marshal(filled)
	if err != nil {
		return err
	}
	var ours, theirs any
	if err := json.Unmarshal(data, &ours); err != nil {
		return err
	}
	if err := json.Unmarshal(again, &theirs); err != nil {
		return err
	}
	return contained("", ours, theirs)
}

// contained says which part of a is not in b. Empty lists may be missing.
func contained(path string, a, b any) error {
	switch a := a.(type) {
	case map[string]any:
		other, ok := b.(map[string]any)
		if !ok {
			return fmt.Errorf("%s: lost", path)
		}
		for key, value := range a {
			if list, ok := value.([]any); ok && len(list) == 0 {
				continue
			}
			if err := contained(path+"/"+key, value, other[key]); err != nil {
				return err
			}
		}
	case []any:
		other, ok := b.([]any)
		if !ok || len(other) != len(a) {
			return fmt.Errorf("%s: lost", path)
		}
		for i := range a {
			if err := contained(fmt.Sprintf("%s/%d", path, i), a[i], other[i]); err != nil {
				return err
			}
		}
	default:
		if a != b {
			return fmt.Errorf("%s: %v became %v", path, a, b)
		}
	}
	return nil
}

func TestPublishedSchema(t *testing.T) {
	for name, data := range outputs(t) {
		if err := againstSchema(data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// What the schema forbids must come out as an error, or the test above says
// nothing.
func TestSchemaCheckSeesFaults(t *testing.T) {
	whole := string(written(t, thruster(), Options{ExitCode: 1}))
	for _, swap := range [][2]string{
		{`"startLine": 7`, `"startLine": "7"`},
		{`"startLine": 7`, `"startLine": 0`},
		{`"columnKind": "unicodeCodePoints"`, `"columnKind": "bytes"`},
		{`"kind": "informational"`, `"kind": "whatever"`},
		{`"exitCode": 1`, `"exitKode": 1`},
		{`"version": "2.1.0"`, `"version": "2.0.0"`},
		{`"level": "error"`, `"level": "high"`},
		{`"ruleIndex": 2`, `"ruleIndex": -2`},
		{`"executionSuccessful": true`, `"executionSuccessful": 1`},
	} {
		if !strings.Contains(whole, swap[0]) {
			t.Fatalf("nothing to break: %s", swap[0])
		}
		if againstSchema([]byte(strings.ReplaceAll(whole, swap[0], swap[1]))) == nil {
			t.Errorf("%s passes", swap[1])
		}
	}
}
