package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules/engine"
)

const rulesDir = "../../rules"

// The catalogue on disk is what the comments and limits say.
func TestCatalogueIsCurrent(t *testing.T) {
	if err := run(rulesDir, true); err != nil {
		t.Error(err)
	}
}

// A catalogue that is old or missing is an error in check mode, which leaves the
// file as it was; without it the file is written.
func TestCheckModeWritesNothing(t *testing.T) {
	dir := t.TempDir()
	entries, err := os.ReadDir(rulesDir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if filepath.Ext(e.Name()) != ".go" {
			continue
		}
		data, err := os.ReadFile(filepath.Join(rulesDir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, e.Name()), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(dir, "README.md")
	if err := run(dir, true); err == nil {
		t.Error("a missing catalogue passes")
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("check mode wrote the catalogue")
	}
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := run(dir, true); err == nil || !strings.Contains(err.Error(), "go generate") {
		t.Errorf("an old catalogue: %v", err)
	}
	if data, err := os.ReadFile(path); err != nil || string(data) != "old" {
		t.Errorf("check mode changed the catalogue: %v", err)
	}
	if err := run(dir, false); err != nil {
		t.Fatal(err)
	}
	if err := run(dir, true); err != nil {
		t.Errorf("a catalogue just written: %v", err)
	}
	written, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if kept, err := os.ReadFile("../../rules/README.md"); err != nil || string(written) != string(kept) {
		t.Errorf("the catalogue written is not the one that is kept: %v", err)
	}
}

func TestRunWithoutRules(t *testing.T) {
	if err := run(filepath.Join(t.TempDir(), "none"), true); err == nil {
		t.Error("a missing directory passes")
	}
	if err := run(t.TempDir(), true); err == nil || !strings.Contains(err.Error(), "has no comment") {
		t.Errorf("a directory without the rules' sources: %v", err)
	}
}

const source = `package rules

// Sample reports something.
//
//	Quantity  q
//	Formula   f,
//	          over two lines
//	Valid     v
//	Source    s
//	Not seen  n
var Sample = engine.Rule{ID: "sample", Title: "t"}
`

func sample() engine.Rule {
	return engine.Rule{ID: "sample", Title: "something", Level: finding.Error, Check: func(*engine.Run) {},
		Limits: []engine.Limit{{Key: "most", Unit: "1", Default: 0.05, Of: finding.Share{Whole: finding.OwnCurrent},
			Reason: "common practice"}}}
}

func catalogueOf(t *testing.T, text string) (string, error) {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "sample.go"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	docs, err := readComments(dir)
	if err != nil {
		return "", err
	}
	out, err := catalogue([]engine.Rule{sample()}, docs)
	return string(out), err
}

func TestCatalogueText(t *testing.T) {
	got, err := catalogueOf(t, source)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"| [`sample`](#sample) | error | something |\n",
		"\n## sample\n\nReports something.\n\n- Quantity: q\n- Formula: f, over two lines\n- Valid: v\n- Source: s\n- Not seen: n\n- Limit `most`: at most 5.00 %. common practice\n",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("lacks %q:\n%s", want, got)
		}
	}
}

// A comment that is missing, or lacks any one fact, is refused by its name.
func TestCatalogueRefusesMissingFacts(t *testing.T) {
	for _, fact := range facts {
		var kept []string
		for line := range strings.Lines(source) {
			if strings.HasPrefix(line, "//\t"+fact) || fact == "Formula" && strings.Contains(line, "over two lines") {
				continue
			}
			kept = append(kept, line)
		}
		if _, err := catalogueOf(t, strings.Join(kept, "")); err == nil || !strings.Contains(err.Error(), `"`+fact+`"`) {
			t.Errorf("without %s: %v", fact, err)
		}
	}
	for name, text := range map[string]string{
		"has no comment": "package rules\n\nvar Sample = engine.Rule{ID: \"sample\"}\n",
		"has no text":    strings.Replace(source, "// Sample reports something.\n//\n", "", 1),
		"no fact":        strings.Replace(source, "//\tQuantity  q\n", "//\tstray line\n//\tQuantity  q\n", 1),
		"expected":       "package rules\n\nvar Sample = {\n",
	} {
		if _, err := catalogueOf(t, text); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("want %q, got %v", name, err)
		}
	}
	bad := sample()
	bad.Limits[0].Reason = ""
	if _, err := catalogue([]engine.Rule{bad}, map[string]string{"sample": "Sample x"}); err == nil {
		t.Error("a limit without a reason passes")
	}
}
