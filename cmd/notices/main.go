// Notices writes cmd/busgauss/internal/notices/NOTICES.txt: the licences of all that is linked into the program on any of the systems that
// releases are made for, from the module cache. With -check it writes nothing and fails when the file would change.
//
// usage: go run ./cmd/notices [-check]
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
)

// target is where the notices are kept, below the root of the repository.
const target = "cmd/busgauss/internal/notices/NOTICES.txt"

func main() {
	check := flag.Bool("check", false, "write nothing, fail when the notices would change")
	flag.Parse()
	if err := run(*check); err != nil {
		fmt.Fprintln(os.Stderr, "notices:", err)
		os.Exit(1)
	}
}

func run(check bool) error {
	parts, err := linked()
	if err != nil {
		return err
	}
	text, err := notices(parts)
	if err != nil {
		return err
	}
	if old, err := os.ReadFile(target); err == nil && bytes.Equal(old, text) {
		return nil
	}
	if check {
		return fmt.Errorf("%s is not what is linked: run go run ./cmd/notices", target)
	}
	return os.WriteFile(target, text, 0o644)
}
