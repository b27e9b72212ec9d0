//go:build unix

package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"busgauss/model/layout"
)

// TestInterruptEnds interrupts every command while it works, while git does not end, while it reads thousands of files
// and while nobody reads what it prints. Each ends with 130 and leaves nothing. How long that took is told with -v;
// here it is held to be far from for ever.
func TestInterruptEnds(t *testing.T) {
	dir := repositoryOf(t, "examples/circuits.yaml", "examples/channels.yaml", "clean/plausibility-pair.yaml")
	write(t, filepath.Join(dir, "circuits.yaml"), read(t, dir, "circuits.yaml")+"# changed\n")
	if err := os.Mkdir(filepath.Join(dir, "old"), 0o755); err != nil {
		t.Fatal(err)
	}
	many := filepath.Join(dir, "many")
	if err := os.Mkdir(many, 0o755); err != nil {
		t.Fatal(err)
	}
	writeMany(t, many, 3000, "layout: 1\n")
	// A git that does not end, and that leaves something behind which holds its output open.
	stuck := t.TempDir()
	if err := os.WriteFile(filepath.Join(stuck, "git"), []byte("#!/bin/sh\nsleep 30 &\nsleep 30\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	before := listing(t, dir)
	for _, c := range []struct {
		args          string
		stuck, unread bool
	}{
		{args: "check --no-store circuits.yaml channels.yaml plausibility-pair.yaml"}, {args: "check --no-store --part 1/1 -o part=p circuits.yaml"},
		{args: "check --no-store --standard-from main circuits.yaml", stuck: true}, {args: "check --no-store --changed-since main plausibility-pair.yaml", stuck: true},
		{args: "check --no-store many"}, {args: "check --no-store many/**/*.yaml"}, {args: "check --no-store -f json rows", unread: true},
		{args: "report --no-store -o page.html circuits.yaml"}, {args: "report --no-store -f json circuits.yaml"}, {args: "baseline --no-store circuits.yaml"}, {args: "mend circuits.yaml"},
		{args: "field --no-store channels.yaml"}, {args: "coupling --no-store channels.yaml"}, {args: "compare --no-store old ."}, {args: "compare --no-store main", stuck: true},
		{args: "check -"}, {args: "schema layout", unread: true},
	} {
		t.Run(c.args, func(t *testing.T) {
			args := strings.Fields(c.args)
			if c.unread && args[0] == "check" {
				rows := t.TempDir()
				writeMany(t, rows, 60, "layout: 1\nbars: {a: 1, b: 2, c: 3, d: 4}\n")
				args[len(args)-1] = rows
			}
			cmd := program(t, soon(t), dir, args...)
			if c.stuck {
				cmd.Env[0] = "PATH=" + stuck + string(os.PathListSeparator) + os.Getenv("PATH")
			}
			in, err := cmd.StdinPipe() // never closed before the end
			if err != nil {
				t.Fatal(err)
			}
			defer in.Close()
			var out, errs bytes.Buffer
			cmd.Stdout, cmd.Stderr = &out, &errs
			if c.unread {
				cmd.Stdout = fullPipe(t)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			underWay(cmd.Process.Pid)
			err = endsOn(t, cmd)
			t.Logf("said %s", errs.String())
			var exit *exec.ExitError
			if !errors.As(err, &exit) || exit.ExitCode() != statusInterrupted || !strings.Contains(errs.String(), "busgauss: interrupted") {
				t.Errorf("%v: %q, %q", err, out.String(), errs.String())
			}
			if now := listing(t, dir); now != before {
				t.Errorf("left %s", now)
			}
		})
	}
}

// writeMany writes n files of the same text into a folder.
func writeMany(t *testing.T, folder string, n int, text string) {
	t.Helper()
	for i := range n {
		write(t, filepath.Join(folder, fmt.Sprintf("%d.yaml", i)), text)
	}
}

// fullPipe returns the end of a pipe that takes nothing more, and that nobody reads.
func fullPipe(t *testing.T) *os.File {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close(); w.Close() })
	full, err := os.OpenFile(fmt.Sprintf("/proc/self/fd/%d", w.Fd()), os.O_WRONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		t.Skipf("no pipe can be filled: %v", err)
	}
	full.SetWriteDeadline(time.Now().Add(100 * time.Millisecond))
	full.Write(make([]byte, 1<<20))
	full.Close()
	return w
}

// underWay waits until a process has worked for a tenth of a second of processor time, which is long after it began to hear
// interrupts, or stands still for longer than that. Where the system does not tell, it waits for a second.
func underWay(pid int) {
	const tick, still = 10 * time.Millisecond, 40
	last, same := "", 0
	for same < still {
		time.Sleep(tick)
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		fields := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:])) // from the state on
		if err != nil || len(fields) < 13 {
			time.Sleep(time.Second)
			return
		}
		user, _ := strconv.Atoi(fields[11])
		system, _ := strconv.Atoi(fields[12])
		if user+system >= 10 { // hundredths of a second
			return
		}
		if now := fields[11] + " " + fields[12]; now != last || fields[0] == "R" {
			last, same = now, 0
		}
		same++
	}
}

// endsOn interrupts a command and returns what it ended with; it must end.
func endsOn(t *testing.T, cmd *exec.Cmd) error {
	t.Helper()
	cmd.Process.Signal(os.Interrupt)
	at := time.Now()
	waited := make(chan error, 1)
	go func() { waited <- cmd.Wait() }()
	select {
	case err := <-waited:
		t.Logf("ended after %d ms", time.Since(at).Milliseconds())
		return err
	case <-time.After(10 * time.Second):
		cmd.Process.Kill()
		t.Fatal("it goes on")
	}
	return nil
}

// TestTablePartly interrupts a table after two of its three entries: these are printed.
func TestTablePartly(t *testing.T) {
	dir := withFixtures(t)
	ctx, stop := context.WithCancel(context.Background())
	var out bytes.Buffer
	s := &Streams{Out: &out, Err: io.Discard, Dir: dir, Env: func(string) string { return "" }}
	table := layoutTable{command: "field", storeOptions: storeOptions{none: true, mb: 1}}
	held := make(chan struct{})
	defer close(held)
	err := table.print(ctx, s, []string{"examples/pair.json"}, func(w io.Writer, _ *layout.Layout, _ []byte, done *entriesDone) error {
		for _, soFar := range []string{"one\n", "one\ntwo\n"} {
			done.add(3, func(w io.Writer) error { _, err := io.WriteString(w, soFar); return err })
		}
		stop()
		<-held
		return nil
	})
	var i *interrupt
	if !errors.As(err, &i) || i.what != "2 of 3 entries computed" || out.String() != "one\ntwo\n" {
		t.Errorf("%v, %q", err, out.String())
	}
}

// TestKilledAtAnyMoment kills the program fifty times: a report, a part, a page or a baseline is there whole or as it
// was, and where the system can hold a file without a name nothing else is.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("fifty runs")
	}
	dir := repositoryOf(t, "failing/laminated-pair.yaml")
	random := rand.New(rand.NewPCG(16, 4))
	commands := []string{"check --no-store -o json=out laminated-pair.yaml", "check --no-store --part 1/1 -o part=out laminated-pair.yaml",
		"report --no-store --format markdown -o out laminated-pair.yaml"}
	whole, times := map[string]string{}, map[string]time.Duration{}
	for _, args := range commands {
		at := time.Now()
		ended(t, program(t, soon(t), dir, strings.Fields(args)...))
		times[args], whole[args] = time.Since(at), read(t, dir, "out")
	}
	before := listing(t, dir)
	old, late := 0, 0
	for k := range 50 {
		args := commands[k%len(commands)]
		write(t, filepath.Join(dir, "out"), "old")
		cmd := program(t, soon(t), dir, strings.Fields(args)...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Most of them near the end, where files are written.
		time.Sleep(time.Duration((0.5 + 0.6*random.Float64()) * float64(times[args])))
		cmd.Process.Kill()
		cmd.Wait() // it was killed, or had ended
		switch read(t, dir, "out") {
		case "old":
			old++
		case whole[args]:
			late++
		default:
			t.Fatalf("%s: half a file", args)
		}
		if now := listing(t, dir); now != before {
			t.Errorf("%s: left %s", args, now)
		}
	}
	t.Logf("%d times before the file was there, %d times after", old, late)
}
