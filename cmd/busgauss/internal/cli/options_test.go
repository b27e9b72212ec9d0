package cli

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// option is a word that reads as an option with two hyphens, and none of a rule of a table or a comment.
var option = regexp.MustCompile(`(?:^|[^\w-])--([a-z][a-z0-9-]*)`)

// foreign are options of other programs of which documents, recipes and messages speak, and of commands that serve the
// repository.
var foreign = map[string]string{
	"global": "git config", "unshallow": "git fetch", "no-pager": "git", "no-replace-objects": "git", "literal-pathspecs": "git", "is-shallow-repository": "git rev-parse",
	"show-toplevel": "git rev-parse", "verify": "git rev-parse", "end-of-options": "git", "format": "git for-each-ref, and ours", "full-tree": "git ls-tree", "batch": "git cat-file",
	"no-commit-id": "git diff-tree", "no-ext-diff": "git diff-tree", "no-textconv": "git diff-tree", "ignore-submodules": "git diff-tree", "diff-filter": "git diff-tree",
	"name-status": "git diff-tree", "disambiguate": "git rev-parse", "add": "git config", "depth": "git fetch and git clone", "tags": "git fetch", "branch": "git clone",
}

// TestOptionsExist wants every option of which a message, a help text, a document or a file that init writes speaks to
// be one of some command, and one that stands behind the name of a command to be one of that command.
func TestOptionsExist(t *testing.T) {
	root := newRoot(&Streams{In: strings.NewReader(""), Env: func(string) string { return "" }})
	known := map[string]map[string]bool{} // by command
	all := map[string]bool{"help": true, "version": true}
	var collect func(c *cobra.Command)
	collect = func(c *cobra.Command) {
		c.InitDefaultHelpFlag()
		own := map[string]bool{"help": true}
		add := func(f *pflag.Flag) { own[f.Name], all[f.Name] = true, true }
		c.Flags().VisitAll(add)
		c.InheritedFlags().VisitAll(add)
		known[c.Name()] = own
		for _, sub := range c.Commands() {
			collect(sub)
		}
	}
	collect(root)
	command := regexp.MustCompile(`busgauss (?:standard )?(` + strings.Join(slices.Sorted(maps.Keys(known)), "|") + `)\b([^\n;|&]*)`)
	seen := map[string]bool{}
	hold := func(where, text string) {
		for _, m := range option.FindAllStringSubmatch(text, -1) {
			seen[m[1]] = true
			if !all[m[1]] && foreign[m[1]] == "" {
				t.Errorf("%s speaks of --%s, which no command has", where, m[1])
			}
		}
		for _, m := range command.FindAllStringSubmatch(text, -1) {
			for _, o := range option.FindAllStringSubmatch(m[2], -1) {
				if !known[m[1]][o[1]] && foreign[o[1]] == "" {
					t.Errorf("%s speaks of busgauss %s ... --%s, which that command has not", where, m[1], o[1])
				}
			}
		}
	}
	const repository = "../../../.."
	literals, documents := 0, 0
	err := filepath.WalkDir(repository, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := filepath.ToSlash(strings.TrimPrefix(path, repository+string(filepath.Separator)))
		if d.IsDir() {
			if d.Name() == ".git" || d.Name() == "testdata" || d.Name() == "dist" {
				return fs.SkipDir
			}
			return nil
		}
		switch {
		case strings.HasSuffix(name, "_test.go"), name == "rules/report/figure/style.go": // colours of a style sheet are written alike
		case strings.HasSuffix(name, ".go"):
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if text, err := strconv.Unquote(lit.Value); err == nil {
						hold(name, text)
						literals++
					}
				}
				return true
			})
		case strings.HasPrefix(name, ".ci/"), name == "cmd/busgauss/internal/notices/NOTICES.txt": // of other programs
		case strings.HasSuffix(name, ".md"), strings.HasSuffix(name, ".yml"), strings.HasSuffix(name, ".yaml"), strings.HasSuffix(name, ".html"):
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			documents++
			hold(name, string(text))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if literals < 5000 || documents < 50 {
		t.Errorf("only %d texts of the program and %d documents are looked at", literals, documents)
	}
	for name := range foreign {
		if !seen[name] {
			t.Errorf("--%s is excused, and nothing speaks of it", name)
		}
	}
	for name := range all {
		if !seen[name] && name != "help" && name != "version" {
			t.Logf("nothing speaks of --%s", name)
		}
	}
	// What the test itself would find.
	for text, want := range map[string]int{"busgauss check --exact x": 1, "use --no-such-thing": 1, "busgauss compare --exact main": 0, "a -- b, --- and <!-- c -->": 0} {
		n := 0
		for _, m := range command.FindAllStringSubmatch(text, -1) {
			for _, o := range option.FindAllStringSubmatch(m[2], -1) {
				if !known[m[1]][o[1]] {
					n++
				}
			}
		}
		for _, m := range option.FindAllStringSubmatch(text, -1) {
			if !all[m[1]] {
				n++
			}
		}
		if n != want {
			t.Errorf("%q: %d, want %d", text, n, want)
		}
	}
}

// TestLimitsInDocuments wants what the documents say of limits to be what the program takes.
func TestLimitsInDocuments(t *testing.T) {
	const mib = 1 << 20
	readme, problems := read(t, "../../../..", "README.md"), read(t, "../../../..", "rules/problems.md")
	for _, c := range []struct {
		text, want string
	}{
		{readme, fmt.Sprintf("a layout %d MiB", maxFileBytes/mib)}, {readme, fmt.Sprintf("a run %d,000 layouts and %d MiB of them", maxInputs/1000, maxAllBytes/mib)},
		{problems, fmt.Sprintf("Default limits: %d MiB", maxFileBytes/mib)},
	} {
		if !strings.Contains(strings.ReplaceAll(c.text, "\n", " "), c.want) {
			t.Errorf("no document says %q", c.want)
		}
	}
	if maxFileBytes%mib+maxAllBytes%mib+maxInputs%1000 != 0 {
		t.Error("a limit is no whole number of its unit")
	}
}

// TestActionsPinned wants every action of others by the full digest of its commit, with its version beside it, in our
// own workflows, in recipes and in what init writes; ours is put in by whoever has it.
func TestActionsPinned(t *testing.T) {
	uses := regexp.MustCompile(`(?m)^\s*-? *uses: *(.*)$`)
	pinned := regexp.MustCompile(`^[\w./-]+@[0-9a-f]{40} # v\d+\.\d+\.\d+$`)
	found := 0
	version := map[string]string{}
	for _, pattern := range []string{".github/*.md", ".github/workflows/*.yml", ".github/actions/*/action.yml", "cmd/busgauss/internal/starter/files/*.yml", "README.md"} {
		names, err := filepath.Glob(filepath.Join("../../../..", pattern))
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: %v", pattern, err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range uses.FindAllStringSubmatch(string(text), -1) {
				what := strings.TrimSpace(m[1])
				if strings.HasPrefix(what, "OWNER/") && strings.HasSuffix(what, "@REF") || strings.HasPrefix(what, "./") {
					continue
				}
				found++
				if !pinned.MatchString(what) {
					t.Errorf("%s: %s is not pinned by a digest and a version", name, what)
				}
				action, digest, _ := strings.Cut(what, "@")
				if was, ok := version[action]; ok && was != digest {
					t.Errorf("%s: %s is %s here and %s elsewhere", name, action, digest, was)
				}
				version[action] = digest
			}
		}
	}
	if found < 15 {
		t.Errorf("only %d actions are looked at", found)
	}
}
