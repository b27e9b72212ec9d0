package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"sync"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules/report"
	"busgauss/rules/report/text"
	"busgauss/schema/load"
)

// layoutTable is what field and coupling print of one layout, made of its bytes and of options.
type layoutTable struct {
	command, stdinName string
	options            []string // that say what is printed
	storeOptions
}

// print prints what write makes of the layout that args name, or what it made in an earlier run.
// After an interrupt it prints those entries that were done.
func (t *layoutTable) print(ctx context.Context, s *Streams, args []string, write func(io.Writer, *layout.Layout, []byte, *entriesDone) error) error {
	in, l, err := oneFile(ctx, s, t.command, args, t.stdinName)
	if err != nil {
		return err
	}
	r, err := t.open(s, foldersOf([]input{*in})...)
	if err != nil {
		return err
	}
	defer r.close(s)
	var done entriesDone
	text, err := r.printed(ctx, func() ([]byte, error) {
		var text bytes.Buffer
		err := write(&text, l, in.Data, &done)
		return guardedText(text.Bytes()), err
	}, append([]string{t.command, in.Path, sha256Of(in.Data)}, t.options...)...)
	if err == nil {
		err = writeOut(s, text)
	} else if ctx.Err() != nil {
		return done.print(s, err)
	}
	if err != nil && ctx.Err() == nil {
		return &failure{statusTrouble, err}
	}
	return err
}

// entriesDone are what is done of a table that is being made.
type entriesDone struct {
	mu        sync.Mutex
	done, all int
	write     func(io.Writer) error // writes those that are done
}

// add says that one more entry of all is done, and how those that are done are written; what it writes must not change
// any more.
func (e *entriesDone) add(all int, write func(io.Writer) error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.done, e.all, e.write = e.done+1, all, write
}

// print prints what was done before an interrupt, and says how much that is.
func (e *entriesDone) print(s *Streams, err error) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.done == 0 {
		return err
	}
	var text bytes.Buffer
	if err := e.write(&text); err != nil {
		return err
	}
	if err := writeOut(s, text.Bytes()); err != nil {
		return &failure{statusTrouble, err}
	}
	return &interrupt{fmt.Sprintf("%d of %d entries computed", e.done, e.all)}
}

// oneFile reads the single layout of a command. A layout that cannot be understood prints its findings to standard error
// and ends with status 1.
func oneFile(ctx context.Context, s *Streams, command string, args []string, stdinName string) (*input, *layout.Layout, error) {
	if len(args) != 1 {
		return nil, nil, usage("%s: name one layout (- reads standard input)", command)
	}
	inputs, _, err := gather(ctx, args, s, stdinName)
	if err != nil {
		return nil, nil, err
	}
	if len(inputs) != 1 {
		return nil, nil, usage("%s: %s holds %d layouts, name one", command, args[0], len(inputs))
	}
	in := &inputs[0]
	if in.Governs {
		return nil, nil, usage("%s: %s is no layout but a file of a house standard", command, in.Path)
	}
	if in.err != nil {
		return nil, nil, &failure{statusTrouble, fmt.Errorf("read %s: %w", in.Path, in.err)}
	}
	l, problems := load.Load(in.Path, in.Data)
	if l != nil {
		return in, l, nil
	}
	r := &report.Result{Tool: tool(), Files: []report.File{in.File}, Findings: problems}
	if err := text.Write(s.Err, r, text.Options{Quiet: true}); err != nil {
		return nil, nil, err
	}
	return nil, nil, &failure{statusFindings, fmt.Errorf("%s cannot be understood: %s", in.Path, count(problems))}
}

func count(problems []finding.Finding) string {
	if len(problems) == 1 {
		return "1 finding"
	}
	return fmt.Sprintf("%d findings", len(problems))
}
