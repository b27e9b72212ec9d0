// Package revision shows a revision of a git repository as a file system that
// can only be read. It asks the git command, never the network, and lets nothing
// of the repository run: no hook, no filter, no converter of text, no pager.
package revision

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os/exec"
	"strings"
	"time"

	"busgauss/model/finding"
)

// Limits are the ceilings for what is read of a repository. The zero value
// stands for the defaults.
type Limits struct {
	Seconds   int   // for one run of git; default 60
	Entries   int   // files, links and modules of a revision; default 1,000,000
	ListBytes int64 // listing of a revision; default 256 MiB
	FileBytes int64 // one file; default 16 MiB
	AllBytes  int64 // all files read of a repository; default 512 MiB
}

func (l Limits) filled() Limits {
	def := func(v *int64, otherwise int64) {
		if *v <= 0 {
			*v = otherwise
		}
	}
	if l.Seconds <= 0 {
		l.Seconds = 60
	}
	if l.Entries <= 0 {
		l.Entries = 1_000_000
	}
	def(&l.ListBytes, 256<<20)
	def(&l.FileBytes, 16<<20)
	def(&l.AllBytes, 512<<20)
	return l
}

// ErrNoGit says that there is no git command.
var ErrNoGit = errors.New("the git command is not there: install git, or compare two folders")

// always are the settings under which git runs, in front of its command. They
// stand above every configuration file.
var always = []string{
	"--no-pager", "--no-replace-objects", "--literal-pathspecs",
	"-c", "core.fsmonitor=false",
	"-c", "core.hooksPath=/dev/null",
	"-c", "core.untrackedCache=false",
	"-c", "protocol.allow=never",
	"-c", "safe.bareRepository=explicit",
	"-c", "core.quotePath=false",
	"-c", "color.ui=false",
	"-c", "diff.external=",
}

// kept are the variables that git is given. All others are left out: GIT_DIR
// and its like could point it elsewhere, and a caller of a hook sets them.
var kept = []string{
	"PATH", "HOME", "XDG_CONFIG_HOME", "TMPDIR", "TEMP", "TMP",
	"USERPROFILE", "HOMEDRIVE", "HOMEPATH", "APPDATA", "SYSTEMROOT", "SYSTEMDRIVE", "PATHEXT",
}

// environment returns the variables of git: those that are kept, and those that
// hold it off the network, off the terminal and off the index. A missing object
// of a partial clone is then an error instead of a download.
func environment(env func(string) string) []string {
	out := []string{
		"LC_ALL=C", "LANGUAGE=C",
		"GIT_ALLOW_PROTOCOL=none", "GIT_NO_LAZY_FETCH=1", "GIT_TERMINAL_PROMPT=0", "GIT_OPTIONAL_LOCKS=0",
		"GIT_NO_REPLACE_OBJECTS=1", "GIT_ATTR_NOSYSTEM=1", "GIT_PAGER=cat",
	}
	for _, name := range kept {
		if v := env(name); v != "" {
			out = append(out, name+"="+v)
		}
	}
	return out
}

// failure is git's own word for why it ended with a status of its own.
type failure struct {
	status int
	said   string
}

func (f *failure) Error() string {
	if f.said == "" {
		return fmt.Sprintf("git ended with status %d", f.status)
	}
	return "git: " + f.said
}

// run runs git in dir and returns what it printed, at most most bytes. in may
// be nil.
func (g *git) run(ctx context.Context, most int64, in io.Reader, args ...string) ([]byte, error) {
	var out []byte
	err := g.stream(ctx, in, func(r io.Reader) error {
		var err error
		out, err = io.ReadAll(io.LimitReader(r, most+1))
		if err == nil && int64(len(out)) > most {
			err = fmt.Errorf("git printed more than %d bytes", most)
		}
		return err
	}, args...)
	return out, err
}

// git is the command at work in one folder.
type git struct {
	path, dir string
	env       []string
	limits    Limits
}

func newGit(dir string, env func(string) string, l Limits) (*git, error) {
	path, err := exec.LookPath("git")
	if err != nil {
		return nil, ErrNoGit
	}
	return &git{path: path, dir: dir, env: environment(env), limits: l.filled()}, nil
}

// stream runs git and hands its output to take. An error of take ends git.
func (g *git) stream(ctx context.Context, in io.Reader, take func(io.Reader) error, args ...string) error {
	long := time.Duration(g.limits.Seconds) * time.Second
	ctx, cancel := context.WithTimeoutCause(ctx, long, fmt.Errorf("git took longer than %d s", g.limits.Seconds))
	defer cancel()
	c := exec.CommandContext(ctx, g.path, append(append([]string{}, always...), args...)...)
	c.Dir, c.Env, c.Stdin = g.dir, g.env, in
	// What holds the pipe open after git has ended is not waited for.
	c.WaitDelay = 200 * time.Millisecond
	said := &tail{}
	c.Stderr = said
	out, err := c.StdoutPipe()
	if err != nil {
		return fmt.Errorf("run git: %w", err)
	}
	if err := c.Start(); err != nil {
		return fmt.Errorf("run git: %w", err)
	}
	// Something else that git began may hold the pipe open: after an interrupt nobody reads it to its end.
	unblock := context.AfterFunc(ctx, func() { out.Close() })
	taken := take(out)
	unblock()
	if taken != nil {
		cancel()
	}
	ended := c.Wait()
	if ctx.Err() != nil && (taken == nil || errors.Is(taken, fs.ErrClosed)) {
		return context.Cause(ctx)
	}
	var exit *exec.ExitError
	if errors.As(ended, &exit) && exit.ExitCode() > 0 {
		return &failure{exit.ExitCode(), said.line()}
	}
	if taken != nil {
		if cause := context.Cause(ctx); cause != nil && !errors.Is(cause, context.Canceled) {
			return cause
		}
		return taken
	}
	if ended != nil {
		return fmt.Errorf("run git: %w", ended)
	}
	return nil
}

// tail keeps the start of what git said on standard error.
type tail struct{ text []byte }

func (t *tail) Write(p []byte) (int, error) {
	if room := 4096 - len(t.text); room > 0 {
		t.text = append(t.text, p[:min(room, len(p))]...)
	}
	return len(p), nil
}

// line returns the first line that says why, without git's mark of it, fit to
// stand in a message.
func (t *tail) line() string {
	first := ""
	for line := range strings.Lines(string(bytes.ToValidUTF8(t.text, []byte("?")))) {
		line = strings.TrimSpace(line)
		rest, fatal := strings.CutPrefix(line, "fatal: ")
		if fatal {
			return finding.Clean(rest)
		}
		if first == "" {
			first = line
		}
	}
	return finding.Clean(strings.TrimPrefix(first, "error: "))
}
