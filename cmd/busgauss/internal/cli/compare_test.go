package cli

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"busgauss/fixtures"
)

// git runs git as a user of the test's repository would.
func git(t testing.TB, dir string, args ...string) (said string) {
	t.Helper()
	c := exec.Command("git", args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "HOME="+t.TempDir(), "GIT_CONFIG_NOSYSTEM=1",
		"GIT_AUTHOR_NAME=a", "GIT_AUTHOR_EMAIL=a@example.org", "GIT_COMMITTER_NAME=a", "GIT_COMMITTER_EMAIL=a@example.org")
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out)
}

// committed returns a repository with some layouts, in which the last commit
// changed drive-007.yaml.
func committed(t testing.TB, layouts int, text func(n int) string, old, new string) (dir string) {
	t.Helper()
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git")
	}
	dir = t.TempDir()
	for n := range layouts {
		write(t, filepath.Join(dir, fmt.Sprintf("drive-%03d.yaml", n)), text(n))
	}
	git(t, dir, "init", "-q", "-b", "main")
	git(t, dir, "add", "-A")
	git(t, dir, "commit", "-q", "-m", "one")
	changed := strings.Replace(text(7), old, new, 1)
	if changed == text(7) {
		t.Fatalf("no %q to replace", old)
	}
	write(t, filepath.Join(dir, "drive-007.yaml"), changed)
	git(t, dir, "commit", "-q", "-a", "-m", "two")
	return dir
}

// benchmarkCompare times compare on 200 layouts of which one was changed, and the
// check of that one alone, and reports the first as a share of twice the second
// plus a second. It must stay below 1.
func benchmarkCompare(b *testing.B, text func(n int) string, old, new string) {
	dir := committed(b, 200, text, old, new)
	var compared, checked time.Duration
	for b.Loop() {
		start := time.Now()
		if got := call(dir, "compare", "--fail-level", "none", "HEAD~1", "HEAD"); got.status != 0 || !strings.Contains(got.out, "1 layout changed, 199 unchanged") {
			b.Fatal(got)
		}
		compared += time.Since(start)
		start = time.Now()
		if got := call(dir, "check", "--fail-level", "none", "drive-007.yaml"); got.status != 0 {
			b.Fatal(got)
		}
		checked += time.Since(start)
	}
	b.ReportMetric(compared.Seconds()/(2*checked.Seconds()+float64(b.N)), "of-allowed")
	b.ReportMetric(compared.Seconds()/float64(b.N), "s/compare")
	b.ReportMetric(checked.Seconds()/float64(b.N), "s/check")
}

func BenchmarkCompareBare(b *testing.B) {
	benchmarkCompare(b, bare, "rms: 2", "rms: 3")
}

// BenchmarkCompareShields has 200 layouts with shields, whose check takes the
// finite elements.
func BenchmarkCompareShields(b *testing.B) {
	text, err := fixtures.FS.ReadFile("clean/ferry-channels.yaml")
	if err != nil {
		b.Fatal(err)
	}
	benchmarkCompare(b, func(n int) string { return fmt.Sprintf("# %d\n%s", n, text) }, "at: [0 mm, 5 mm]", "at: [0 mm, 5.1 mm]")
}

// TestCompareChecksOnce wants what stands in both revisions not to be checked, and
// one content on several paths to be checked once.
func TestCompareChecksOnce(t *testing.T) {
	var before, after []candidate
	add := func(list *[]candidate, path, text string) {
		c := candidate{path: path, data: []byte(text)}
		c.place(layoutStandard{})
		*list = append(*list, c)
	}
	for n := range 20 {
		path := fmt.Sprintf("drive-%03d.yaml", n)
		add(&before, path, bare(n))
		switch n {
		case 7, 8:
			add(&after, path, bare(99))
		default:
			add(&after, path, bare(n))
		}
	}
	s := Streams{Env: func(string) string { return "" }}
	b, a, err := checkSides(context.Background(), &s, before, after, &compareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for n := range 20 {
		if looked := n == 7 || n == 8; (b[n].Layout != nil) != looked || (a[n].Layout != nil) != looked {
			t.Errorf("drive %d: looked at %v and %v", n, b[n].Layout != nil, a[n].Layout != nil)
		}
	}
	if a[7].Layout != a[8].Layout {
		t.Error("one content was checked twice")
	}
	if f := a[8].Findings[0]; f.Span.File != "drive-008.yaml" {
		t.Errorf("a finding of drive-008 stands in %s", f.Span.File)
	}
	if f := a[7].Findings[0]; f.Span.File != "drive-007.yaml" {
		t.Errorf("a finding of drive-007 stands in %s", f.Span.File)
	}
	b, a, err = checkSides(context.Background(), &s, before, after, &compareOptions{all: true})
	if err != nil {
		t.Fatal(err)
	}
	for n := range 20 {
		if same := n != 7 && n != 8; same && (b[n].Layout == nil || b[n].Layout != a[n].Layout) {
			t.Errorf("all, drive %d: not checked once for both sides", n)
		}
	}
}

// TestCompareSameBytes wants the same bytes in every format on one and on eight
// threads, and with -long once more on each.
func TestCompareSameBytes(t *testing.T) {
	dir := committed(t, 12, bare, "at: [0 mm, 0 mm]", "at: [1 mm, 0 mm]")
	write(t, filepath.Join(dir, "drive-008.yaml"), strings.Replace(bare(8), ", part: wren", "", 1))
	write(t, filepath.Join(dir, "drive-009.yaml"), "layout: 1\nbars: 3\n")
	if err := os.Rename(filepath.Join(dir, "drive-010.yaml"), filepath.Join(dir, "moved.yaml")); err != nil {
		t.Fatal(err)
	}
	runs := 2
	if *long {
		runs = 4
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, args := range [][]string{{"compare", "HEAD~1"}, {"compare", "HEAD~1", "--format", "json"}, {"compare", "HEAD~1", "--format", "markdown"}, {"check", "--changed-since", "HEAD", "."}} {
		var first said
		for i := range runs {
			runtime.GOMAXPROCS([]int{1, 8}[i%2])
			got := call(dir, args...)
			if i == 0 {
				if first = got; first.status != 1 || strings.Count(first.out, "\n") < 4 {
					t.Fatalf("%v: %+v", args, first)
				}
			} else if got != first {
				t.Errorf("%v: run %d differs: %s", args, i, firstLine(got.out, first.out))
			}
		}
	}
}

// TestCompareWithoutGit wants two folders to be compared where there is no git,
// and a word about it where one is needed.
func TestCompareWithoutGit(t *testing.T) {
	dir := t.TempDir()
	for _, side := range []string{"a", "b"} {
		if err := os.Mkdir(filepath.Join(dir, side), 0o755); err != nil {
			t.Fatal(err)
		}
		write(t, filepath.Join(dir, side, "x.yaml"), bare(1))
	}
	t.Setenv("PATH", t.TempDir())
	if got := call(dir, "compare", "a", "b"); got.status != 0 {
		t.Errorf("%+v", got)
	}
	for _, args := range []string{"compare main", "compare a main", "check --changed-since main a"} {
		if got := call(dir, strings.Fields(args)...); got.status != 2 || got.out != "" || !strings.Contains(got.err, "the git command is not there") {
			t.Errorf("%s: %+v", args, got)
		}
	}
}

// TestCompareInterrupted ends with the status of an interrupt and no report.
func TestCompareInterrupted(t *testing.T) {
	dir := committed(t, 12, bare, "rms: 2", "rms: 3")
	ctx, stop := context.WithCancel(context.Background())
	stop()
	var out, errs strings.Builder
	status := run(ctx, []string{"compare", "HEAD~1"}, Streams{Out: &out, Err: &errs, Env: os.Getenv, Dir: dir})
	if status != statusInterrupted || out.Len() > 0 {
		t.Errorf("status %d, %q, %q", status, out.String(), errs.String())
	}
}
