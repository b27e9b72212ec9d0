package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"busgauss/fixtures"
)

// said is what one run printed and its status.
type said struct {
	status   int
	out, err string
}

// call runs the command in dir, with no environment and no terminal.
func call(dir string, args ...string) said {
	var out, errs bytes.Buffer
	status := run(context.Background(), args, Streams{
		In: strings.NewReader(""), Out: &out, Err: &errs,
		Env: func(string) string { return "" }, Dir: dir,
	})
	return said{status, out.String(), errs.String()}
}

// withFixtures returns a new folder that holds the fixtures.
func withFixtures(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, fixtures.FS); err != nil {
		t.Fatal(err)
	}
	return dir
}

// TestExitStatus is the contract that jobs depend on: 0 nothing at or above the
// fail level, 1 findings, 2 anything else, whatever else happened.
func TestExitStatus(t *testing.T) {
	dir := withFixtures(t)
	// Two bare layouts stand for what is in order; readme.txtar checks all of fixtures/clean.
	if err := os.Mkdir(filepath.Join(dir, "tidy"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"ferry-thruster.yaml", "plausibility-pair.yaml"} {
		write(t, filepath.Join(dir, "tidy", name), read(t, dir, "clean/"+name))
	}
	if err := os.WriteFile(filepath.Join(dir, "broken.yaml"), []byte("layout: 1\nbars: 3\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args string
		want int
	}{
		{"check tidy", 0},
		{"check tidy --fail-level note", 0},
		{"check failing/laminated-pair.yaml", 1},
		{"check failing/laminated-pair.yaml --fail-level note", 1},
		{"check failing/laminated-pair.yaml --fail-level error", 1},
		{"check failing/laminated-pair.yaml --fail-level none", 0},
		{"check tidy failing/laminated-pair.yaml", 1},
		{"check broken.yaml", 1},
		{"check broken.yaml --fail-level error", 1},
		{"check broken.yaml --fail-level none", 0},
		{"check tidy gone.yaml", 2},
		{"check failing/laminated-pair.yaml gone.yaml", 2},
		{"check failing/laminated-pair.yaml gone.yaml --fail-level none", 2},
		{"check", 2},
		{"check --fail-level bad tidy", 2},
		{"check --format bad tidy", 2},
		{"check --bad tidy", 2},
		{"check --output json=no/where.json failing/laminated-pair.yaml", 2},
		{"check reference/altitude.yaml/...", 2},
		{"field examples/pair.json", 0},
		{"field broken.yaml", 1},
		{"field gone.yaml", 2},
		{"field clean", 2},
		{"coupling examples/pair.json", 0},
		{"coupling broken.yaml", 1},
		{"coupling gone.yaml", 2},
		{"rules", 0},
		{"rules polarity", 0},
		{"rules value-form", 0},
		{"rules bad", 2},
		{"schema layout", 0},
		{"schema bad", 2},
		{"--version", 0},
		{"--help", 0},
		{"help bad", 2},
		{"bad", 2},
		{"", 2},
	} {
		got := call(dir, strings.Fields(c.args)...)
		if got.status != c.want {
			t.Errorf("busgauss %s: status %d, want %d\n%s", c.args, got.status, c.want, got.err)
		}
		if got.status == 2 && !strings.HasPrefix(got.err, "busgauss: ") {
			t.Errorf("busgauss %s: status 2 without a word on standard error", c.args)
		}
	}
}

// TestColor is the table of section "Colour" in the comment of wantColor:
// option, then NO_COLOR, FORCE_COLOR or CLICOLOR_FORCE, TERM=dumb, terminal.
func TestColor(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "broken.yaml"), "layout: 1\nbars: 3\n")
	for _, c := range []struct {
		option, env string
		terminal    bool
		want        bool
	}{
		{"auto", "", false, false},
		{"auto", "", true, true},
		{"auto", "TERM=dumb", true, false},
		{"auto", "TERM=xterm", true, true},
		{"auto", "FORCE_COLOR=1", false, true},
		{"auto", "FORCE_COLOR=1 TERM=dumb", false, true},
		{"auto", "CLICOLOR_FORCE=1", false, true},
		{"auto", "CLICOLOR_FORCE=0", false, false},
		{"auto", "CLICOLOR_FORCE=0", true, true},
		{"auto", "CLICOLOR_FORCE=1 TERM=dumb", false, true},
		{"auto", "NO_COLOR=1", true, false},
		{"auto", "NO_COLOR=1 FORCE_COLOR=1", true, false},
		{"auto", "NO_COLOR=1 CLICOLOR_FORCE=1", true, false},
		{"auto", "NO_COLOR=", true, true},
		{"always", "NO_COLOR=1", false, true},
		{"always", "TERM=dumb", false, true},
		{"never", "FORCE_COLOR=1", true, false},
		{"never", "CLICOLOR_FORCE=1", true, false},
		{"never", "", true, false},
	} {
		for _, format := range []string{"text", "json", "sarif"} {
			env := map[string]string{}
			for _, pair := range strings.Fields(c.env) {
				name, value, _ := strings.Cut(pair, "=")
				env[name] = value
			}
			var out bytes.Buffer
			run(context.Background(), []string{"check", "--color", c.option, "--format", format, "broken.yaml"}, Streams{
				In: strings.NewReader(""), Out: &out, Err: io.Discard, OutIsTerminal: c.terminal,
				Env: func(name string) string { return env[name] }, Dir: dir,
			})
			want := c.want && format == "text" // machine formats are never coloured
			if got := strings.Contains(out.String(), "\x1b["); got != want {
				t.Errorf("--color %s %s, terminal %v, format %s: coloured %v, want %v", c.option, c.env, c.terminal, format, got, want)
			}
			if out.Len() == 0 {
				t.Errorf("--color %s %s, format %s: printed nothing", c.option, c.env, format)
			}
		}
	}
}

// TestInterrupted stops a run before its first file, and one that waits for
// standard input that never comes.
func TestInterrupted(t *testing.T) {
	dir := withFixtures(t)
	waiting, never := io.Pipe()
	defer never.Close()
	for _, args := range [][]string{
		{"check", "failing"}, {"check", "-"}, {"field", "-"}, {"coupling", "-"},
		{"check", "--output", "json=report.json", "failing"},
	} {
		ctx, interrupt := context.WithCancel(context.Background())
		interrupt()
		var out, errs bytes.Buffer
		status := run(ctx, args, Streams{
			In: waiting, Out: &out, Err: &errs, Env: func(string) string { return "" }, Dir: dir,
		})
		if status != 130 || errs.String() != "busgauss: interrupted\n" || out.Len() > 0 {
			t.Errorf("%v: status %d, want 130; out %q, err %q", args, status, out.String(), errs.String())
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "report.json")); err == nil {
		t.Error("an interrupted run left a report")
	}
}

// fullAt is a disk that is full after some bytes.
type fullAt struct{ room int }

var errFull = &os.PathError{Op: "write", Path: "/dev/stdout", Err: os.ErrClosed}

func (f *fullAt) Write(p []byte) (int, error) {
	if len(p) > f.room {
		n := f.room
		f.room = 0
		return n, errFull
	}
	f.room -= len(p)
	return len(p), nil
}

// TestFullDisk lets standard output fail at every seventh byte, with -long at every one: the status is 2 and
// standard error says why, also where the findings alone would give 1.
func TestFullDisk(t *testing.T) {
	dir := withFixtures(t)
	if err := os.WriteFile(filepath.Join(dir, "broken.yaml"), []byte("layout: 1\nbars: 3\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"check", "broken.yaml"},
		{"check", "--format", "json", "broken.yaml"},
		{"check", "--fail-level", "none", "broken.yaml"},
		{"field", "examples/pair.json"},
		{"coupling", "--format", "json", "examples/pair.json"},
		{"rules"},
		{"--help"},
		{"--version"},
	} {
		length := len(call(dir, args...).out)
		if length == 0 {
			t.Fatalf("%v prints nothing", args)
		}
		step := 7
		if *long {
			step = 1
		}
		for k := 0; k < length; k += step {
			var errs bytes.Buffer
			status := run(context.Background(), args, Streams{
				In: strings.NewReader(""), Out: &fullAt{k}, Err: &errs,
				Env: func(string) string { return "" }, Dir: dir,
			})
			if status != 2 || errs.String() != "busgauss: write standard output: file already closed\n" {
				t.Fatalf("%v, full after %d of %d bytes: status %d, %q", args, k, length, status, errs.String())
			}
		}
	}
}

// halfWriter takes half and says that all is well.
type halfWriter struct{}

func (halfWriter) Write(p []byte) (int, error) { return len(p) / 2, nil }

func TestShortWrite(t *testing.T) {
	err := writeOut(&Streams{Out: halfWriter{}}, []byte("whole"))
	if !errors.Is(err, io.ErrShortWrite) {
		t.Errorf("a writer that took half gave %v", err)
	}
}

// TestFailedOutputLeavesNothing writes a report into a folder that refuses it:
// the old report stays, and no temporary file does.
func TestFailedOutputLeavesNothing(t *testing.T) {
	dir := withFixtures(t)
	old := filepath.Join(dir, "out", "report.json")
	if err := os.MkdirAll(filepath.Dir(old), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(old, []byte("old\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	broken := func(w io.Writer) error {
		if _, err := io.WriteString(w, "half"); err != nil {
			return err
		}
		return errFull
	}
	s := &Streams{Dir: dir}
	if err := writeFile(s, "out/report.json", broken); err == nil {
		t.Error("a writer that failed gave no error")
	}
	if os.Geteuid() != 0 { // root writes where it likes
		if err := os.Chmod(filepath.Dir(old), 0o555); err != nil {
			t.Fatal(err)
		}
		got := call(dir, "check", "--output", "json=out/report.json", "clean/plausibility-pair.yaml")
		if got.status != 2 || !strings.Contains(got.err, "write out/report.json: permission denied") {
			t.Errorf("a folder that refuses: %+v", got)
		}
	}
	// A name too long for the file system: renaming, the last step, fails.
	if got := call(dir, "check", "--output", "json=out/"+strings.Repeat("n", 300), "clean/plausibility-pair.yaml"); got.status != 2 {
		t.Errorf("a name that is too long: %+v", got)
	}
	entries, err := os.ReadDir(filepath.Dir(old))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".busgauss-") {
			t.Errorf("%s was left behind", e.Name())
		}
	}
	if text, err := os.ReadFile(old); err != nil || string(text) != "old\n" {
		t.Errorf("the old report is %q, %v", text, err)
	}
}

// TestHostileFileName reads and misses files whose names hold commands of a
// build host, colours and a bidirectional control.
func TestHostileFileName(t *testing.T) {
	dir := t.TempDir()
	name := "a\n::error file=x::boo\x1b[31m\u202e##[error]b.yaml"
	if err := os.WriteFile(filepath.Join(dir, name), []byte("layout: two\n"), 0o644); err != nil {
		t.Skipf("the file system refuses the name: %v", err)
	}
	for _, args := range [][]string{
		{"check", name}, {"check", "."}, {"check", "--format", "json", "."}, {"check", "--format", "sarif", "."},
		{"check", "--verbose", "--detail", "."}, {"field", name}, {"coupling", "--format", "json", name},
		{"check", name + ".gone.yaml"}, {"check", name + "*"}, {"check", name + "/..."}, {name}, {"field", name + ".gone"},
		{"check", "--format", name, "."}, {"check", "--output", "json=" + name + "/x", "."}, {"rules", name}, {"help", name},
		{"check", "--" + name, "."}, {"check", "--stdin-name", name, "-"}, {"field", "--at", name, "."},
	} {
		got := call(dir, args...)
		if got.status == 0 {
			t.Errorf("%q: status 0", args)
		}
		for _, text := range []string{got.out, got.err} {
			if strings.ContainsAny(text, "\x1b\u202e") || strings.Contains("\n"+text, "\n::") || strings.Contains(text, "\n##") {
				t.Errorf("%q printed %q", args, text)
			}
		}
	}
}
