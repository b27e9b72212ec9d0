package cli

import (
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/server"
)

func newLanguageServer(s *Streams) *cobra.Command {
	var o standardOptions
	c := &cobra.Command{
		Use:   "language-server [flags]",
		Short: "show findings in an editor while a layout is typed",
		Long: `Language-server speaks the Language Server Protocol, version 3.17, on standard input and
output. An editor starts it; .github/editors.md says how.

What takes no solution of a field is said with each key, the rest after a pause of 0.3 s. Unsaved
text counts, in layouts and in the files of a house standard; what a check of the file alone would
leave out by deviations and a baseline is left out here. Keys, names, words and units are
completed; names lead to where they are given; findings that can be mended offer it.

Exit status: 0 the editor left in order, with a shutdown before; 1 it did not; 2 anything else.`,
		Example: `  busgauss language-server
  busgauss language-server --standard sensing/busgauss-standard.yaml`,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("language-server: it takes no arguments: an editor names the files")
			}
			return languageServer(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.file, "standard", "", "house standard `FILE` for all layouts, in place of the nearest one above each")
	f.StringVar(&o.date, "date", "", "`DAY` of the run for deviations, as 2026-12-31 (default: today, UTC)")
	f.Bool("stdio", true, "standard input and output, which is what there is: some editors say so")
	return c
}

func languageServer(ctx context.Context, s *Streams, o *standardOptions) error {
	if err := o.parse(s); err != nil {
		return err
	}
	j, err := newEditorJudge(ctx, s, o)
	if err != nil {
		return err
	}
	defer j.finder.close()
	inOrder, err := server.Run(ctx, s.In, s.Out, server.Options{Judge: j, Name: "busgauss", Version: version(), Log: s.Err, Pause: editorPause})
	switch {
	case err != nil:
		return &failure{statusTrouble, err}
	case !inOrder:
		return &failure{statusFindings, errors.New("language-server: the editor left without a shutdown")}
	}
	return nil
}

// editorPause is how long no key is pressed before fields are solved.
const editorPause = 300 * time.Millisecond
