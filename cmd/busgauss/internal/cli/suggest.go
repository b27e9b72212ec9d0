package cli

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"busgauss/model/word"
)

// noCommand explains what is wrong with a call that names no command.
func noCommand(s *Streams, root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return usage("say what to do: check, mend, compare, field, coupling, report, standard, baseline, rules or schema (busgauss --help explains)")
	}
	name := args[0]
	if _, err := os.Stat(resolve(s.Dir, name)); err == nil || layoutName(name) {
		return usage("%q is no command; did you mean busgauss check %s?", name, name)
	}
	return usage("command %q is unknown%s; busgauss --help lists them", name, didYouMean(name, commandNames(root)))
}

func commandNames(root *cobra.Command) []string {
	var names []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return names
}

// newHelp replaces the library's help command, which answers an unknown topic
// with the wrong page and status 0.
func newHelp(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "explain a command",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return usage("command %q is unknown%s; busgauss --help lists them",
					strings.Join(args, " "), didYouMean(args[0], commandNames(root)))
			}
			c.InitDefaultHelpFlag()
			return c.Help()
		},
	}
}

// flagError names the nearest option when one is unknown.
func flagError(c *cobra.Command, err error) error {
	hint := ""
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) {
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, "--"+f.Name) })
		hint = didYouMean("--"+unknown.GetSpecifiedName(), names)
	}
	return usage("%v%s; %s --help lists the options", err, hint, c.CommandPath())
}

// didYouMean asks, in brackets, whether one of words was meant: one that begins as name
// does, else the nearest one. It is empty where none is near.
func didYouMean(name string, words []string) string {
	best, ok := "", false
	if len(strings.Trim(name, "-")) > 1 {
		if i := slices.IndexFunc(words, func(w string) bool { return strings.HasPrefix(w, name) }); i >= 0 {
			best, ok = words[i], true
		}
	}
	if !ok {
		best, ok = word.Nearest(name, words)
	}
	if !ok {
		return ""
	}
	return fmt.Sprintf(" (did you mean %q?)", best)
}
