package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The notices on disk are those of what is linked.
func TestNoticesAreCurrent(t *testing.T) {
	if testing.Short() {
		t.Skip("runs go list for every system")
	}
	t.Chdir("../..")
	if err := run(true); err != nil {
		t.Error(err)
	}
	text, err := os.ReadFile(target)
	if err != nil {
		t.Fatal(err)
	}
	// One of each kind of licence, the library of Go, a folder of licences, and what is linked on one system alone.
	for _, want := range []string{"the library and runtime of Go", "github.com/spf13/cobra v", "gopkg.in/yaml.v3 v", "THIRD_PARTY_LICENSES/Boost-LICENSE",
		"mousetrap v", "Apache License", "Redistribution and use in source and binary forms", "Permission is hereby granted"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the notices lack %q", want)
		}
	}
}

func TestTexts(t *testing.T) {
	write := func(dir, name, text string) {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	a, b, c := t.TempDir(), t.TempDir(), t.TempDir()
	write(a, "LICENSE", "terms\r\n")
	write(a, "NOTICE", "by a")
	write(a, "licensed.go", "package a")
	write(b, "LICENCE.md", "\nterms\n")
	write(b, "THIRD_PARTY_LICENSES/Z-LICENSE", "z")
	text, err := notices([]part{{"a", "v1", a}, {"b", "v2", b}})
	if err != nil {
		t.Fatal(err)
	}
	rule := strings.Repeat("=", 80)
	_, got, _ := strings.Cut(string(text), "cmd/notices.\n")
	want := "\n" + rule + "\na v1\nb v2\n" + rule + "\n\nterms\n\n" + rule + "\na v1, NOTICE\n" + rule + "\n\nby a\n\n" +
		rule + "\nb v2, THIRD_PARTY_LICENSES/Z-LICENSE\n" + rule + "\n\nz\n"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	// A part that nobody may pass on stops it.
	if _, err := notices([]part{{"a", "v1", a}, {"c", "v3", c}}); err == nil || !strings.Contains(err.Error(), "c has no licence") {
		t.Errorf("a part without a licence: %v", err)
	}
}
