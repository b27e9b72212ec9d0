// Sbom writes to standard output what a program of Go is made of, as CycloneDX 1.6 in JSON, from what the linker put into it:
// see go version -m. The same program gives the same bytes.
//
// usage: go run ./cmd/sbom PROGRAM VERSION DAY
//
// DAY is that of the release, as 2026-12-31, or a time as 2026-12-31T12:00:00Z.
package main

import (
	"debug/buildinfo"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "sbom:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 3 {
		return fmt.Errorf("name a program, its version and the day of the release")
	}
	at, err := time.Parse(time.RFC3339, args[2])
	if err != nil {
		if at, err = time.Parse(time.DateOnly, args[2]); err != nil {
			return fmt.Errorf("%q is neither a day nor a time", args[2])
		}
	}
	data, err := os.ReadFile(args[0])
	if err != nil {
		return err
	}
	info, err := buildinfo.ReadFile(args[0])
	if err != nil {
		return err
	}
	text, err := bill(info, data, filepath.Base(args[0]), args[1], at)
	if err != nil {
		return err
	}
	_, err = os.Stdout.Write(text)
	return err
}
