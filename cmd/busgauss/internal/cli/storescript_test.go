package cli

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// resultsIn lists the results in a store, and those that are answers of plane sections apart; none where there is no such folder.
func resultsIn(ts *testscript.TestScript, folder string) (results, answers []string) {
	names, err := filepath.Glob(filepath.Join(ts.MkAbs(folder), "*.result"))
	ts.Check(err)
	for _, name := range names {
		data, err := os.ReadFile(name)
		if errors.Is(err, os.ErrNotExist) {
			continue // swept out
		}
		ts.Check(err)
		if bytes.Contains(data, []byte("\nplane answers, format 2\n")) {
			answers = append(answers, name)
		} else {
			results = append(results, name)
		}
	}
	return results, answers
}

func entries(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 && len(args) != 3 {
		ts.Fatalf("usage: entries FOLDER N [ANSWERS]")
	}
	results, answers := resultsIn(ts, args[0])
	for i, got := range []int{len(results), len(answers)}[:len(args)-1] {
		want, err := strconv.Atoi(args[i+1])
		ts.Check(err)
		if got != want {
			ts.Fatalf("%d %s in %s, want %d", got, []string{"results", "answers"}[i], args[0], want)
		}
	}
	list, err := os.ReadDir(ts.MkAbs(args[0]))
	if err != nil && len(results) > 0 {
		ts.Fatalf("%v", err)
	}
	if len(list) != len(results)+len(answers) {
		ts.Fatalf("%d files in %s, %d of them results", len(list), args[0], len(results)+len(answers))
	}
}

func corrupt(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: corrupt FOLDER HOW")
	}
	results, answers := resultsIn(ts, args[0])
	names := append(results, answers...)
	if len(names) == 0 {
		ts.Fatalf("nothing to corrupt in %s", args[0])
	}
	var all [][]byte
	for _, name := range names {
		data, err := os.ReadFile(name)
		ts.Check(err)
		all = append(all, data)
	}
	for i, name := range names {
		bad := bytes.Clone(all[i])
		switch args[1] {
		case "bit":
			bad[len(bad)-1-i%len(bad)] ^= 4
		case "cut":
			bad = bad[:len(bad)/2]
		case "swap":
			bad = all[(i+1)%len(all)]
		case "format":
			bad = bytes.Replace(bad, []byte("format 1\n"), []byte("format 9\n"), 1)
		default:
			ts.Fatalf("corrupt: bit, cut, swap or format")
		}
		if bytes.Equal(bad, all[i]) {
			ts.Fatalf("%s is as it was", name)
		}
		ts.Check(os.WriteFile(name, bad, 0o600))
	}
}

func interrupted(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: interrupted FOLDER N COMMAND...")
	}
	want, err := strconv.Atoi(args[1])
	ts.Check(err)
	path, err := exec.LookPath(filepath.Join(strings.Split(ts.Getenv("PATH"), string(os.PathListSeparator))[0], args[2]))
	ts.Check(err)
	c := exec.Command(path, args[3:]...)
	c.Dir = ts.MkAbs(".")
	for _, name := range []string{"PATH", "HOME", "GOMAXPROCS", "TMPDIR"} {
		c.Env = append(c.Env, name+"="+ts.Getenv(name))
	}
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	ts.Check(c.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	begun := func() int {
		results, _ := resultsIn(ts, args[0])
		return len(results)
	}
	for deadline := time.Now().Add(time.Minute); want > 0 && begun() < want && time.Now().Before(deadline); {
		time.Sleep(20 * time.Millisecond)
	}
	if want == 0 {
		time.Sleep(500 * time.Millisecond)
	}
	select {
	case err := <-ended:
		ts.Fatalf("ended before it was interrupted: %v\n%s%s", err, &out, &errs)
	default:
	}
	ts.Check(c.Process.Signal(os.Interrupt))
	select {
	case err = <-ended:
	case <-time.After(2 * time.Second):
		c.Process.Kill()
		<-ended
		ts.Fatalf("did not end within two seconds of the interrupt")
	}
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != statusInterrupted {
		ts.Fatalf("ended with %v and printed %q\n%s", err, out.String(), &errs)
	}
	ts.Check(os.WriteFile(ts.MkAbs("printed"), out.Bytes(), 0o600))
	ts.Check(os.WriteFile(ts.MkAbs("said"), errs.Bytes(), 0o600))
}
