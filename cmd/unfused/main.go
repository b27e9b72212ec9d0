// Unfused keeps answers the same on every processor. Where the compiler may fuse a product with the sum
// after it, which rounds once in place of twice on some processors and twice on others, it writes the product
// as float64(a * b), which the language says is rounded. Products and quotients of complex numbers, and functions
// that the standard library computes in other ways on other processors, become those of model/portable.
// With -check it writes nothing and fails where a file would change.
//
// A product that reaches a sum by a field or out of a function is for a person to find; there, float64(x) rounds x before it is
// added. The compiler says where it fused, halves and doubles too, which are exact:
//
//	GOARCH=arm64 go build -gcflags=busgauss/...=-d=fmahash=vy -o /dev/null ./cmd/busgauss
//
// usage: go run ./cmd/unfused [-check]
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
	flag.Parse()
	if err := run(*check); err != nil {
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
