package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"busgauss/cmd/busgauss/internal/revision"
)

// complete offers values to the shell.
func complete(c *cobra.Command, flag string, values []string) {
	completeBy(c, flag, func() ([]string, cobra.ShellCompDirective) { return values, cobra.ShellCompDirectiveNoFileComp })
}

func completeBy(c *cobra.Command, flag string, values func() ([]string, cobra.ShellCompDirective)) {
	err := c.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return values()
	})
	if err != nil {
		panic("cli: completion for a flag that does not exist")
	}
}

// completeTargets offers the formats of FORMAT=FILE; behind the = the shell offers files.
func completeTargets(c *cobra.Command, formats []string) {
	completeBy(c, "output", func() ([]string, cobra.ShellCompDirective) {
		var out []string
		for _, f := range formats {
			out = append(out, f+"=")
		}
		return out, cobra.ShellCompDirectiveNoSpace
	})
}

// completeRevisions offers the branches and tags of the repository for the flags that name a revision, in every command
// below c. Where there is no repository it offers nothing.
func completeRevisions(s *Streams, c *cobra.Command) {
	for _, below := range c.Commands() {
		completeRevisions(s, below)
	}
	for _, flag := range []string{"standard-from", "changed-since"} {
		if c.Flags().Lookup(flag) != nil {
			completeBy(c, flag, func() ([]string, cobra.ShellCompDirective) {
				return revisions(s), cobra.ShellCompDirectiveNoFileComp
			})
		}
	}
}

// revisions returns the names of branches and tags, none where they cannot be had.
func revisions(s *Streams) []string {
	ctx := context.Background()
	repository, err := revision.Open(ctx, s.Dir, s.Env, revision.Limits{})
	if err != nil {
		return nil
	}
	names, err := repository.Names(ctx)
	if err != nil {
		return nil
	}
	return names
}

// revisionsBeside offers revisions where the shell offers folders too.
func revisionsBeside(s *Streams) func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return func(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 1 {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		var out []string
		for _, name := range revisions(s) {
			if strings.HasPrefix(name, begun) {
				out = append(out, name)
			}
		}
		return out, cobra.ShellCompDirectiveDefault
	}
}
