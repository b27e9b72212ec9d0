package cli

import (
	"context"
	"fmt"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/rules/report"
	"busgauss/rules/report/text"
	"busgauss/schema/load"
)

// oneLayout reads the single layout of field and coupling. A layout that cannot
// be understood prints its findings to standard error and ends with status 1.
func oneLayout(ctx context.Context, s *Streams, command string, args []string, stdinName string) (*layout.Layout, error) {
	l, _, err := oneFile(ctx, s, command, args, stdinName)
	return l, err
}

// oneFile is oneLayout with the bytes of the file.
func oneFile(ctx context.Context, s *Streams, command string, args []string, stdinName string) (*layout.Layout, []byte, error) {
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
	in := inputs[0]
	if in.Governs {
		return nil, nil, usage("%s: %s is no layout but a file of a house standard", command, in.Path)
	}
	if in.err != nil {
		return nil, nil, &failure{statusTrouble, fmt.Errorf("read %s: %w", in.Path, in.err)}
	}
	l, problems := load.Load(in.Path, in.Data)
	if l != nil {
		return l, in.Data, nil
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
