package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// part is a module that is linked in, or the library of the language.
type part struct {
	name, version string
	dir           string
}

// systems are those that releases are made for, as .ci/release has them too.
var systems = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64"}

// linked returns what the program is linked from on any of the systems, by name. The version of the language's library is left
// out: its licence is the same in all, and the file must not change with the compiler.
func linked() ([]part, error) {
	root, err := goCommand(nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	out := []part{{name: "the library and runtime of Go", dir: strings.TrimSpace(root)}}
	for _, system := range systems {
		goos, goarch, _ := strings.Cut(system, "/")
		list, err := goCommand([]string{"GOOS=" + goos, "GOARCH=" + goarch, "CGO_ENABLED=0"}, "list", "-deps",
			"-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}} {{.Dir}}{{end}}{{end}}", "./cmd/busgauss")
		if err != nil {
			return nil, err
		}
		for line := range strings.Lines(list) {
			name, rest, ok := strings.Cut(strings.TrimSpace(line), " ")
			version, dir, given := strings.Cut(rest, " ")
			if !ok {
				continue
			}
			if !given || dir == "" {
				return nil, fmt.Errorf("module %s is not in the module cache", name)
			}
			if p := (part{name, version, dir}); !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	slices.SortFunc(out[1:], func(a, b part) int { return strings.Compare(a.name, b.name) })
	return out, nil
}

// goCommand runs the go command with more variables and returns what it prints.
func goCommand(env []string, args ...string) (string, error) {
	c := exec.Command("go", args...)
	c.Env = append(os.Environ(), env...)
	out, err := c.Output()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return "", fmt.Errorf("go %s: %s", args[0], strings.TrimSpace(string(exit.Stderr)))
	}
	if err != nil {
		return "", fmt.Errorf("go %s: %w", args[0], err)
	}
	return string(out), nil
}
