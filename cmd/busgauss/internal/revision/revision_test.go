package revision

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// shop runs git as a user of the test's repositories would.
type shop struct {
	t   *testing.T
	dir string
}

func (s shop) git(args ...string) string {
	s.t.Helper()
	c := exec.Command("git", args...)
	c.Dir = s.dir
	c.Env = append(os.Environ(), "HOME="+s.t.TempDir(), "GIT_CONFIG_NOSYSTEM=1",
		"GIT_AUTHOR_NAME=a", "GIT_AUTHOR_EMAIL=a@example.org", "GIT_COMMITTER_NAME=a", "GIT_COMMITTER_EMAIL=a@example.org",
		"GIT_AUTHOR_DATE=2024-05-01T12:00:00Z", "GIT_COMMITTER_DATE=2024-05-01T12:00:00Z")
	out, err := c.CombinedOutput()
	if err != nil {
		s.t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return strings.TrimSpace(string(out))
}

func (s shop) write(name, text string) {
	s.t.Helper()
	path := filepath.Join(s.dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		s.t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		s.t.Fatal(err)
	}
}

func (s shop) commit(message string) string {
	s.t.Helper()
	s.git("add", "-A")
	s.git("commit", "-q", "-m", message)
	return s.git("rev-parse", "HEAD")
}

func newShop(t *testing.T) shop {
	t.Helper()
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git")
	}
	s := shop{t, t.TempDir()}
	s.git("init", "-q", "-b", "main")
	return s
}

func open(t *testing.T, dir string, l Limits) *Repository {
	t.Helper()
	r, err := Open(context.Background(), dir, os.Getenv, l)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func tree(t *testing.T, r *Repository, rev string) *Tree {
	t.Helper()
	c, err := r.Resolve(context.Background(), rev)
	if err != nil {
		t.Fatal(err)
	}
	out, err := r.Tree(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestTree lets the standard library's own test of file systems loose on a
// revision, and wants what was committed, not what lies in the work tree.
func TestTree(t *testing.T) {
	s := newShop(t)
	odd := "odd\tname \"é\"\n.yaml"
	s.write("a/b/deep.yaml", "one\n")
	s.write("a/plain.yaml", "two\r\n")
	s.write("empty.yaml", "")
	s.write(odd, "three\n")
	s.commit("first")
	s.write("a/plain.yaml", "changed\n")
	r := open(t, filepath.Join(s.dir, "a"), Limits{})
	if real, _ := filepath.EvalSymlinks(s.dir); r.Root() != real {
		t.Errorf("root %q, want %q", r.Root(), real)
	}
	tr := tree(t, r, "main")
	if err := fstest.TestFS(tr, "a/b/deep.yaml", "a/plain.yaml", "empty.yaml"); err != nil {
		// The odd name has a tab and a line feed, which is fine for io/fs.
		t.Error(err)
	}
	for name, want := range map[string]string{"a/plain.yaml": "two\r\n", "empty.yaml": "", odd: "three\n"} {
		if got, err := fs.ReadFile(tr, name); err != nil || string(got) != want {
			t.Errorf("%q: %q, %v, want %q", name, got, err, want)
		}
	}
	if a, b := tr.Object("a/plain.yaml"), tr.Object("empty.yaml"); a == b || len(a) != 40 {
		t.Errorf("objects %q and %q", a, b)
	}
}

// TestLinksAndModules wants links and modules listed and never read, and nothing
// found behind a link to a folder.
func TestLinksAndModules(t *testing.T) {
	s := newShop(t)
	s.write("real/x.yaml", "x\n")
	for name, to := range map[string]string{"passwd.yaml": "/etc/passwd", "up.yaml": "../../up.yaml", "same.yaml": "real/x.yaml", "folder": "real"} {
		if err := os.Symlink(to, filepath.Join(s.dir, name)); err != nil {
			t.Skip(err)
		}
	}
	first := s.commit("links")
	s.git("update-index", "--add", "--cacheinfo", "160000,"+first+",module")
	s.git("commit", "-q", "-m", "module")
	tr := tree(t, open(t, s.dir, Limits{}), "HEAD")
	for _, name := range []string{"passwd.yaml", "up.yaml", "same.yaml", "folder"} {
		if _, err := fs.ReadFile(tr, name); !errors.Is(err, ErrLink) {
			t.Errorf("read %s: %v", name, err)
		}
		if _, err := fs.Stat(tr, name); !errors.Is(err, ErrLink) {
			t.Errorf("stat %s: %v", name, err)
		}
		if i, err := fs.Lstat(tr, name); err != nil || i.Mode()&fs.ModeSymlink == 0 {
			t.Errorf("lstat %s: %v", name, err)
		}
	}
	if _, err := tr.Open("module"); !errors.Is(err, ErrModule) {
		t.Errorf("module: %v", err)
	}
	for _, name := range []string{"folder/x.yaml", "module/x.yaml"} {
		if _, err := tr.Open(name); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, name := range []string{"../x", "/etc/passwd", "a/../b", ""} {
		if _, err := tr.Open(name); !errors.Is(err, fs.ErrInvalid) {
			t.Errorf("%q: %v", name, err)
		}
	}
	var seen []string
	if err := fs.WalkDir(tr, ".", func(p string, d fs.DirEntry, err error) error { seen = append(seen, p); return err }); err != nil {
		t.Fatal(err)
	}
	if want := []string{".", "folder", "module", "passwd.yaml", "real", "real/x.yaml", "same.yaml", "up.yaml"}; !slices.Equal(seen, want) {
		t.Errorf("walk: %q", seen)
	}
}

// TestHostileTrees reads tree objects that git itself would not write.
func TestHostileTrees(t *testing.T) {
	for name, line := range map[string]string{
		"up":       "100644 blob %s\t../x",
		"absolute": "100644 blob %s\t/etc/passwd",
		"dots":     "100644 blob %s\ta/../../x",
		"empty":    "100644 blob %s\t",
		"root":     "100644 blob %s\t.",
		"no tab":   "100644 blob %s x",
		"object":   "100644 blob x%s\tx",
	} {
		tr := &Tree{entries: map[string]*entry{".": {mode: fs.ModeDir}}}
		if err := tr.add(fmt.Sprintf(line, strings.Repeat("0", 40))); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
	odd := &Tree{entries: map[string]*entry{".": {mode: fs.ModeDir}}}
	blob := "100644 blob " + strings.Repeat("0", 40) + "\t"
	for _, name := range []string{"photo\xff.png", "d\xff/x.yaml"} {
		if err := odd.add(blob + name); err != nil || len(odd.entries) != 1 {
			t.Errorf("%q, which nothing reads, ends the list: %v", name, err)
		}
	}
	if odd.add(blob+"d\xff/busgauss-standard.yaml") == nil {
		t.Error("a standard whose name cannot be read was passed over")
	}
	tr := &Tree{entries: map[string]*entry{".": {mode: fs.ModeDir}}}
	line := "100644 blob " + strings.Repeat("0", 40) + "\t"
	if err := tr.add(line + "a"); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a", "a/b"} {
		if tr.add(line+name) == nil {
			t.Errorf("%s after a was taken", name)
		}
	}
}

// TestNothingRuns sets every program that a repository's configuration, its
// attributes and its hooks can name, and wants none of them to have run.
func TestNothingRuns(t *testing.T) {
	s := newShop(t)
	mark := filepath.Join(t.TempDir(), "ran")
	program := filepath.Join(s.dir, ".git", "program")
	if err := os.WriteFile(program, []byte("#!/bin/sh\necho \"$0 $*\" >>'"+mark+"'\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	s.write(".gitattributes", "*.yaml diff=x filter=x merge=x ident working-tree-encoding=UTF-16LE\n")
	s.write("x.yaml", strings.Repeat("line\n", 30))
	s.git("add", "-A")
	base := s.commit("one")
	s.git("mv", "x.yaml", "y.yaml")
	s.commit("two")
	for _, set := range []string{"core.fsmonitor", "core.pager", "core.editor", "core.sshCommand", "core.askPass", "diff.external",
		"diff.x.command", "diff.x.textconv", "filter.x.clean", "filter.x.smudge", "filter.x.process", "gpg.program", "credential.helper", "uploadpack.packObjectsHook", "alias.rev-parse"} {
		s.git("config", set, program)
	}
	s.git("config", "diff.x.cachetextconv", "true")
	for _, hook := range []string{"post-index-change", "post-checkout", "reference-transaction", "fsmonitor-watchman"} {
		if err := os.Link(program, filepath.Join(s.dir, ".git", "hooks", hook)); err != nil {
			if err := os.MkdirAll(filepath.Join(s.dir, ".git", "hooks"), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.Link(program, filepath.Join(s.dir, ".git", "hooks", hook)); err != nil {
				t.Fatal(err)
			}
		}
	}
	// Variables of a caller, such as a hook, do not reach git.
	for _, v := range []string{"GIT_DIR", "GIT_WORK_TREE", "GIT_OBJECT_DIRECTORY", "GIT_INDEX_FILE"} {
		t.Setenv(v, "/nowhere")
	}
	t.Setenv("GIT_EXTERNAL_DIFF", program)
	t.Setenv("GIT_CONFIG_COUNT", "nonsense")
	r := open(t, s.dir, Limits{})
	head, err := r.Resolve(context.Background(), "HEAD")
	if err != nil {
		t.Fatal(err)
	}
	old := Commit{Name: "old", ID: base}
	if m, err := r.MergeBase(context.Background(), old, head); err != nil || m.ID != base {
		t.Errorf("merge base %v, %v", m, err)
	}
	renamed, err := r.Renames(context.Background(), old, head)
	if err != nil || len(renamed) != 1 || renamed["y.yaml"] != "x.yaml" {
		t.Errorf("renamed %v, %v", renamed, err)
	}
	tr := tree(t, r, "HEAD")
	// As it is kept, neither filtered nor turned into UTF-16.
	if data, err := tr.ReadFile("y.yaml"); err != nil || len(data) == 0 {
		t.Errorf("%q, %v", data, err)
	}
	if ran, err := os.ReadFile(mark); err == nil {
		t.Errorf("these ran: %s", ran)
	}
}

// TestErrors wants a sentence that says what to do.
func TestErrors(t *testing.T) {
	s := newShop(t)
	s.write("x.yaml", "x\n")
	s.commit("one")
	s.git("checkout", "-q", "--orphan", "island")
	s.commit("alone")
	r := open(t, s.dir, Limits{})
	ctx := context.Background()
	for rev, want := range map[string]string{
		"":                    "no name of a revision",
		"--all":               "no name of a revision",
		"-x":                  "no name of a revision",
		"a\nb":                "no name of a revision",
		"main..island":        "is a range",
		"gone":                "is not known",
		"main:x.yaml":         "is not known",
		"$(touch x)":          "is not known",
		"HEAD^{/[}":           "is not known",
		"--upload-pack=touch": "no name of a revision",
	} {
		if _, err := r.Resolve(ctx, rev); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", rev, err, want)
		}
	}
	a, _ := r.Resolve(ctx, "main")
	b, _ := r.Resolve(ctx, "island")
	if _, err := r.MergeBase(ctx, a, b); err == nil || !errors.Is(err, ErrNoCommon) {
		t.Errorf("no merge base: %v", err)
	}
	if _, err := Open(ctx, t.TempDir(), os.Getenv, Limits{}); err == nil || !strings.Contains(err.Error(), "not in the work tree") {
		t.Errorf("no repository: %v", err)
	}
	bare := filepath.Join(t.TempDir(), "bare")
	s.git("clone", "-q", "--bare", s.dir, bare)
	if _, err := Open(ctx, bare, os.Getenv, Limits{}); err == nil || !strings.Contains(err.Error(), "not in the work tree") {
		t.Errorf("bare: %v", err)
	}
	done, stop := context.WithCancel(ctx)
	stop()
	if _, err := Open(done, s.dir, os.Getenv, Limits{}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	t.Setenv("PATH", t.TempDir())
	if _, err := Open(ctx, s.dir, os.Getenv, Limits{}); !errors.Is(err, ErrNoGit) {
		t.Errorf("no git: %v", err)
	}
}

// TestSlowGit puts a program that does not end in the place of git.
func TestSlowGit(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "git"), []byte("#!/bin/sh\nexec /bin/sleep 60\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir)
	if _, err := Open(context.Background(), dir, os.Getenv, Limits{Seconds: 1}); err == nil || !strings.Contains(err.Error(), "longer than 1 s") {
		t.Errorf("%v", err)
	}
}

// TestShallow cuts the history where the two branches part.
func TestShallow(t *testing.T) {
	s := newShop(t)
	s.write("x.yaml", "x\n")
	s.commit("one")
	s.git("checkout", "-q", "-b", "work")
	s.write("y.yaml", "y\n")
	s.commit("two")
	s.git("checkout", "-q", "main")
	s.write("z.yaml", "z\n")
	s.commit("three")
	clone := shop{t, filepath.Join(t.TempDir(), "clone")}
	s.git("clone", "-q", "--depth", "1", "--no-single-branch", "file://"+s.dir, clone.dir)
	r := open(t, clone.dir, Limits{})
	ctx := context.Background()
	a, err := r.Resolve(ctx, "origin/main")
	if err != nil {
		t.Fatal(err)
	}
	b, err := r.Resolve(ctx, "origin/work")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.MergeBase(ctx, a, b); err == nil || !strings.Contains(err.Error(), "--unshallow") || !strings.Contains(err.Error(), "fetch-depth: 0") {
		t.Errorf("merge base: %v", err)
	}
	if _, err := r.Resolve(ctx, "v1"); err == nil || !strings.Contains(err.Error(), "shallow") {
		t.Errorf("unknown: %v", err)
	}
	clone.git("fetch", "-q", "--unshallow")
	if _, err := open(t, clone.dir, Limits{}).MergeBase(ctx, a, b); err != nil {
		t.Error(err)
	}
}

// TestPartial wants an error and no download where a clone lacks a file.
func TestPartial(t *testing.T) {
	s := newShop(t)
	s.git("config", "uploadpack.allowFilter", "true")
	s.write("x.yaml", "old\n")
	base := s.commit("one")
	s.write("x.yaml", "new\n")
	s.commit("two")
	clone := shop{t, filepath.Join(t.TempDir(), "clone")}
	s.git("clone", "-q", "--filter=blob:none", "file://"+s.dir, clone.dir)
	r := open(t, clone.dir, Limits{})
	if data, err := tree(t, r, "HEAD").ReadFile("x.yaml"); err != nil || string(data) != "new\n" {
		t.Errorf("what is there: %q, %v", data, err)
	}
	if _, err := tree(t, r, base).ReadFile("x.yaml"); !errors.Is(err, errPartial) {
		t.Errorf("what is not: %v", err)
	}
	if out := clone.git("rev-list", "--objects", "--missing=print", "--all"); !strings.Contains(out, "?") {
		t.Error("the missing file was downloaded")
	}
}

// TestCeilings reaches each ceiling.
func TestCeilings(t *testing.T) {
	s := newShop(t)
	s.write("big.yaml", strings.Repeat("x", 2000))
	s.write("small.yaml", "x")
	s.write("third.yaml", "xx")
	s.commit("one")
	ctx := context.Background()
	tr := tree(t, open(t, s.dir, Limits{FileBytes: 1000}), "main")
	if err := tr.Fetch([]string{"big.yaml", "small.yaml", "gone", "."}); err != nil {
		t.Error(err)
	}
	if _, err := tr.ReadFile("big.yaml"); err == nil || !strings.Contains(err.Error(), "more than 1000 bytes") {
		t.Errorf("big file: %v", err)
	}
	if data, err := tr.ReadFile("small.yaml"); err != nil || string(data) != "x" {
		t.Errorf("after a big one: %q, %v", data, err)
	}
	if _, err := tree(t, open(t, s.dir, Limits{AllBytes: 2001}), "main").ReadFile("third.yaml"); err != nil {
		t.Error(err)
	}
	if err := tree(t, open(t, s.dir, Limits{AllBytes: 2001}), "main").Fetch([]string{"big.yaml", "small.yaml", "third.yaml"}); err == nil || !strings.Contains(err.Error(), "2001 bytes in all") {
		t.Errorf("all files: %v", err)
	}
	for _, l := range []Limits{{Entries: 2}, {ListBytes: 100}} {
		r := open(t, s.dir, l)
		c, err := r.Resolve(ctx, "main")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := r.Tree(ctx, c); err == nil || !strings.Contains(err.Error(), "more than") {
			t.Errorf("%+v: %v", l, err)
		}
	}
}
