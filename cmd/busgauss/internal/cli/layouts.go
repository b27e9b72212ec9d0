package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"

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
func (t *layoutTable) print(ctx context.Context, s *Streams, args []string, write func(io.Writer, *layout.Layout, []byte) error) error {
	in, l, err := oneFile(ctx, s, t.command, args, t.stdinName)
	if err != nil {
		return err
	}
	r, err := t.open(s, foldersOf([]input{*in})...)
	if err != nil {
		return err
	}
	defer r.close(s)
	text, err := r.printed(ctx, func() ([]byte, error) {
		var text bytes.Buffer
		err := write(&text, l, in.Data)
		return guardedText(text.Bytes()), err
	}, append([]string{t.command, in.Path, sha256Of(in.Data)}, t.options...)...)
	if err == nil {
		err = writeOut(s, text)
	}
	if err != nil && ctx.Err() == nil {
		return &failure{statusTrouble, err}
	}
	return err
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
