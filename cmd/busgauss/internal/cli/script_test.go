package cli

import (
	"bytes"
	"errors"
	"flag"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"busgauss/fixtures"
)

var update = flag.Bool("update", false, "rewrite what the scripts expect")

// TestMain makes the program a command of the scripts: the test binary runs
// under its name as what cmd/busgauss is. Growth is measured of another, plane.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"busgauss": func() { os.Exit(Main(os.Args[1:], System())) },
		"plane":    plane,
	})
}

// TestScripts runs testdata/script. Each script has the fixtures, README.md and
// DEVELOPERS.md in its folder and these commands beside the usual ones:
//
//	exits STATUS COMMAND...    runs a command that must end with that status
//	rewrite FILE OLD NEW       replaces text, both given as in a Go string, so
//	                           that characters which nobody sees can be seen
//	fenced FILE LANGUAGE NEW   copies the first fenced block of that language
//	interrupted FOLDER N COMMAND...
//	                           interrupts a command once N results are in a store, or after half a second where N
//	                           is 0: it must end with 130 within two seconds; what it prints on standard output and says on
//	                           standard error is put into the files printed and said
//	corrupt FOLDER HOW         changes every result in a store: "bit" turns one over in each, "cut" leaves half,
//	                           "swap" gives each the name of the next, "format" makes it of another format
//	entries FOLDER N [ANSWERS] wants N results in a store beside what plane sections answered, that of so many of them, and no
//	                           other file
//
// Behind [long] stands what only the flag -long runs.
func TestScripts(t *testing.T) {
	repository, err := filepath.Abs("../../../..")
	if err != nil {
		t.Fatal(err)
	}
	settings := goSettings(t)
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("REPOSITORY", repository)
			// No folder of a user, so that programs keep results only where a script says so.
			e.Setenv("HOME", "")
			e.Setenv("XDG_CACHE_HOME", "")
			e.Vars = append(e.Vars, settings...)
			for _, name := range []string{"README.md", "DEVELOPERS.md"} {
				text, err := os.ReadFile(filepath.Join(repository, name))
				if err != nil {
					return err
				}
				if err := os.WriteFile(filepath.Join(e.WorkDir, name), text, 0o644); err != nil {
					return err
				}
			}
			for _, folder := range []string{"clean", "failing", "examples", "standard"} {
				sub, err := fs.Sub(fixtures.FS, folder)
				if err != nil {
					return err
				}
				if err := os.CopyFS(filepath.Join(e.WorkDir, "fixtures", folder), sub); err != nil {
					return err
				}
			}
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":       exits,
			"rewrite":     rewrite,
			"fenced":      fenced,
			"interrupted": interrupted,
			"corrupt":     corrupt,
			"entries":     entries,
		},
		Condition: func(c string) (bool, error) {
			switch c {
			case "full":
				_, err := os.Stat("/dev/full")
				return err == nil, nil
			case "long":
				return *long, nil
			case "root": // who writes where folders forbid it
				return os.Geteuid() == 0, nil
			}
			return false, errors.New("unknown condition " + c)
		},
	})
}

// goSettings are variables by which a go command finds its caches where the user has no home, each as NAME=VALUE.
func goSettings(t *testing.T) []string {
	t.Helper()
	names := []string{"GOCACHE", "GOMODCACHE", "GOFLAGS", "GOPROXY"}
	printed, err := exec.Command("go", append([]string{"env"}, names...)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	values := strings.Split(string(printed), "\n")
	for i, name := range names {
		names[i] = name + "=" + values[i]
	}
	return names
}

func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

func rewrite(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: rewrite FILE OLD NEW")
	}
	before, err := strconv.Unquote(`"` + args[1] + `"`)
	ts.Check(err)
	after, err := strconv.Unquote(`"` + args[2] + `"`)
	ts.Check(err)
	path := ts.MkAbs(args[0])
	text, err := os.ReadFile(path)
	ts.Check(err)
	if before == "" { // in front of everything
		ts.Check(os.WriteFile(path, append([]byte(after), text...), 0o644))
		return
	}
	if !bytes.Contains(text, []byte(before)) {
		ts.Fatalf("%s does not hold %q", args[0], before)
	}
	ts.Check(os.WriteFile(path, bytes.ReplaceAll(text, []byte(before), []byte(after)), 0o644))
}

func fenced(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: fenced FILE LANGUAGE TARGET")
	}
	_, rest, ok := bytes.Cut([]byte(ts.ReadFile(args[0])), []byte("```"+args[1]+"\n"))
	block, _, closed := bytes.Cut(rest, []byte("```"))
	if !ok || !closed {
		ts.Fatalf("%s has no block of %s", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), block, 0o644))
}
