// Rulebook writes rules/README.md from the comments on the rules and from their
// limits, and rules/problems.md from what is said of files that cannot be understood. With
// -check it writes nothing and fails when a file would change.
//
// usage: go run ./cmd/rulebook [-check] [directory of the rules]
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"busgauss/rules"
)

func main() {
	check := flag.Bool("check", false, "write nothing, fail when the catalogue would change")
	flag.Parse()
	dir := "rules"
	if flag.NArg() > 0 {
		dir = flag.Arg(0)
	}
	if err := run(dir, *check); err != nil {
		fmt.Fprintln(os.Stderr, "rulebook:", err)
		os.Exit(1)
	}
}

func run(dir string, check bool) error {
	docs, err := readComments(dir)
	if err != nil {
		return err
	}
	text, err := catalogue(rules.All(), docs)
	if err != nil {
		return err
	}
	if err := keep(filepath.Join(dir, "README.md"), text, check); err != nil {
		return err
	}
	return keep(filepath.Join(dir, "problems.md"), problems(), check)
}

// keep writes a file unless it holds the text already; in check mode it says so instead.
func keep(path string, text []byte, check bool) error {
	if old, err := os.ReadFile(path); err == nil && bytes.Equal(old, text) {
		return nil
	}
	if check {
		return fmt.Errorf("%s is not what the rules say: run go generate ./rules", path)
	}
	return os.WriteFile(path, text, 0o644)
}
