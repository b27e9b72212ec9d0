package enforce

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"busgauss/model/finding"
	"busgauss/model/policy"
	"busgauss/model/span"
	"busgauss/rules"
	"busgauss/schema/policyfile"
)

// quantities is a catalogue for tests.
func quantities() []Quantity {
	return []Quantity{
		{Kind: Channel, Name: "own_field", Type: Number, Unit: "T", Doc: "flux density of the own bar"},
		{Kind: Channel, Name: "stray", Type: Number, Unit: "1", Doc: "stray over own"},
		{Kind: Channel, Name: "gap", Type: Number, Unit: "m", Doc: "distance from the bar"},
		{Kind: Channel, Name: "elements", Type: Number, Doc: "number of elements"},
		{Kind: Channel, Name: "bar", Type: Text, Doc: "name of the bar"},
		{Kind: Channel, Name: "is_pair", Type: Flag, Doc: "a pair of elements"},
		{Kind: Bar, Name: "density", Type: Number, Unit: "A/m2", Doc: "current density"},
	}
}

func known() Known {
	list := rules.All()
	for i := range list {
		list[i].Edition = map[string]int{"plane-validity": 3, "range-use": 2}[list[i].ID]
	}
	return Known{Rules: list, Version: "1.3.2", Quantities: quantities()}
}

// read loads files given as names and contents; the standard is s.yaml, the
// deviations d.yaml, the baseline b.yaml.
func read(t *testing.T, files ...string) *policy.Set {
	t.Helper()
	root := fstest.MapFS{}
	var p policyfile.Paths
	for i := 0; i < len(files); i += 2 {
		root[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
		switch files[i] {
		case "s.yaml":
			p.Standard = files[i]
		case "d.yaml":
			p.Deviations = files[i]
		case "b.yaml":
			p.Baseline = files[i]
		}
	}
	set, problems := policyfile.Load(root, p, policyfile.Options{})
	if len(problems) > 0 {
		t.Fatalf("the files do not read:\n%s", said(problems))
	}
	return set
}

// effective resolves files that have no problem.
func effective(t *testing.T, files ...string) *Effective {
	t.Helper()
	e, problems := New(read(t, files...), known())
	if e == nil || len(problems) > 0 {
		t.Fatalf("not resolved:\n%s", said(problems))
	}
	return e
}

func said(list []finding.Finding) string {
	var out strings.Builder
	for _, f := range list {
		fmt.Fprintf(&out, "%s-%d:%d %s %s: %s\n", f.Span, f.Span.End.Line, f.Span.End.Column, f.Level, f.Rule, f.Message)
	}
	return out.String()
}

func at(line, column int) span.Span {
	return span.Span{File: "a.yaml", Start: span.Pos{Line: line, Column: column}, End: span.Pos{Line: line, Column: column + 1}}
}
