// Package cli turns arguments into options, runs, and returns the exit status.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"busgauss/model/finding"
	"busgauss/rules/report"
)

// The exit statuses.
const (
	statusClean       = 0   // nothing at or above the fail level
	statusFindings    = 1   // findings at or above the fail level; a broken layout is one
	statusTrouble     = 2   // anything else: wrong usage, a file that cannot be read or written
	statusInterrupted = 130 // stopped by an interrupt
)

// Streams is the world that a command sees.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
	// OutIsTerminal reports whether Out is a terminal that shows colours.
	OutIsTerminal bool
	// OutWidth is how many columns that terminal has; 0 where that is not known.
	OutWidth int
	// ErrIsTerminal reports whether Err is a terminal, where progress is shown.
	ErrIsTerminal bool
	Env           func(string) string
	Dir           string // working directory
	// Now is the clock; nil: that of the system.
	Now    func() time.Time
	drafts *drafts
	Cache  string // where programs of this user keep what they can make again; empty: nowhere

	terminal io.Writer // Err as it is, for progress, which goes back in its line; nil where Err is no terminal
}

// System returns the streams of this process.
func System() Streams {
	dir, err := os.Getwd()
	if err != nil {
		dir = "."
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = ""
	}
	return Streams{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr,
		OutIsTerminal: isTerminal(os.Stdout), OutWidth: terminalWidth(os.Stdout), ErrIsTerminal: isTerminal(os.Stderr), Env: os.Getenv, Dir: dir, Cache: cache,
	}
}

func (s *Streams) now() time.Time {
	if s.Now != nil {
		return s.Now()
	}
	return time.Now()
}

// failure is an error that ends the command with a status of its own. A nil
// cause prints nothing.
type failure struct {
	status int
	cause  error
}

func (f *failure) Error() string {
	if f.cause == nil {
		return fmt.Sprintf("exit status %d", f.status)
	}
	return f.cause.Error()
}

func (f *failure) Unwrap() error { return f.cause }

// Main runs the command and returns its exit status.
func Main(args []string, s Streams) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	// A second interrupt ends the process the hard way.
	context.AfterFunc(ctx, stop)
	// A closed pipe is then an error of the write, which is reported, rather
	// than a silent death.
	signal.Ignore(syscall.SIGPIPE)
	return run(ctx, args, s)
}

// run is Main under a context, which an interrupt cancels.
func run(ctx context.Context, args []string, s Streams) int {
	out := &watched{w: s.Out}
	s.Out = out
	s.drafts = &drafts{}
	if s.ErrIsTerminal {
		s.terminal = s.Err
	}
	said := &guarded{w: s.Err}
	defer said.flush() // where standard error cannot be written nobody can be told
	s.Err = said
	root := newRoot(&s)
	root.SetArgs(args)
	err, ended := patient(ctx, func() error { return root.ExecuteContext(ctx) })
	if !ended {
		s.drafts.drop()
	}
	if ctx.Err() != nil {
		what := "interrupted"
		var i *interrupt
		if errors.As(err, &i) {
			what += ": " + i.what
		}
		fmt.Fprintf(s.Err, "busgauss: %s\n", what)
		return statusInterrupted
	}
	if out.err != nil {
		err = fmt.Errorf("write standard output: %w", plain(out.err))
	}
	if err == nil {
		return statusClean
	}
	var f *failure
	if !errors.As(err, &f) {
		f = &failure{statusTrouble, err}
	}
	if f.cause != nil {
		fmt.Fprintf(s.Err, "busgauss: %s\n", finding.Clean(f.cause.Error()))
	}
	return f.status
}

// patience is how long a command has after an interrupt to print what it has. What then still waits, for a git that
// does not end or a reader that does not read, is waited for no more.
const patience = 700 * time.Millisecond

// patient runs f, and gives it up some time after an interrupt; ended says that it came to its end.
func patient(ctx context.Context, f func() error) (err error, ended bool) {
	done := make(chan error, 1)
	go func() { done <- f() }()
	select {
	case err := <-done:
		return err, true
	case <-ctx.Done():
	}
	select {
	case err := <-done:
		return err, true
	case <-time.After(patience):
		return nil, false
	}
}

func newRoot(s *Streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "busgauss",
		Short: "check layouts of coreless current sensors",
		Long: `Busgauss checks, from layout files in a repository, whether magnetic-field sensors
beside bus bars will measure what they should: range, stray field, placement,
polarity, and reminders of heating and insulation.

Insulation, heating and fault findings are reminders. The standards that apply,
local codes and a licensed practitioner decide.

Exit status: 0 nothing at or above the fail level; 1 findings (a layout that cannot
be understood is one); 2 anything else; 130 interrupted.`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,
		RunE:          func(c *cobra.Command, args []string) error { return noCommand(s, c, args) },
	}
	// Before the completion command is made, which keeps the writer it finds.
	root.SetIn(s.In)
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	root.SetVersionTemplate("busgauss {{.Version}}\n")
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return flagError(c, err)
	})
	root.AddCommand(newCheck(s), newField(s), newCoupling(s), newCompare(s), newMend(s), newMerge(s), newReport(s), newStandard(s), newBaseline(s),
		newInit(s), newNotices(s), newRules(s), newSchema(s), newLanguageServer(s))
	completeRevisions(s, root)
	root.SetHelpCommand(newHelp(root))
	root.InitDefaultVersionFlag()
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		if c.Name() == "completion" {
			c.Short = "print the script that completes commands in a shell"
			c.Args = cobra.ArbitraryArgs
			c.RunE = func(*cobra.Command, []string) error {
				return usage("completion: name a shell: bash, zsh, fish or powershell")
			}
		}
	}
	return root
}

func usage(format string, args ...any) error {
	return &failure{statusTrouble, fmt.Errorf(format, args...)}
}

// release is the version of a release, which its build gives with -ldflags -X, as .ci/release does.
var release string

// version returns the version of the release, or of the module that this program was built from.
func version() string {
	if release != "" {
		return release
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "0.0.0-development"
}

// home is the address of the repository, below which reports link to the page on a rule. A build gives its own with
// -ldflags "-X busgauss/cmd/busgauss/internal/cli.home=https://...": this one is set aside for examples (RFC 2606).
var home = "https://busgauss.example/"

func tool() report.Tool {
	return report.Tool{Name: "busgauss", Version: version(), InformationURI: home}
}
