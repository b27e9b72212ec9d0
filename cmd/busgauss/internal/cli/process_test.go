//go:build unix

package cli

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// program returns a command of the program in dir, which TestMain makes of this test by its name. It has no home and no store.
func program(t testing.TB, ctx context.Context, dir string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(ctx, self, args...)
	c.Args[0] = "busgauss"
	c.Dir = dir
	c.Env = []string{"PATH=" + os.Getenv("PATH"), "GOMAXPROCS=2"}
	return c
}

// underShell is program behind a line of the shell, such as "ulimit -n 16".
func underShell(t testing.TB, ctx context.Context, dir, line string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "busgauss")
	if err := os.Symlink(self, link); err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(ctx, "sh", append([]string{"-c", line + `; exec "$0" "$@"`, link}, args...)...)
	c.Dir = dir
	c.Env = []string{"PATH=" + os.Getenv("PATH"), "GOMAXPROCS=2"}
	return c
}

// ended runs a command to its end.
func ended(t testing.TB, c *exec.Cmd) said {
	t.Helper()
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	err := c.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatalf("%v: %v", c.Args, err)
	}
	return said{c.ProcessState.ExitCode(), out.String(), errs.String()}
}

// soon is far longer than any of these commands takes where it does not wait for ever.
func soon(t testing.TB) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// repositoryOf returns a new folder with a repository that holds layouts.
func repositoryOf(t *testing.T, layouts ...string) string {
	t.Helper()
	dir := t.TempDir()
	from := withFixtures(t)
	for _, name := range layouts {
		write(t, filepath.Join(dir, filepath.Base(name)), read(t, from, name))
	}
	git(t, dir, "init", "-q", "-b", "main")
	git(t, dir, "add", "-A")
	git(t, dir, "commit", "-q", "-m", "first")
	return dir
}

// TestPipesAndDevices gives every command that reads or writes a file a pipe that nobody writes to, a device that does
// not end, and links to them: each says what it is, reads nothing of it, and comes to its end. With -long there are
// more kinds.
func TestPipesAndDevices(t *testing.T) {
	kinds := []string{"pipe", "link to a device"}
	if *long {
		kinds = append(kinds, "device", "link to a pipe")
	}
	for _, kind := range kinds {
		for _, c := range []struct {
			at, word string
			args     string
		}{
			{"x.yaml", "x.yaml", "check ."}, {"x.yaml", "x.yaml", "check x.yaml"}, {"x.yaml", "x.yaml", "check *.yaml"}, {"x.yaml", "x.yaml", "check --changed-since main ."},
			{"x.yaml", "x.yaml", "check --part 1/1 -o part=p ."}, {"x.yaml", "x.yaml", "report -o pages/ ."}, {"x.yaml", "x.yaml", "report x.yaml"},
			{"x.yaml", "x.yaml", "baseline ."}, {"x.yaml", "x.yaml", "mend ."}, {"x.yaml", "x.yaml", "field x.yaml"}, {"x.yaml", "x.yaml", "coupling x.yaml"},
			{"x.yaml", "x.yaml", "compare main"}, {"x.yaml", "", "compare . ."},
			{"s.yaml", "s.yaml", "check --standard s.yaml a.yaml"}, {"busgauss-standard.yaml", "busgauss-standard.yaml", "check a.yaml"},
			{"busgauss-standard.yaml", "busgauss-standard.yaml", "check --standard-from main a.yaml"}, {"busgauss-standard.yaml", "", "standard show a.yaml"},
			{"busgauss-deviations.yaml", "busgauss-deviations.yaml", "check a.yaml"}, {"busgauss-deviations.yaml", "busgauss-deviations.yaml", "check --standard-from main a.yaml"},
			{"busgauss-baseline.yaml", "busgauss-baseline.yaml", "check a.yaml"}, {"busgauss-baseline.yaml", "busgauss-baseline.yaml", "check --standard-from main a.yaml"},
			{"busgauss-baseline.yaml", "busgauss-baseline.yaml", "baseline a.yaml"}, {"busgauss-baseline.yaml", "busgauss-baseline.yaml", "baseline --prune a.yaml"},
			{"cover", "cover", "report --cover cover a.yaml"}, {"part", "part", "merge part"},
			{"out", "write out", "check -o json=out a.yaml"}, {"out", "write out", "compare -o json=out main"}, {"out", "write out", "report -o out a.yaml"},
			{"out", "write out", "check --part 1/1 -o part=out a.yaml"},
		} {
			t.Run(kind+"/"+c.args, func(t *testing.T) {
				t.Parallel()
				dir := repositoryOf(t, "clean/plausibility-pair.yaml")
				if err := os.Rename(filepath.Join(dir, "plausibility-pair.yaml"), filepath.Join(dir, "a.yaml")); err != nil {
					t.Fatal(err)
				}
				at := filepath.Join(dir, c.at)
				var err error
				switch kind {
				case "pipe":
					err = syscall.Mkfifo(at, 0o644)
				case "link to a pipe":
					if err = syscall.Mkfifo(filepath.Join(dir, "pipe"), 0o644); err == nil {
						err = os.Symlink("pipe", at)
					}
				case "device":
					if err = syscall.Mknod(at, syscall.S_IFCHR|0o644, 1<<8|5); err != nil {
						t.Skipf("no device can be made: %v", err)
					}
				case "link to a device":
					err = os.Symlink("/dev/zero", at)
				}
				if err != nil {
					t.Fatal(err)
				}
				ctx := soon(t)
				got := ended(t, program(t, ctx, dir, strings.Fields(c.args)...))
				// Both sides are alike, or the verdict comes with the merge.
				later := strings.HasSuffix(c.args, " . .") || strings.Contains(c.args, "part=p ")
				if ctx.Err() != nil || got.status != 1 && got.status != 2 && !later {
					t.Fatalf("status %d, %v\n%s%s", got.status, ctx.Err(), got.out, got.err)
				}
				if !strings.Contains(got.out+got.err, c.word) {
					t.Errorf("no word of %s: %s%s", c.word, got.out, got.err)
				}
			})
		}
	}
}

// TestFewFileHandles gives the program from 8 to 40 of them, for with fewer the runtime of Go does not start: what it
// then prints is what it prints with all, or it says what it could not read and ends with 2 or, of a house standard,
// with 1. It never passes without having looked.
func TestFewFileHandles(t *testing.T) {
	dir := repositoryOf(t, "clean/plausibility-pair.yaml", "failing/laminated-pair.yaml")
	write(t, filepath.Join(dir, "busgauss-standard.yaml"), "standard: 1\n")
	args := []string{"check", "--standard-from", "main", "--no-store", "-o", "json=out.json", "."}
	for _, args := range [][]string{args, append([]string{"check"}, args[3:]...)} {
		want := ended(t, program(t, soon(t), dir, args...))
		if want.status != 1 {
			t.Fatalf("%+v", want)
		}
		wrote := read(t, dir, "out.json")
		whole := 0
		for n := 8; n <= 40; n += 2 {
			os.Remove(filepath.Join(dir, "out.json"))
			got := ended(t, underShell(t, soon(t), dir, "ulimit -n "+strconv.Itoa(n), args...))
			out, _ := os.ReadFile(filepath.Join(dir, "out.json"))
			switch {
			case got == want && string(out) == wrote:
				whole++
			case got.status == 2 && strings.Contains(got.err, "too many open files"):
			case got.status == 1 && strings.Contains(got.out, "too many open files"):
			default:
				t.Errorf("%v with %d: status %d, %q, %q", args, n, got.status, got.out, got.err)
			}
		}
		if whole < 5 {
			t.Errorf("%v: only %d runs had enough", args, whole)
		}
	}
}

// TestDeletedFolder runs commands in a folder that is gone.
func TestDeletedFolder(t *testing.T) {
	for _, args := range []string{"check .", "check a.yaml", "check -", "report a.yaml", "baseline .", "mend .", "field a.yaml", "compare main", "init", "merge p"} {
		dir := filepath.Join(t.TempDir(), "gone")
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		got := ended(t, underShell(t, soon(t), dir, `rmdir "$PWD"`, strings.Fields(args)...))
		if want := 2; args == "check -" && got.status != 1 || args != "check -" && got.status != want || got.out == "" && got.err == "" || strings.Contains(got.err, "goroutine") {
			t.Errorf("%s: %+v", args, got)
		}
	}
}

// TestLocaleAndZone wants the same bytes whatever the language, the time zone and the home of who runs it.
func TestLocaleAndZone(t *testing.T) {
	dir := repositoryOf(t, "failing/laminated-pair.yaml")
	args := []string{"check", "--no-store", "--changed-since", "HEAD", "--detail", "-o", "json=out.json", "laminated-pair.yaml"}
	first := ended(t, program(t, soon(t), dir, args...))
	wrote := read(t, dir, "out.json")
	for _, env := range [][]string{
		{"LANG=tr_TR.UTF-8", "LC_ALL=tr_TR.UTF-8"}, {"LANG=", "LC_ALL=xx"}, {"LC_ALL=C", "TZ=Pacific/Kiritimati"}, {"TZ=:/nowhere"}, {"TZ=:/dev/zero"}, {"TZ=-25"},
		{"HOME=/nowhere"}, {"HOME=/dev/null"}, {"XDG_CACHE_HOME=relative"}, {"TMPDIR=/nowhere"},
	} {
		c := program(t, soon(t), dir, args...)
		c.Env = append(c.Env, env...)
		if got := ended(t, c); got != first || read(t, dir, "out.json") != wrote {
			t.Errorf("%v: %+v, not %+v", env, got, first)
		}
	}
}

// TestReadOnlyFolder writes reports, pages, parts, a baseline and changes where somebody else may write alone: the
// status is 2, standard output has what was found, and nothing is left.
func TestReadOnlyFolder(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("only root can be somebody else")
	}
	base, err := os.MkdirTemp("", "busgauss-readonly-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(base)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(self)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(base, "program"), data, 0o755); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(base, "work")
	for _, d := range []string{base, dir} {
		err := os.MkdirAll(d, 0o755)
		if err == nil {
			err = os.Chmod(d, 0o755)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	write(t, filepath.Join(dir, "a.yaml"), read(t, withFixtures(t), "failing/laminated-pair.yaml"))
	before := listing(t, dir)
	for _, c := range []struct {
		args string
		out  bool // something of it goes to standard output
	}{
		{"check --no-store -o json=a.json -o sarif=a.sarif a.yaml", true}, {"report --no-store -o page.html a.yaml", false},
		{"report --no-store -o pages/ a.yaml", false}, {"check --no-store --part 1/1 -o part=p a.yaml", false}, {"baseline --no-store a.yaml", false}, {"init", false},
	} {
		cmd := exec.CommandContext(soon(t), filepath.Join(base, "program"), strings.Fields(c.args)...)
		cmd.Args[0], cmd.Dir, cmd.Env = "busgauss", dir, []string{"PATH=" + os.Getenv("PATH")}
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		got := ended(t, cmd)
		if got.status != 2 || !strings.Contains(got.err, "permission denied") || (got.out != "") != c.out {
			t.Errorf("%s: %+v", c.args, got)
		}
		if strings.Count(c.args, "-o json") == 1 && strings.Count(got.err, "permission denied") != 2 {
			t.Errorf("%s: not both are named: %s", c.args, got.err)
		}
		if now := listing(t, dir); now != before {
			t.Errorf("%s left %s", c.args, now)
		}
	}
}

// listing returns the names and sizes of the files in a folder.
func listing(t *testing.T, dir string) string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for _, e := range list {
		if e.Name() != ".git" {
			out.WriteString(e.Name() + "\n")
		}
	}
	return out.String()
}

// TestNoRoomAtEveryWrite lets the disk end for files at each 512 bytes: what cannot be written whole is not there, an
// old report stays, standard output has what was found, and the status is 2.
func TestNoRoomAtEveryWrite(t *testing.T) {
	dir := repositoryOf(t, "failing/laminated-pair.yaml")
	commands := []string{"check --no-store -o json=out a.yaml", "check --no-store -o sarif=out a.yaml", "check --no-store --part 1/1 -o part=out a.yaml",
		"report --no-store --format markdown -o out a.yaml", "compare --no-store --all -o json=out main"}
	if err := os.Rename(filepath.Join(dir, "laminated-pair.yaml"), filepath.Join(dir, "a.yaml")); err != nil {
		t.Fatal(err)
	}
	for _, args := range commands {
		want := ended(t, program(t, soon(t), dir, strings.Fields(args)...))
		whole := read(t, dir, "out")
		blocks := len(whole)/512 + 2
		step := max(1, blocks/6)
		if *long {
			step = 1
		}
		for n := 0; n < blocks; n += step {
			write(t, filepath.Join(dir, "out"), "old")
			before := listing(t, dir)
			got := ended(t, underShell(t, soon(t), dir, "ulimit -f "+strconv.Itoa(n), strings.Fields(args)...))
			now := read(t, dir, "out")
			switch {
			case got.out != want.out:
				t.Errorf("%s, %d blocks: standard output is %q", args, n, got.out)
			case now == whole && got.status == want.status:
			case now == "old" && got.status == 2 && strings.Contains(got.err, "write out: file too large"):
			default:
				t.Errorf("%s, %d blocks: status %d, %d bytes, %q", args, n, got.status, len(now), got.err)
			}
			if listing(t, dir) != before {
				t.Errorf("%s, %d blocks: left %s", args, n, listing(t, dir))
			}
		}
	}
}
