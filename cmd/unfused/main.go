// Unfused keeps answers the same on every processor. Where the compiler may fuse a product with the sum
// after it, which rounds once in place of twice on some processors and twice on others, it writes the product
// as float64(a * b), which the language says is rounded. Products and quotients of complex numbers, and functions
// that the standard library computes in other ways on other processors, become those of model/portable.
// With -check it writes nothing and fails where a file would change.
//
// A product that reaches a sum by a variable or out of a function is for a person to find. The compiler says where it fused:
//
//	GOARCH=arm64 go build -gcflags=busgauss/...=-d=fmahash=vy -o /dev/null ./cmd/busgauss >LOG 2>&1
//
// With -log it fails on the places in such a log where an answer may change.
//
// usage: go run ./cmd/unfused [-check | -log FILE]
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

func main() {
	check := flag.Bool("check", false, "write nothing, fail where a file would change")
	log := flag.String("log", "", "fail on the fused sums that a log of the compiler names")
	flag.Parse()
	err := error(nil)
	if *log != "" {
		err = read(*log)
	} else {
		err = run(*check)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "unfused:", err)
		os.Exit(1)
	}
}

func run(check bool) error {
	packages, exports, err := listed("./model/...", "./rules/...", "./schema/...", "./cmd/...")
	if err != nil {
		return err
	}
	var changed []string
	for _, p := range packages {
		texts, err := p.unfused(exports)
		if err != nil {
			return err
		}
		for _, name := range p.GoFiles {
			text, ok := texts[name]
			if !ok {
				continue
			}
			path := filepath.Join(p.Dir, name)
			changed = append(changed, path)
			if !check {
				if err := os.WriteFile(path, text, 0o644); err != nil {
					return err
				}
			}
		}
	}
	if check && len(changed) > 0 {
		return fmt.Errorf("products that may be fused, or functions that differ by processor, in:\n\t%s\ngo run ./cmd/unfused mends them",
			strings.Join(changed, "\n\t"))
	}
	return nil
}

func read(log string) error {
	places, err := fused(log)
	if err == nil && len(places) > 0 {
		err = fmt.Errorf("sums fused with a product: write the product as float64(a * b) at\n\t%s", strings.Join(places, "\n\t"))
	}
	return err
}
