package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/starter"
	"busgauss/model/finding"
	"busgauss/rules"
	"busgauss/rules/engine"
)

func newInit(s *Streams) *cobra.Command {
	var dryRun bool
	c := &cobra.Command{
		Use:   "init [flags] [FOLDER]",
		Short: "write first files: a layout, a standard, a workflow, a hook",
		Long: `Init writes four files into a folder, by default the working directory: a layout that is in
order, a house standard, a workflow of a host that checks requests, and the settings of a hook
before a commit. Their comments say what stands where and what to change.

It asks nothing and overwrites nothing: a file that is there already stays as it is.`,
		Example: "  busgauss init\n  busgauss init --dry-run hardware/",
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usage("init: name one folder, or none for the working directory")
			}
			folder := "."
			if len(args) == 1 {
				folder = args[0]
			}
			return initialise(s, folder, dryRun)
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
	}
	c.Flags().BoolVar(&dryRun, "dry-run", false, "say what would be written, and write nothing")
	return c
}

func initialise(s *Streams, folder string, dryRun bool) error {
	full := resolve(s.Dir, folder)
	if !dryRun {
		if err := os.MkdirAll(full, 0o755); err != nil {
			return &failure{statusTrouble, fmt.Errorf("make folder %s: %w", folder, plain(err))}
		}
	}
	root, err := os.OpenRoot(full) // no link leads out of it
	if err != nil && !(dryRun && errors.Is(err, fs.ErrNotExist)) {
		return &failure{statusTrouble, fmt.Errorf("open folder %s: %w", folder, plain(err))}
	}
	if root != nil {
		defer root.Close() // what was written is closed already
	}
	wrote := false
	out := &guarded{w: s.Out}
	for _, f := range starter.Files(engine.Edition(rules.All())) {
		shown := finding.Clean(filepath.ToSlash(filepath.Join(folder, filepath.FromSlash(f.Path))))
		there := false
		if root != nil {
			_, err := root.Lstat(filepath.FromSlash(f.Path))
			there = err == nil
		}
		switch {
		case there:
			fmt.Fprintf(out, "kept %s, which is there already\n", shown)
			continue
		case dryRun:
			fmt.Fprintf(out, "would write %s: %s\n", shown, f.What)
			continue
		}
		if err := writeNew(root, filepath.FromSlash(f.Path), f.Data); err != nil {
			return &failure{statusTrouble, fmt.Errorf("write %s: %w", shown, plain(err))}
		}
		fmt.Fprintf(out, "wrote %s: %s\n", shown, f.What)
		wrote = true
	}
	if wrote {
		fmt.Fprintf(out, "put your copy of busgauss in the place of OWNER, REPOSITORY and REF; then: busgauss check %s\n",
			finding.Clean(filepath.ToSlash(filepath.Join(folder, "layouts"))))
	}
	return nil
}

// writeNew writes a file that is not there yet, and its folders. Nothing is left of it where that fails.
func writeNew(root *os.Root, name string, data []byte) error {
	if err := root.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return err
	}
	f, err := root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		root.Remove(name) // the error of the write says why
	}
	return err
}
