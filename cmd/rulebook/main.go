// Rulebook writes rules/README.md from the comments on the rules and from their
// limits. With -check it writes nothing and fails when the file would change.
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
	path := filepath.Join(dir, "README.md")
	if old, err := os.ReadFile(path); err == nil && bytes.Equal(old, text) {
		return nil
	}
	if check {
		return fmt.Errorf("%s is not what the rules say: run go generate ./rules", path)
	}
	return os.WriteFile(path, text, 0o644)
}
