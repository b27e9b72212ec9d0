package cli

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/bmatcuk/doublestar/v4"
)

// FuzzArgument takes any text for a LAYOUT argument: it names nothing, or the files that the library of globs finds one by
// one, each once and in order.
func FuzzArgument(f *testing.F) {
	dir := f.TempDir()
	names := []string{"a.yaml", "b/a.yaml", "b/c/a.json", "b/c/[x].yml", "b/n.txt", "{a,b}.yaml", "é.yaml"}
	for _, name := range names {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			f.Fatal(err)
		}
		if err := os.WriteFile(path, []byte("layout: 1\n"), 0o644); err != nil {
			f.Fatal(err)
		}
	}
	for _, arg := range []string{"a.yaml", "b", "b/...", "**", "b/**/*.yml", "*/c", "{a,b/a}.yaml", "[!a].yaml", `\{a,b\}.yaml`, "b/c/[x].yml", "**/**/a*", "{{a,b},b/{a,c}}*", "[", "b//a.yaml", "./b/../a.yaml"} {
		f.Add(arg)
	}
	f.Fuzz(func(t *testing.T, arg string) {
		// What leads out of the folder is of no use here; what is long or has many braces is held to its ceilings elsewhere; of
		// braces with nothing in them two parts of the library say two things.
		if len(arg) > 40 || strings.Count(arg, "{") > 3 || strings.Count(arg, "*") > 6 || !utf8.ValidString(arg) || strings.Contains(arg, "..") ||
			strings.HasPrefix(arg, "/") || strings.ContainsRune(arg, 0) || arg == "-" || strings.Contains(arg, "{}") || strings.TrimLeft(arg, "./") == "" {
			return
		}
		s := &Streams{Dir: dir}
		list, _, err := gather(context.Background(), []string{arg}, s, "stdin.yaml")
		var got []string
		for _, in := range list {
			if in.err == nil {
				got = append(got, in.Path)
			}
		}
		if !slices.IsSorted(got) || len(slices.Compact(slices.Clone(got))) != len(got) {
			t.Fatalf("%q names %q", arg, got)
		}
		if err != nil && len(list) > 0 {
			t.Fatalf("%q names %q with the error %v", arg, got, err)
		}
		pattern := strings.TrimPrefix(arg, "./")
		if _, plain := os.Stat(filepath.Join(dir, arg)); plain == nil || strings.HasSuffix(arg, "/...") || filepath.ToSlash(filepath.Clean(pattern)) != pattern || !doublestar.ValidatePattern(pattern) {
			return
		}
		var want []string
		for _, name := range names {
			if ok, _ := doublestar.Match(pattern, name); ok && filepath.Ext(name) != ".txt" {
				want = append(want, name)
			}
		}
		for i := range got {
			got[i] = strings.TrimPrefix(got[i], "./")
		}
		slices.Sort(got)
		if slices.Sort(want); !slices.Equal(got, want) {
			t.Fatalf("%q names %q, want %q", arg, got, want)
		}
	})
}
